package replay

import (
	"fmt"
	"io"
	"time"

	"drawbar/nmea"
)

// logChunk is how much of a log is read at once.
const logChunk = 32 << 10

// LogReader reads a plain NMEA log as a stream of events. The log has no times
// of arrival: each line gets the time of the latest sentence up to and with
// itself that states one, and lines before the first known time get that one.
// It therefore looks through the log up to the first date, and then starts
// again. Where no sentence has a date, the days count from 1970-01-01; where
// none has a time either, the events have the zero time.
//
// It holds one chunk of the log at a time, never the whole.
type LogReader struct {
	r       io.ReadSeeker
	name    string
	clock   nmea.LogClock
	split   nmea.Splitter
	chunk   []byte
	text    []byte // the lines of the last chunk, one after the other
	ends    []int  // where each of them ends in text
	next    int    // index of the next line to hand out
	last    time.Time
	primed  time.Time     // what the clock was told in place of a date; no line's time
	shift   time.Duration // of the clock's times before they are handed out
	started bool
	undated bool // no sentence has a date
	timed   bool // undated, but a sentence has a time of day
	err     error
}

// NewLogReader reads the log r; name stands for it in errors.
func NewLogReader(r io.ReadSeeker, name string) *LogReader {
	return &LogReader{r: r, name: name, chunk: make([]byte, logChunk)}
}

// Warning says what a person should know of the log's times; empty when the log
// has dates. It is known from the first call of Next on.
func (l *LogReader) Warning() string {
	switch {
	case !l.undated:
		return ""
	case l.timed:
		return l.name + ": no sentence states a date (RMC, ZDA); days count from 1970-01-01"
	default:
		return l.name + ": no sentence states a time, so nothing of it has one"
	}
}

// Next returns the next event, io.EOF after the last one, or the underlying
// reader's error. The event's Line is valid until the next call.
func (l *LogReader) Next() (Event, error) {
	if !l.started {
		if err := l.start(); err != nil {
			return Event{}, fmt.Errorf("read %s: %w", l.name, err)
		}
		l.started = true
	}
	for l.next == len(l.ends) {
		if l.err == io.EOF {
			return Event{}, io.EOF
		}
		if l.err != nil {
			return Event{}, fmt.Errorf("read %s: %w", l.name, l.err)
		}
		l.fill()
	}
	start := 0
	if l.next > 0 {
		start = l.ends[l.next-1]
	}
	line := l.text[start:l.ends[l.next]]
	l.next++
	if t, ok := l.clock.Line(line); ok && t != l.primed {
		l.last = t.Add(-l.shift)
	}
	return Event{At: l.last, Stream: StreamGNSS, Line: line}, nil
}

// fill cuts the next chunk into lines.
func (l *LogReader) fill() {
	l.text, l.ends, l.next = l.text[:0], l.ends[:0], 0
	n, err := l.r.Read(l.chunk)
	l.split.Push(l.chunk[:n], l.keep)
	if err != nil {
		l.split.Flush(l.keep)
		l.err = err
	}
}

func (l *LogReader) keep(line []byte) {
	l.text = append(l.text, line...)
	l.ends = append(l.ends, len(l.text))
}

// undatedStart gives the clock of a log without dates a day that a receiver can
// state, and there the last moment before noon: every time of day is nearest to
// that on the same day. undatedShift brings it to 1970-01-01.
const (
	undatedStart = "$GPZDA,115959.999999999,01,01,2000,00,00*5D"
	undatedShift = 10_957 * 24 * time.Hour
)

// start finds the first known time, and whether the log has dates at all.
func (l *LogReader) start() error {
	first, found, err := l.look()
	if err == nil && !found {
		l.primed, _ = l.clock.Line([]byte(undatedStart))
		l.undated, l.shift = true, undatedShift
		first, l.timed, err = l.look()
	}
	if !first.IsZero() {
		l.last = first.Add(-l.shift)
	}
	return err
}

// look reads on to the first line at which the time is known, by a copy of the
// clock, and rewinds.
func (l *LogReader) look() (first time.Time, found bool, err error) {
	clock := l.clock
	var split nmea.Splitter
	line := func(line []byte) {
		if found {
			return
		}
		t, ok := clock.Line(line)
		if ok && t != l.primed {
			first, found = t, true
		}
	}
	for !found {
		n, err := l.r.Read(l.chunk)
		split.Push(l.chunk[:n], line)
		if err == io.EOF {
			split.Flush(line)
			break
		}
		if err != nil {
			return time.Time{}, false, err
		}
	}
	_, err = l.r.Seek(0, io.SeekStart)
	return first, found, err
}
