package source

import (
	"bytes"
	"time"

	"drawbar/nmea"
)

// loneReturns is how many lines must have ended in a bare carriage return before
// each carriage return is taken for a line's end at once.
const loneReturns = 2

// cutter cuts the bytes of one connection into lines. A line feed ends a line,
// with or without carriage returns before it, as in [nmea.Splitter].
//
// With returns set (a controller's stream) a carriage return that neither a line
// feed nor another carriage return follows ends a line too. No pause between
// bytes plays a part: what follows decides. The line then carries the time of its
// carriage return, though it is known for a line only when the next byte is
// there. After two such lines without a line feed every carriage return ends its
// line at once, and a line feed behind it is passed over and ends this habit.
type cutter struct {
	returns bool
	emit    func(line []byte, at time.Time)

	split   nmea.Splitter
	at      time.Time // of the bytes in hand
	inner   func([]byte)
	lone    int       // lines ended by a bare carriage return, since the last line feed
	waiting bool      // a carriage return whose next byte is not there yet
	came    time.Time // when that one came
	passLF  bool      // a line feed that comes next belongs to a line already ended
	skip    bool      // the line end at hand is a carriage return: no blank lines of it
	partial bool      // a line has begun and not ended
}

func newCutter(returns bool, emit func(line []byte, at time.Time)) *cutter {
	c := &cutter{returns: returns, emit: emit}
	c.inner = func(line []byte) {
		if c.skip && len(line) == 0 {
			return
		}
		c.emit(line, c.at)
	}
	return c
}

// push takes bytes that were read at the time at. Lines are valid during emit.
func (c *cutter) push(b []byte, at time.Time) {
	if len(b) == 0 {
		return
	}
	c.at = at
	c.partial = b[len(b)-1] != '\n'
	if !c.returns {
		c.split.Push(b, c.inner)
		return
	}
	for len(b) > 0 {
		c.decide(b[0], at)
		if c.passLF && b[0] == '\n' {
			c.passLF, c.lone = false, 0
			b = b[1:]
			continue
		}
		c.passLF = false
		end := bytes.IndexAny(b, "\r\n")
		if end < 0 {
			c.split.Push(b, c.inner)
			return
		}
		c.split.Push(b[:end], c.inner)
		switch {
		case b[end] == '\n':
			c.lone = 0
			c.split.Push([]byte{'\n'}, c.inner)
		case c.lone >= loneReturns:
			c.endLine()
			c.passLF = true
			c.partial = c.partial && end+1 < len(b)
		default:
			c.waiting, c.came = true, at
		}
		b = b[end+1:]
	}
}

// decide says what a carriage return was, now that next follows it.
func (c *cutter) decide(next byte, at time.Time) {
	if !c.waiting {
		return
	}
	c.waiting = false
	if next == '\n' || next == '\r' {
		c.split.Push([]byte{'\r'}, c.inner)
		return
	}
	c.lone++
	c.at = c.came
	c.endLine()
	c.at = at
}

// endLine ends a line at a carriage return.
func (c *cutter) endLine() {
	c.skip = true
	c.split.Push([]byte{'\n'}, c.inner)
	c.skip = false
}

// flush hands out what is left, whole line or not.
func (c *cutter) flush() {
	c.split.Flush(c.inner)
	c.waiting, c.partial = false, false
}

// drop forgets the piece in hand and tells whether there was one.
func (c *cutter) drop() (cut bool) {
	c.split.Flush(func([]byte) { cut = true })
	c.waiting, c.passLF, c.partial = false, false, false
	return cut
}

// held tells whether a line has begun and not ended.
func (c *cutter) held() bool { return c.partial }
