package config_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/config"
	"drawbar/internal/units"
	"drawbar/nmea"

	"github.com/google/go-cmp/cmp"
)

// lay writes files below a new folder.
func lay(t *testing.T, content map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range content {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestLoad(t *testing.T) {
	t.Parallel()
	dir := lay(t, map[string]string{
		"farm/drill.yaml":            "field: {name: Mill Piece, boundary: ../fields/mill-piece.geojson}\n",
		"farm/empty.yaml":            "",
		"farm/elsewhere.yaml":        "data: /srv/drawbar\n",
		"farm/faulty.yaml":           "field: {name: Long Meadow, boundary: ../fields/long-meadow.geojson}\nunits: si\n",
		"fields/mill-piece.geojson":  millPiece,
		"fields/long-meadow.geojson": "{",
	})
	farm := filepath.Join(dir, "farm")

	f, err := config.Load(filepath.Join(farm, "drill.yaml"))
	if err != nil || len(f.Field.Boundary) != 1 || f.Data != filepath.Join(farm, "data") || f.Dir != farm {
		t.Errorf("got %+v, %v, want a boundary, and data in the configuration's folder", f, err)
	}
	f, err = config.Load(filepath.Join(farm, "empty.yaml"))
	want := config.Default()
	want.Dir, want.Data = farm, filepath.Join(farm, "data")
	if diff := cmp.Diff(want, f, ignore); err != nil || diff != "" {
		t.Errorf("of an empty file: %v, (-want +got):\n%s", err, diff)
	}
	if f, err = config.Load(filepath.Join(farm, "elsewhere.yaml")); err != nil || f.Data != "/srv/drawbar" {
		t.Errorf("got %q, %v, want data where the file says", f.Data, err)
	}
	_, err = config.Load(filepath.Join(farm, "faulty.yaml"))
	wantErr := filepath.Join(farm, "faulty.yaml") + ":2:8: units: got si, want one of metric, us, canadian\n" +
		filepath.Join(dir, "fields", "long-meadow.geojson") + ":1:2: got the end of the text, want the JSON to go on"
	if err == nil || err.Error() != wantErr {
		t.Errorf("got %v\nwant %s", err, wantErr)
	}
	for path, want := range map[string]string{
		filepath.Join(dir, "none.yaml"): "there is no such file; write one",
		dir:                             "read configuration: ",
	} {
		if _, err := config.Load(path); err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("of %s got %v, want one line with %q", path, err, want)
		}
	}
}

// What is on the edge of the possible, or written in another way, is accepted.
func TestAccepted(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, text string
		want       func(*config.File)
	}{
		{"nothing", "", func(*config.File) {}},
		{"sections that are commented out", "gnss:\n  # source: /dev/ttyUSB0\ncontroller:\nimplement:\ntanks:\nfield:\nlimits:\nserver:\n", func(*config.File) {}},
		{"one document with its marks", "---\nunits: us\n...\n", func(f *config.File) { f.Units = units.US }},
		{"JSON", `{"units":"canadian","limits":{"max_gap_s":6e2}}`, func(f *config.File) { f.Units, f.Limits.MaxGapS = units.Canadian, 600 }},
		{"UDP on an address", "gnss: {source: 'udp://[::1]:4711', latency_s: 10, min_quality: dgps}", func(f *config.File) {
			f.HasGNSS = true
			f.GNSS = config.GNSS{Source: "udp://[::1]:4711", LatencyS: 10, MinQuality: nmea.QualityDGNSS}
		}},
		{"a relative path", "gnss: {source: ./receiver, baud: 921600, min_quality: float}", func(f *config.File) {
			f.HasGNSS = true
			f.GNSS = config.GNSS{Source: "./receiver", Baud: 921600, MinQuality: nmea.QualityFloat}
		}},
		{"RTK only", "gnss: {min_quality: rtk}", func(f *config.File) { f.HasGNSS, f.GNSS.MinQuality = true, nmea.QualityRTK }},
		{"names of the board", "server: {hosts: [board.farm.example, 192.0.2.7]}", func(f *config.File) { f.Hosts = []string{"board.farm.example", "192.0.2.7"} }},
		{"any free port", "server: {listen: '127.0.0.1:0'}", func(f *config.File) { f.Listen = "127.0.0.1:0" }},
		{"columns", `controller: {source: "tcp://10.0.0.5:2000", line: {kind: delimited, separator: "\t", header: true, checksum: xor8, columns: [
  {column: sections, field: sections, format: decimal, first: right},
  {column: 4, field: rate, tank_from: 2, unit: gal/ac, scale: -0.1, offset: 1},
  {column: 5, field: speed}], units: {speed: mph, rate: "kg/ha, l/ha"}}}`, func(f *config.File) {
			f.HasController = true
			f.Controller.Source = "tcp://10.0.0.5:2000"
			f.Controller.Line = controller.ProfileSpec{
				Kind: "delimited", Separator: "\t", Header: true, Checksum: "xor8",
				Columns: []controller.ColumnSpec{
					{Column: "sections", Field: "sections", Format: "decimal", First: "right"},
					{Column: "4", Field: "rate", TankFrom: "2", Unit: "gal/ac", Scale: new(-0.1), Offset: 1},
					{Column: "5", Field: "speed"},
				},
				Units: controller.UnitSpec{Speed: "mph", Rate: "kg/ha, l/ha"},
			}
		}},
		{"the largest bar", "implement: {sections_m: [100, 100]}", func(f *config.File) { f.Implement = &coverage.Implement{SectionsM: []float64{100, 100}} }},
		{"the highest tank", "tanks: [{tank: 99, lag_s: 60}]", func(f *config.File) { f.Tanks = []coverage.Tank{{Number: 99, LagS: 60}} }},
		{"a text over several lines", "implement:\n  name: >-\n    12 m\n    drill\n  sections_m: [12]\n", func(f *config.File) {
			f.Implement = &coverage.Implement{Name: "12 m drill", SectionsM: []float64{12}}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			want := config.Default()
			c.want(&want)
			got, err := config.Parse("c.yaml", []byte(c.text), nil)
			if diff := cmp.Diff(want, got, ignore); err != nil || diff != "" {
				t.Errorf("%v (-want +got):\n%s", err, diff)
			}
			if err == nil && got.Controller.Profile == nil {
				t.Error("no compiled line profile")
			}
		})
	}
}
