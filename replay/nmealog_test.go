package replay

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"drawbar/internal/testkit"
	"drawbar/nmea"
)

// sentence adds the checksum.
func sentence(body string) string {
	x := byte(0)
	for _, c := range []byte(body) {
		x ^= c
	}
	return fmt.Sprintf("$%s*%02X", body, x)
}

const position = ",5322.7000,N,00000.0000,E,1,08,1.0,95.0,M,47.0,M,,"

// lines of a log and the time each should get.
func TestLogReaderTimes(t *testing.T) {
	t.Parallel()
	rmc := func(tod, date string) string {
		return sentence("GPRMC," + tod + ",A,5322.7000,N,00000.0000,E,4.0,90.0," + date + ",,,A")
	}
	gga := func(tod string) string { return sentence("GPGGA," + tod + position) }
	type line struct{ text, at string }
	tests := []struct {
		name    string
		lines   []line
		warning string
	}{
		{"lines before the first date get its time", []line{
			{"logger 1.0", "2026-05-14T13:05:11Z"},
			{gga("130510.00"), "2026-05-14T13:05:11Z"},
			{"", "2026-05-14T13:05:11Z"},
			{rmc("130511.00", "140526"), "2026-05-14T13:05:11Z"},
			{"noise", "2026-05-14T13:05:11Z"},
			{gga("130512.50"), "2026-05-14T13:05:12.5Z"},
			{sentence("GPVTG,90.0,T,,M,4.0,N,7.4,K,A"), "2026-05-14T13:05:12.5Z"},
		}, ""},
		{"midnight", []line{
			{rmc("235959.00", "140526"), "2026-05-14T23:59:59Z"},
			{gga("000000.00"), "2026-05-15T00:00:00Z"},
			{rmc("000000.00", "150526"), "2026-05-15T00:00:00Z"},
		}, ""},
		{"no date anywhere", []line{
			{"logger 1.0", "1970-01-01T23:59:58Z"},
			{gga("235958.00"), "1970-01-01T23:59:58Z"},
			{gga("235959.999"), "1970-01-01T23:59:59.999Z"},
			{gga("000001.00"), "1970-01-02T00:00:01Z"},
		}, "x.nmea: no sentence states a date (RMC, ZDA); days count from 1970-01-01"},
		{"no date, from midnight", []line{{gga("000000.00"), "1970-01-01T00:00:00Z"}}, "x.nmea: no sentence states a date (RMC, ZDA); days count from 1970-01-01"},
		{"no date, at noon", []line{{gga("120000.00"), "1970-01-01T12:00:00Z"}}, "x.nmea: no sentence states a date (RMC, ZDA); days count from 1970-01-01"},
		{"no time anywhere", []line{
			{"notes", "0001-01-01T00:00:00Z"},
			{sentence("GPGGA,,,,,,0,,,,,,,,"), "0001-01-01T00:00:00Z"},
		}, "x.nmea: no sentence states a time, so nothing of it has one"},
		{"empty", nil, "x.nmea: no sentence states a time, so nothing of it has one"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			var text string
			var want []record
			for _, l := range tt.lines {
				text += l.text + "\r\n"
				want = append(want, record{at(t, l.at), StreamGNSS, l.text})
			}
			for _, chunk := range []int{1, 7, logChunk} {
				r := NewLogReader(strings.NewReader(text), "x.nmea")
				r.chunk = r.chunk[:chunk]
				got, _ := readAll(t, r)
				if diff := cmp.Diff(want, got); diff != "" {
					t.Errorf("chunks of %d (-want +got):\n%s", chunk, diff)
				}
				if r.Warning() != tt.warning {
					t.Errorf("Warning() = %q, want %q", r.Warning(), tt.warning)
				}
			}
		})
	}
}

func TestLogReaderErrors(t *testing.T) {
	t.Parallel()
	text := strings.Repeat(sentence("GPGGA,130510.00"+position)+"\n", 2)
	broken := errors.New("disk on fire")
	for name, r := range map[string]io.ReadSeeker{
		"read": struct {
			io.Reader
			io.Seeker
		}{iotest.ErrReader(broken), strings.NewReader("")},
		"seek": struct {
			io.Reader
			io.Seeker
		}{strings.NewReader(text), failingSeek{broken}},
	} {
		_, err := NewLogReader(r, "x.nmea").Next()
		if !errors.Is(err, broken) || !strings.HasPrefix(err.Error(), "read x.nmea: ") {
			t.Errorf("%s: %v, want the error with the file's name", name, err)
		}
	}
}

type failingSeek struct{ err error }

func (f failingSeek) Seek(int64, int) (int64, error) { return 0, f.err }

// Every line of every recorded log is handed out, as the splitter cuts it, in
// whatever chunks the file is read, and time never stands before the first one.
func TestLogReaderOnRecordedLogs(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(testkit.SharedData(t), "nmea")
	counts, err := os.ReadFile(filepath.Join(dir, "counts.json"))
	if err != nil {
		t.Fatal(err)
	}
	var files map[string]json.RawMessage
	if err := json.Unmarshal(counts, &files); err != nil {
		t.Fatal(err)
	}
	tried := 0
	for name := range files {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			continue
		}
		tried++
		var want []string
		var split nmea.Splitter
		keep := func(line []byte) { want = append(want, string(line)) }
		split.Push(text, keep)
		split.Flush(keep)
		for _, chunk := range []int{97, logChunk} {
			r := NewLogReader(bytes.NewReader(text), name)
			r.chunk = r.chunk[:chunk]
			events, _ := readAll(t, r)
			if len(events) != len(want) {
				t.Fatalf("%s in chunks of %d: %d events, want %d", name, chunk, len(events), len(want))
			}
			for i, e := range events {
				if e.Line != want[i] || e.At.IsZero() || e.At.Before(time.Unix(0, 0)) {
					t.Fatalf("%s in chunks of %d: event %d = %+v, want line %q with a time", name, chunk, i, e, want[i])
				}
			}
		}
	}
	if tried == 0 {
		t.Fatalf("no log of counts.json found in %s", dir)
	}
}

// Any bytes at all: no line is lost and the chunks do not matter.
func TestLogReaderAnyBytes(t *testing.T) {
	t.Parallel()
	good := sentence("GPRMC,130511.00,A,5322.7000,N,00000.0000,E,4.0,90.0,140526,,,A") + "\r\n"
	rapid.Check(t, func(t *rapid.T) {
		noise := rapid.SliceOf(rapid.SampledFrom([]byte("$*\r\nGA,0\x00\xff")))
		text := string(noise.Draw(t, "before")) + "\n" + good + string(noise.Draw(t, "after"))
		read := func(chunk int) (out []record) {
			r := NewLogReader(strings.NewReader(text), "x")
			r.chunk = r.chunk[:chunk]
			for {
				e, err := r.Next()
				if err == io.EOF {
					return out
				}
				if err != nil {
					t.Fatal(err)
				}
				out = append(out, record{e.At, e.Stream, string(e.Line)})
			}
		}
		whole := read(logChunk)
		if diff := cmp.Diff(whole, read(rapid.IntRange(1, 50).Draw(t, "chunk"))); diff != "" {
			t.Fatalf("chunks matter for %q:\n%s", text, diff)
		}
		for _, r := range whole {
			if want := time.Date(2026, 5, 14, 13, 5, 11, 0, time.UTC); r.At != want {
				t.Fatalf("line %q of %q at %v, want %v", r.Line, text, r.At, want)
			}
		}
	})
}

func BenchmarkLogReader(b *testing.B) {
	line := sentence("GPRMC,130511.00,A,5322.7000,N,00000.0000,E,4.0,90.0,140526,,,A") + "\r\n"
	text := strings.Repeat(line, 10_000)
	b.ReportAllocs()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		r := NewLogReader(strings.NewReader(text), "x")
		n := 0
		for {
			_, err := r.Next()
			if err == io.EOF {
				break
			}
			n++
		}
		if n != 10_000 {
			b.Fatalf("%d lines", n)
		}
	}
}
