package config_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"drawbar/internal/config"

	"github.com/google/go-cmp/cmp"
)

// No text makes the reader panic; a text is either refused with faults that
// have places in it, or accepted and then means the same when its effective
// values are read again.
func FuzzConfig(f *testing.F) {
	f.Add([]byte(exampleConfig))
	for _, s := range []string{
		"", "# nothing\n", "units: us\n---\n", "tanks: [{tank: 1, target: 33000 seeds/ac, product: {name: Maize, kind: seed, thousand_kernel_g: 300}, capacity: 1500 kg}]",
		"controller: {line: {kind: delimited, separator: ';', header: true, columns: [{column: speed, field: speed, unit: km/h}]}}",
		"controller: {line: {kind: pattern, pattern: '^R(?P<id>\\d+),(?P<rate>[\\d.]+)$', columns: [{column: rate, field: rate, tank_from: id, unit: kg/ha}]}}",
		"controller: {line: {units: {rate: 'kg/ha, l/ha', speed: mph}}}",
		"a: &a [*a]", "a: |\n  b\n c", "? a\n: b", "<<: {}", "!!str a: b", "{a: 1, a: 2}", "[[[[", "- - - -", "a: 'b", "\"\\u00", "a: b: c", "\xff", "\ufeffunits: us",
		"gnss:\n  source: tcp://10.0.0.5:2000\n  min_quality: rtk\n", "server: {listen: ':0'}", "timezone: ../../etc/passwd",
	} {
		f.Add([]byte(s))
	}
	open := files(map[string]string{"mill-piece.geojson": millPiece})
	f.Fuzz(func(t *testing.T, b []byte) {
		file, err := config.Parse("c.yaml", b, open)
		if err != nil {
			var faults *config.Error
			if !errors.As(err, &faults) || len(faults.Entries) == 0 {
				t.Fatalf("got %v, want faults", err)
			}
			lines := strings.Count(string(b), "\n") + strings.Count(string(b), "\r") + 1
			for _, e := range faults.Entries {
				if e.Got == "" || e.Want == "" || e.File == "c.yaml" && (e.Line < 1 || e.Col < 1 || e.Line > lines) {
					t.Errorf("fault %+v of %q: want a place in its %d lines and words", e, b, lines)
				}
				if s := e.Error(); strings.ContainsAny(s, "\n\r\x1b") {
					t.Errorf("fault %q is not one clean line", s)
				}
			}
			return
		}
		effective, err := json.Marshal(file)
		if err != nil {
			t.Fatalf("effective values of %q: %v", b, err)
		}
		again, err := config.Parse("effective.json", effective, open)
		if err != nil {
			t.Fatalf("effective values %s of %q: %v", effective, b, err)
		}
		if diff := cmp.Diff(file, again, ignore); diff != "" {
			t.Errorf("effective values %s of %q (-first +again):\n%s", effective, b, diff)
		}
	})
}
