package replay

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"syscall"
	"testing"
	"time"
)

// faultyFile takes so many bytes and then fails, as a full or broken disk does.
type faultyFile struct {
	bytes.Buffer
	room      int
	syncs     int
	err       error
	truncates bool
}

func (f *faultyFile) Write(p []byte) (int, error) {
	n := min(len(p), f.room-f.Len())
	f.Buffer.Write(p[:n])
	if n < len(p) {
		return n, f.err
	}
	return n, nil
}

func (f *faultyFile) Sync() error { f.syncs++; return nil }

// shortener is a faultyFile that can be shortened.
type shortener struct{ *faultyFile }

func (s shortener) Truncate(n int64) error {
	s.truncates = true
	s.Buffer.Truncate(int(n))
	return nil
}

// A file that fails after any number of bytes holds every line that was counted, and
// the fault says how many were not; the next part goes on where it stopped.
func TestRecorderFaultAnywhere(t *testing.T) {
	t.Parallel()
	lines := workday(12)
	whole := recorded(t, lines, true)
	for _, flushEach := range []bool{true, false} {
		for room := range len(whole) {
			fault := []error{syscall.ENOSPC, syscall.EIO, nil}[room%3] // nil: a short write
			f := &faultyFile{room: room, err: fault}
			var r *Recorder
			var err error
			if room%2 == 0 {
				r, err = NewRecorder(f, "mill.mcap", testHead())
			} else {
				r, err = NewRecorder(shortener{f}, "mill.mcap", testHead())
			}
			taken := 0
			for _, l := range lines {
				if err != nil {
					break
				}
				if err = r.Append(l.event()); err == nil && flushEach {
					err = r.Flush()
				}
				taken++
			}
			if err == nil {
				err = r.Close()
			}
			var w *WriteError
			if !errors.As(err, &w) || fault != nil && !errors.Is(err, fault) || w.Sync {
				t.Fatalf("room for %d: got error %v, want a *WriteError of %v", room, err, fault)
			}
			m, got, damage := readMCAP(t, f.Bytes())
			if w.Lines > len(got) || len(got) > w.Lines+1 || m.Closed() {
				t.Fatalf("room for %d: %d lines are read, the fault says %d", room, len(got), w.Lines)
			}
			sameLines(t, got, lines[:len(got)])
			if w.Lines+w.Lost != taken || r != nil && r.Lines() != w.Lines {
				t.Fatalf("room for %d: %d lines and %d lost, want %d together", room, w.Lines, w.Lost, taken)
			}
			if f.truncates && len(damage) > 0 && room >= len(mcapMagic) && w.Whole > 0 {
				t.Fatalf("room for %d: shortened and still damaged: %v", room, damage)
			}
			if again := r.Append(lines[0].event()); r.err == nil || again != r.err || r.Flush() != r.err || r.Sync() != r.err {
				t.Fatalf("room for %d: goes on after a fault", room)
			}
			second := testHead()
			second.Part, second.First = 2, r.Next()
			if want := uint32(1 + taken); second.First != want {
				t.Fatalf("room for %d: next is %d, want %d", room, second.First, want)
			}
		}
	}
}

func TestRecorderRefuses(t *testing.T) {
	t.Parallel()
	var file bytes.Buffer
	r, err := NewRecorder(&file, "mill.mcap", Head{})
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)
	year := func(y int) time.Time { return time.Date(y, 6, 1, 0, 0, 0, 123456789, time.UTC) }
	for _, c := range []struct {
		name string
		e    Event
		ok   bool
	}{
		{"a board without a clock", Event{At: time.Unix(12, 5).UTC()}, true},
		{"before 1970", Event{At: year(1969)}, true},
		{"long before 1970", Event{At: year(1678)}, true},
		{"the last year", Event{At: year(2261)}, true},
		{"too early for 64 bits of nanoseconds", Event{At: year(1677)}, false},
		{"too late for 64 bits of nanoseconds", Event{At: year(2263)}, false},
		{"no time at all", Event{}, false},
		{"the longest line", Event{At: at, Line: bytes.Repeat([]byte{'x'}, MaxCaptureLine)}, true},
		{"a longer line", Event{At: at, Line: make([]byte, MaxCaptureLine+1)}, false},
		{"no such stream", Event{At: at, Stream: 3}, false},
		{"math.MaxInt64 seconds", Event{At: time.Unix(math.MaxInt64, 0)}, false},
	} {
		before := r.Next()
		err := r.Append(c.e)
		if (err == nil) != c.ok || !c.ok && !errors.Is(err, ErrRefused) {
			t.Errorf("%s: got %v, want it taken: %v", c.name, err, c.ok)
		}
		if taken := r.Next() > before; taken != c.ok {
			t.Errorf("%s: numbered %v, want %v", c.name, taken, c.ok)
		}
		if !c.ok {
			continue
		}
		if err := r.Flush(); err != nil {
			t.Fatal(err)
		}
		_, got, damage := readMCAP(t, file.Bytes())
		if last := got[len(got)-1]; len(damage) > 0 || !last.at.Equal(c.e.At) || last.text != string(c.e.Line) {
			t.Errorf("%s: read back %v with damage %v", c.name, last.at, damage)
		}
	}
}

// Two parts of a session, with lines between them that could not be recorded.
func TestPartsTellWhatIsMissing(t *testing.T) {
	t.Parallel()
	head := testHead()
	head.Part, head.First = 2, 101
	var file bytes.Buffer
	r, err := NewRecorder(&file, "mill.2.mcap", head)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range workday(5) {
		if err := r.Append(l.event()); err != nil {
			t.Fatal(err)
		}
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	m := NewMCAPReader(bytes.NewReader(file.Bytes()), "mill.2.mcap")
	if _, err := m.Next(); err != nil || m.Seq() != 101 {
		t.Errorf("first line: number %d, %v; want 101", m.Seq(), err)
	}
	if h, _ := m.Head(); h != head {
		t.Errorf("got head %+v, want %+v", h, head)
	}
}

// Appending costs no memory and little time.
func TestRecorderAllocates(t *testing.T) {
	r, err := NewRecorder(discard{}, "x", testHead())
	if err != nil {
		t.Fatal(err)
	}
	e := workday(1)[0].event()
	for range 1000 {
		if err := r.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	if n := testing.AllocsPerRun(1000, func() { _ = r.Append(e) }); n > 0 {
		t.Errorf("%v allocations a line, want none", n)
	}
}

type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

func TestWriteErrorSays(t *testing.T) {
	t.Parallel()
	e := &WriteError{File: "mill.mcap", Err: syscall.ENOSPC, Whole: 4711, Lost: 3}
	if got := e.Error(); !strings.Contains(got, "mill.mcap") || !strings.Contains(got, "4711") || !strings.Contains(got, "3 lines") {
		t.Error(got)
	}
	if got := fmt.Sprint(&WriteError{File: "mill.mcap", Err: syscall.EIO, Sync: true}); !strings.HasPrefix(got, "sync mill.mcap") {
		t.Error(got)
	}
}
