package arrivals

import (
	"time"

	"drawbar/controller"
)

// Bounds of what is kept of a stream.
const (
	keepLines = 1200
	keepBytes = 256 << 10
	keepFor   = time.Minute
	mostLine  = controller.MaxLine // bytes of a line that are kept
)

// kept is one line in a ring.
type kept struct {
	at     time.Time // of arrival, session clock
	from   int       // of its text in the ring's bytes
	length int
	cut    bool // there was more
}

// takes is the room of its text: one byte at least, so that each has its own place.
func (k kept) takes() int { return k.length + 1 }

// ring is the latest lines of a stream. Its memory is taken once.
type ring struct {
	lines []kept // keepLines of them, made with the first line
	bytes []byte // keepBytes; a line lies in one piece
	first int    // of the oldest line
	count int
	free  int // where the next text goes
}

// add keeps a copy of a line and lets go what is too old or in its way.
func (r *ring) add(at time.Time, line []byte) {
	if r.lines == nil {
		r.lines, r.bytes = make([]kept, keepLines), make([]byte, keepBytes)
	}
	k := kept{at: at, length: min(len(line), mostLine), cut: len(line) > mostLine}
	if r.free+k.takes() > keepBytes {
		r.clear(r.free, keepBytes) // what lies behind is older than what lies before
		r.free = 0
	}
	if r.count == keepLines {
		r.drop()
	}
	r.clear(r.free, r.free+k.takes())
	for r.count > 0 && !fresh(r.lines[r.first].at, at) {
		r.drop()
	}
	k.from = r.free
	copy(r.bytes[k.from:], line[:k.length])
	r.free += k.takes()
	r.lines[(r.first+r.count)%keepLines] = k
	r.count++
}

// fresh tells whether a line is young enough. One of a clock that was set back
// since is not.
func fresh(at, now time.Time) bool {
	age := now.Sub(at)
	return age <= keepFor && age >= -keepFor
}

// clear drops the oldest lines while their text lies in [from, to).
func (r *ring) clear(from, to int) {
	for r.count > 0 {
		k := r.lines[r.first]
		if k.from >= to || k.from+k.takes() <= from {
			return
		}
		r.drop()
	}
}

func (r *ring) drop() {
	r.first = (r.first + 1) % keepLines
	r.count--
}

// line is a copy of one kept.
type line struct {
	at   time.Time
	text []byte
	cut  bool
}

// latest is the arrival of the newest line.
func (r *ring) latest() time.Time {
	if r.count == 0 {
		return time.Time{}
	}
	return r.lines[(r.first+r.count-1)%keepLines].at
}

// copied is the lines that are young enough, oldest first.
func (r *ring) copied(now time.Time) []line {
	size := 0
	for i := range r.count {
		size += r.lines[(r.first+i)%keepLines].length
	}
	text := make([]byte, 0, size)
	out := make([]line, 0, r.count)
	for i := range r.count {
		k := r.lines[(r.first+i)%keepLines]
		if !fresh(k.at, now) {
			continue
		}
		from := len(text)
		text = append(text, r.bytes[k.from:k.from+k.length]...)
		out = append(out, line{k.at, text[from:len(text):len(text)], k.cut})
	}
	return out
}
