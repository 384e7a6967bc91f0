package export

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestAppendDegrees(t *testing.T) {
	t.Parallel()
	for in, want := range map[float64]string{
		0: "0", math.Copysign(0, -1): "0", -1e-12: "0", 180: "180", -90: "-90",
		0.1: "0.1", 53.378333333333: "53.37833333333", -0.0123456789: "-0.0123456789",
		100: "100", 10.000000001: "10.000000001", 10.000000000004: "10",
	} {
		if got := string(appendDegrees([]byte("x"), in)); got != "x"+want {
			t.Errorf("appendDegrees(%v) = %q, want %q", in, got, "x"+want)
		}
	}
}

// Every coordinate comes back to the grid's nearest step, as strconv rounds it
// but for ties that the multiplication decides.
func TestAppendDegreesAgainstStrconv(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		deg := rapid.Float64Range(-180, 180).Draw(t, "deg")
		text := string(appendDegrees(nil, deg))
		got, err := strconv.ParseFloat(text, 64)
		if err != nil || math.Abs(got-deg) > 0.501e-11 || strings.HasPrefix(text, "-0") && got == 0 || strings.Contains(text, ".") && strings.HasSuffix(text, "0") {
			t.Fatalf("appendDegrees(%v) = %q, read as %v, %v", deg, text, got, err)
		}
		want := strconv.FormatFloat(deg, 'f', 11, 64)
		if exact, _ := strconv.ParseFloat(want, 64); math.Abs(exact-got) > 1.01e-11 {
			t.Fatalf("appendDegrees(%v) = %q, strconv has %s", deg, text, want)
		}
	})
}

func BenchmarkAppendDegrees(b *testing.B) {
	var buf []byte
	b.ReportAllocs()
	for b.Loop() {
		if buf = appendDegrees(buf[:0], -0.012345678912); string(buf) != "-0.01234567891" {
			b.Fatal(string(buf))
		}
	}
}

func TestAppendNumber(t *testing.T) {
	t.Parallel()
	for in, want := range map[float64]string{
		0: "0", math.Copysign(0, -1): "0", 0.011250000000000001: "0.01125", 112.5 * 1e-4: "0.01125",
		1.0 / 3: "0.333333333333", 1e21: "1e+21", 1e20: "100000000000000000000", 1e-10: "1e-10", -2.5: "-2.5",
		math.Inf(1): "null", math.NaN(): "null", math.MaxFloat64: "1.79769313486e+308",
	} {
		if got := string(appendNumber(nil, in)); got != want {
			t.Errorf("appendNumber(%v) = %q, want %q", in, got, want)
		}
	}
}

func TestAppendNumberIsJSON(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		var got float64
		if err := json.Unmarshal(appendNumber(nil, v), &got); err != nil || math.Abs(got-v) > 1e-11*math.Abs(v) {
			t.Fatalf("appendNumber(%v) = %s, read as %v, %v", v, appendNumber(nil, v), got, err)
		}
	})
}

// Any text, names with quotes and noise included, comes back from a JSON reader.
func TestAppendStringIsJSON(t *testing.T) {
	t.Parallel()
	check := func(t interface{ Fatalf(string, ...any) }, s string) {
		text := appendString(nil, s)
		var got string
		if err := json.Unmarshal(text, &got); err != nil || got != strings.ToValidUTF8(s, "\ufffd") && utf8.ValidString(s) {
			t.Fatalf("appendString(%q) = %s, read as %q, %v", s, text, got, err)
		}
		if !utf8.Valid(text) || strings.ContainsAny(string(text), "\n\r\x00") {
			t.Fatalf("appendString(%q) = %q, want one line of UTF-8", s, text)
		}
	}
	for _, s := range []string{"", `a"b\c`, "line\nend\x7f\x1f", "Grüß \U0001f69c", "\xff\xfe", "\u2028"} {
		check(t, s)
	}
	rapid.Check(t, func(t *rapid.T) { check(t, string(rapid.SliceOf(rapid.Byte()).Draw(t, "s"))) })
}

func TestAppendTime(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 5, 14, 14, 5, 10, 299_999_999, time.FixedZone("", 3600))
	if got, want := string(appendTime(nil, at)), `"2026-05-14T13:05:10.299Z"`; got != want {
		t.Errorf("appendTime(%v) = %s, want %s", at, got, want)
	}
}
