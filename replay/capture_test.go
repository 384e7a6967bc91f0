package replay

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// record is an event that owns its line.
type record struct {
	At     time.Time
	Stream Stream
	Line   string
}

// readAll reads to the end, passing over damage.
func readAll(t testing.TB, r Source) (events []record, damage []*CorruptError) {
	t.Helper()
	for {
		e, err := r.Next()
		var corrupt *CorruptError
		switch {
		case err == nil:
			events = append(events, record{e.At, e.Stream, string(e.Line)})
		case err == io.EOF:
			return events, damage
		case errors.As(err, &corrupt):
			damage = append(damage, corrupt)
		default:
			t.Fatalf("Next: %v", err)
		}
	}
}

func at(t testing.TB, s string) time.Time {
	t.Helper()
	v, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		t.Fatal(err)
	}
	return v.UTC()
}

const sample = "# Mill Piece, first pass\r\n" +
	"\n" +
	"2026-05-14T13:05:10.200Z gnss $GPGGA,130510.20,5322.7000,N,00000.0000,E,4,12,0.7,95.0,M,47.0,M,,*41\n" +
	"2026-05-14T13:05:10.260Z controller work=1 sections=1111 tank.1.rate=112.5kg/ha*1F\r\n" +
	"   \t \n" +
	"2026-05-14T13:07:02.000Z operator {\"field\":\"Mill Piece\"}\n" +
	"2026-05-14t13:07:03.000001z gnss \\xb5\\x62\\x0D\\x5c\n" +
	"2026-05-14T14:07:04+01:00 gnss \n" +
	"2026-05-14T14:07:05+01:00 gnss\n" +
	"2026-05-14T13:07:06.000Z operator {\"note\":\"Grüß\tGott\"}\n"

func sampleEvents(t testing.TB) []record {
	t.Helper()
	return []record{
		{at(t, "2026-05-14T13:05:10.2Z"), StreamGNSS, "$GPGGA,130510.20,5322.7000,N,00000.0000,E,4,12,0.7,95.0,M,47.0,M,,*41"},
		{at(t, "2026-05-14T13:05:10.26Z"), StreamController, "work=1 sections=1111 tank.1.rate=112.5kg/ha*1F"},
		{at(t, "2026-05-14T13:07:02Z"), StreamOperator, `{"field":"Mill Piece"}`},
		{at(t, "2026-05-14T13:07:03.000001Z"), StreamGNSS, "\xb5\x62\r\\"},
		{at(t, "2026-05-14T13:07:04Z"), StreamGNSS, ""},
		{at(t, "2026-05-14T13:07:05Z"), StreamGNSS, ""},
		{at(t, "2026-05-14T13:07:06Z"), StreamOperator, "{\"note\":\"Grüß\tGott\"}"},
	}
}

func TestCaptureReader(t *testing.T) {
	t.Parallel()
	readers := map[string]func(string) io.Reader{
		"whole":       func(s string) io.Reader { return strings.NewReader(s) },
		"one byte":    func(s string) io.Reader { return iotest.OneByteReader(strings.NewReader(s)) },
		"data at EOF": func(s string) io.Reader { return iotest.DataErrReader(strings.NewReader(s)) },
		"byte order":  func(s string) io.Reader { return strings.NewReader("\ufeff" + s) },
	}
	for name, open := range readers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := NewCaptureReader(open(sample), "sample.capture")
			got, damage := readAll(t, r)
			if diff := cmp.Diff(sampleEvents(t), got); diff != "" || damage != nil || r.Cut() {
				t.Errorf("events (-want +got):\n%s\ndamage %v, cut %v", diff, damage, r.Cut())
			}
		})
	}
}

func TestCaptureReadError(t *testing.T) {
	t.Parallel()
	r := NewCaptureReader(iotest.TimeoutReader(iotest.OneByteReader(strings.NewReader(sample))), "sample.capture")
	_, err := r.Next()
	if !errors.Is(err, iotest.ErrTimeout) || !strings.Contains(err.Error(), "read sample.capture") {
		t.Errorf("Next = %v, want the reader's own error with the file's name", err)
	}
}

// Every way in which a line can be damaged: it is named once, by its number and
// place, and the good line after it is read.
func TestCaptureDamage(t *testing.T) {
	t.Parallel()
	const z = "2026-05-14T13:05:10.200Z"
	tests := []struct{ name, line, why string }{
		{"noise", "hello", "want RFC 3339"},
		{"leading space", " " + z + " gnss $X", "want RFC 3339"},
		{"time only", z, "one space and the stream"},
		{"no space after the time", z + "gnss $X", "one space and the stream"},
		{"tab for the space", z + "\tgnss $X", "one space and the stream"},
		{"two spaces", z + "  gnss $X", `stream ""`},
		{"no stream", z + " ", `stream ""`},
		{"unknown stream", z + " radar $X", `stream "radar", want gnss, controller or operator`},
		{"upper-case stream", z + " GNSS $X", `stream "GNSS"`},
		{"stream run together", z + " gnss$X", `stream "gnss$X"`},
		{"stream of noise is shortened", z + " " + strings.Repeat("g", 500), `"gggggggggggggggggggggggg"…`},
		{"escape without x", z + ` gnss a\n`, `bad escape "\\n"`},
		{"escape with upper X", z + ` gnss \X41`, "bad escape"},
		{"escape with no digits", z + ` gnss \xZZ`, `bad escape "\\xZZ"`},
		{"escape with one digit", z + ` gnss \x4g`, "bad escape"},
		{"escape cut by the line end", z + ` gnss \x4`, "bad escape"},
		{"backslash at the end", z + ` gnss \`, "bad escape"},
		{"JSON written by hand", z + ` operator {"note":"a \"b\""}`, `a backslash itself is written \x5C`},
		{"NUL", z + " gnss \x00", `control byte 0x00, want it written as \x00`},
		{"escape character", z + " gnss \x1b[0m", "control byte 0x1B"},
		{"DEL", z + " gnss \x7f", "control byte 0x7F"},
		{"carriage return inside", z + " gnss a\rb", "control byte 0x0D"},
		{"zeros of a lost block", strings.Repeat("\x00", 60), "want RFC 3339"},
		{"no zone", "2026-05-14T13:05:10.200 gnss $X", "want Z or an offset"},
		{"short offset", "2026-05-14T13:05:10.200+01 gnss $X", "want Z or an offset"},
		{"offset too large", "2026-05-14T13:05:10.200+24:00 gnss $X", "want Z or an offset"},
		{"offset without sign", "2026-05-14T13:05:10.200 01:00 gnss $X", "want Z or an offset"},
		{"space for T", "2026-05-14 13:05:10.200Z gnss $X", "want RFC 3339"},
		{"point without digits", "2026-05-14T13:05:10.Z gnss $X", "want digits after the point"},
		{"ten digits", "2026-05-14T13:05:10.0123456789Z gnss $X", "at most nine digits"},
		{"comma", "2026-05-14T13:05:10,200Z gnss $X", "want Z or an offset"},
		{"month 13", "2026-13-14T13:05:10.200Z gnss $X", "a moment that exists"},
		{"month 0", "2026-00-14T13:05:10.200Z gnss $X", "a moment that exists"},
		{"day 0", "2026-05-00T13:05:10.200Z gnss $X", "a moment that exists"},
		{"31 April", "2026-04-31T13:05:10.200Z gnss $X", "a moment that exists"},
		{"29 February of a common year", "2025-02-29T13:05:10.200Z gnss $X", "a moment that exists"},
		{"29 February of 1900", "1900-02-29T13:05:10.200Z gnss $X", "a moment that exists"},
		{"hour 24", "2026-05-14T24:00:00.000Z gnss $X", "a moment that exists"},
		{"minute 60", "2026-05-14T13:60:00.000Z gnss $X", "a moment that exists"},
		{"second 61", "2026-05-14T13:05:61.000Z gnss $X", "a moment that exists"},
		{"year -1 in UTC", "0000-01-01T00:00:00.000+00:01 gnss $X", "years 0000 to 9999"},
		{"year 10000 in UTC", "9999-12-31T23:59:00.000-00:01 gnss $X", "years 0000 to 9999"},
		{"letter in the time", "2026-05-14T13:05:1O.200Z gnss $X", "want RFC 3339"},
		{"too long", z + " gnss " + strings.Repeat("a", MaxCaptureLine), "longer than 1048576 bytes"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			const before = "# one\n" + z + " gnss before\n"
			got, damage := readAll(t, NewCaptureReader(strings.NewReader(before+tt.line+"\n"+z+" gnss after\n"), "x.capture"))
			want := []record{{at(t, z), StreamGNSS, "before"}, {at(t, z), StreamGNSS, "after"}}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("events around %.80q (-want +got):\n%s", tt.line, diff)
			}
			if len(damage) != 1 {
				t.Fatalf("damage %v, want one", damage)
			}
			d := damage[0]
			if d.File != "x.capture" || d.Line != 3 || d.Offset != int64(len(before)) || !strings.Contains(d.Error(), tt.why) ||
				!strings.HasPrefix(d.Error(), "x.capture line 3: ") || len(d.Error()) > 200 {
				t.Errorf("damage %+v, want line 3 at %d with %q", d, len(before), tt.why)
			}
		})
	}
}

// A line of the greatest length is read, whatever its line end.
func TestCaptureLongLine(t *testing.T) {
	t.Parallel()
	const head = "2026-05-14T13:05:10.200Z operator "
	for _, n := range []int{captureBuffer - 1, captureBuffer, captureBuffer + 1, 3 * captureBuffer, MaxCaptureLine} {
		for _, end := range []string{"\n", "\r\n", ""} {
			body := `{"note":"` + strings.Repeat("b", n-len(head)-len(`{"note":""}`)) + `"}`
			got, damage := readAll(t, NewCaptureReader(strings.NewReader(head+body+end), "x.capture"))
			if len(got) != 1 || got[0].Line != body || damage != nil {
				t.Errorf("line of %d bytes with end %q: %d events, damage %v", n, end, len(got), damage)
			}
		}
	}
}

// The power went while the file was being written: whatever the place of the
// cut, the events of the whole lines before it are there, in order, and a broken
// rest is either named as damage or, where it shows that it is whole, read, with Cut.
func TestCaptureCutAtEveryByte(t *testing.T) {
	t.Parallel()
	want := sampleEvents(t)
	for cut := range len(sample) + 1 {
		text := sample[:cut]
		r := NewCaptureReader(strings.NewReader(text), "x.capture")
		got, damage := readAll(t, r)
		whole := 0
		for _, line := range strings.SplitAfter(text, "\n") {
			if strings.HasPrefix(line, "2026") && strings.HasSuffix(line, "\n") {
				whole++
			}
		}
		if len(got) < whole || len(got) > whole+1 || len(got)+len(damage) > whole+1 {
			t.Fatalf("cut at %d: %d events, damage %v, want the %d whole lines", cut, len(got), damage, whole)
		}
		if diff := cmp.Diff(want[:whole], got[:whole], cmp.Transformer("nil", func(s []record) []record { return append([]record{}, s...) })); diff != "" {
			t.Fatalf("cut at %d (-want +got):\n%s", cut, diff)
		}
		rest := text[strings.LastIndexByte(text, '\n')+1:]
		if r.Cut() != (rest != "") {
			t.Fatalf("cut at %d: Cut() = %v with the rest %q", cut, r.Cut(), rest)
		}
		if strings.HasPrefix(rest, "2026") && len(got)+len(damage) != whole+1 {
			t.Fatalf("cut at %d: the rest %q was lost without a word", cut, rest)
		}
		if len(got) > whole && got[whole] != want[whole] {
			t.Fatalf("cut at %d: a part of a line was taken for the whole: %v, want %v", cut, got[whole], want[whole])
		}
		for _, d := range damage {
			if !strings.HasSuffix(d.Error(), "the file ends within this line") {
				t.Fatalf("cut at %d: %v, want it to say that the file ends there", cut, d)
			}
		}
	}
}

func TestAppendCapture(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name string
		in   record
		want string
	}{
		{"three digits", record{at(t, "2026-05-14T13:05:10Z"), StreamGNSS, "$A"}, "2026-05-14T13:05:10.000Z gnss $A\n"},
		{"six digits", record{at(t, "2026-05-14T13:05:10.20001Z"), StreamController, "a=1"}, "2026-05-14T13:05:10.200010Z controller a=1\n"},
		{"nine digits", record{at(t, "2026-05-14T13:05:10.000000001Z"), StreamOperator, "{}"}, "2026-05-14T13:05:10.000000001Z operator {}\n"},
		{"another zone", record{at(t, "2026-05-14T13:05:10Z").In(time.FixedZone("", 5400)), StreamGNSS, ""}, "2026-05-14T13:05:10.000Z gnss \n"},
		{"before 1970", record{at(t, "1969-12-31T23:59:59.999999999Z"), StreamGNSS, ""}, "1969-12-31T23:59:59.999999999Z gnss \n"},
		{"zero time", record{time.Time{}, StreamGNSS, ""}, "0001-01-01T00:00:00.000Z gnss \n"},
		{"year -5", record{time.Date(-5, 1, 1, 0, 0, 0, 0, time.UTC), StreamGNSS, ""}, "0000-01-01T00:00:00.000Z gnss \n"},
		{"year 12345", record{time.Date(12345, 1, 1, 0, 0, 0, 0, time.UTC), StreamGNSS, ""}, "9999-12-31T23:59:59.999999999Z gnss \n"},
		{"escapes", record{at(t, "2026-05-14T13:05:10Z"), StreamGNSS, "\x00\t ~\\\x7f\xb5\xff\n"}, `2026-05-14T13:05:10.000Z gnss \x00\x09 ~\x5C\x7F\xB5\xFF\x0A` + "\n"},
	}
	for _, tt := range tests {
		got := string(AppendCapture(nil, Event{At: tt.in.At, Stream: tt.in.Stream, Line: []byte(tt.in.Line)}))
		if got != tt.want {
			t.Errorf("%s: AppendCapture(%+v) = %q, want %q", tt.name, tt.in, got, tt.want)
		}
	}
}

// The examples of RFC 3339, section 5.8 (from memory), with the moment that the
// section's own words give each of them.
func TestParseTimeExamplesOfTheStandard(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{
		"1985-04-12T23:20:50.52Z":      "1985-04-12T23:20:50.52Z",
		"1996-12-19T16:39:57-08:00":    "1996-12-20T00:39:57Z",
		"1990-12-31T23:59:60Z":         "1991-01-01T00:00:00Z", // a leap second
		"1990-12-31T15:59:60-08:00":    "1991-01-01T00:00:00Z", // the same one
		"1937-01-01T12:00:27.87+00:20": "1937-01-01T11:40:27.87Z",
	} {
		got, rest, why := parseTime([]byte(in))
		if why != "" || len(rest) != 0 || !got.Equal(at(t, want)) || got.Location() != time.UTC {
			t.Errorf("parseTime(%s) = %v, rest %q, %q; want %s", in, got, rest, why, want)
		}
	}
}

func drawTime(t *rapid.T) time.Time {
	seconds := rapid.Int64Range(firstSecond, lastSecond).Draw(t, "seconds")
	return time.Unix(seconds, rapid.Int64Range(0, 999_999_999).Draw(t, "ns")).UTC()
}

// What the standard library writes as RFC 3339 we read as the same moment.
func TestParseTimeAgainstStandardLibrary(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		want := drawTime(t)
		minutes := rapid.IntRange(-23*60-59, 23*60+59).Draw(t, "offset")
		local := want.In(time.FixedZone("", minutes*60))
		if local.Year() < 0 || local.Year() > 9999 {
			t.Skip("not four digits of year")
		}
		text := local.Format(time.RFC3339Nano)
		got, _, why := parseTime([]byte(text))
		if why != "" || got != want {
			t.Fatalf("parseTime(%s) = %v %q, want %v", text, got, why, want)
		}
	})
}

// Any events, written and read back in any chopping, are the same events.
func TestCaptureRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var text []byte
		var want []record
		for range rapid.IntRange(0, 20).Draw(t, "events") {
			r := record{
				At:     drawTime(t),
				Stream: Stream(rapid.IntRange(0, 2).Draw(t, "stream")),
				Line:   string(rapid.SliceOfN(rapid.Byte(), 0, 200).Draw(t, "line")),
			}
			want = append(want, r)
			text = AppendCapture(text, Event{At: r.At, Stream: r.Stream, Line: []byte(r.Line)})
		}
		for _, c := range text {
			if c != '\n' && (c < ' ' || c > '~') {
				t.Fatalf("byte 0x%02X in %q", c, text)
			}
		}
		readers := []io.Reader{bytes.NewReader(text), iotest.OneByteReader(bytes.NewReader(text)), iotest.HalfReader(bytes.NewReader(text))}
		for _, r := range readers {
			c := NewCaptureReader(r, "x.capture")
			for i, w := range want {
				e, err := c.Next()
				if got := (record{e.At, e.Stream, string(e.Line)}); err != nil || got != w {
					t.Fatalf("event %d = %+v, %v, want %+v", i, got, err, w)
				}
			}
			if _, err := c.Next(); err != io.EOF {
				t.Fatalf("after the last event: %v, want io.EOF", err)
			}
		}
	})
}

// Whatever the bytes: no panic; every line is either passed over, an event, or
// named as damage; what was read can be written and read again.
func FuzzCapture(f *testing.F) {
	f.Add([]byte(sample))
	f.Add([]byte("2026-05-14T13:05:10.200Z gnss \\x"))
	f.Add([]byte("2026-12-31T23:59:60.999999999-23:59 operator {}\r\r\n#\n\x00\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		got, damage := readAll(t, NewCaptureReader(bytes.NewReader(text), "f.capture"))
		if lines := bytes.Count(text, []byte("\n")) + 1; len(got)+len(damage) > lines {
			t.Fatalf("%d events and %d damaged of %d lines", len(got), len(damage), lines)
		}
		for _, d := range damage {
			if d.Offset < 0 || d.Offset >= int64(len(text)) || d.Line != bytes.Count(text[:d.Offset], []byte("\n"))+1 {
				t.Fatalf("damage %+v does not point at its line", d)
			}
		}
		var again []byte
		for _, r := range got {
			again = AppendCapture(again, Event{At: r.At, Stream: r.Stream, Line: []byte(r.Line)})
		}
		back, damage := readAll(t, NewCaptureReader(bytes.NewReader(again), "g.capture"))
		if diff := cmp.Diff(got, back); diff != "" || damage != nil {
			t.Fatalf("written and read again (-want +got):\n%s\ndamage %v", diff, damage)
		}
	})
}

// loop repeats text for ever.
type loop struct {
	text string
	at   int
}

func (l *loop) Read(p []byte) (int, error) {
	n := copy(p, l.text[l.at:])
	l.at = (l.at + n) % len(l.text)
	return n, nil
}

const gga = "2026-05-14T13:05:10.200Z gnss $GPGGA,130510.20,5322.7000,N,00000.0000,E,4,12,0.7,95.0,M,47.0,M,,*41\n"

func TestCaptureDoesNotAllocate(t *testing.T) {
	c := NewCaptureReader(&loop{text: gga}, "x.capture")
	if n := testing.AllocsPerRun(1000, func() {
		if _, err := c.Next(); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations a line, want none", n)
	}
	e := Event{At: at(t, "2026-05-14T13:05:10.2Z"), Line: []byte("$GPGGA,130510.20")}
	buf := make([]byte, 0, 200)
	if n := testing.AllocsPerRun(1000, func() { buf = AppendCapture(buf[:0], e) }); n != 0 {
		t.Errorf("%v allocations a line written, want none", n)
	}
}

func BenchmarkCaptureReader(b *testing.B) {
	c := NewCaptureReader(&loop{text: gga}, "x.capture")
	b.ReportAllocs()
	b.SetBytes(int64(len(gga)))
	for b.Loop() {
		e, err := c.Next()
		if err != nil || len(e.Line) != len(gga)-31 {
			b.Fatalf("%q, %v", e.Line, err)
		}
	}
}

func BenchmarkParseTime(b *testing.B) {
	text := []byte(gga)
	want := at(b, "2026-05-14T13:05:10.2Z")
	b.ReportAllocs()
	for b.Loop() {
		if got, _, _ := parseTime(text); got != want {
			b.Fatal(got)
		}
	}
}
