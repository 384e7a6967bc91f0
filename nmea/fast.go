package nmea

import (
	"bytes"
	"encoding/binary"
)

// readFast reads the three sentences that come at the full rate, GGA, RMC and
// VTG, without allocating. It takes only what is plain in every way; anything
// else (blanks, signs where none belong, missing fields, an old layout) it
// leaves to go-nmea. What it takes it reads to the same values, which the tests
// prove on every recorded log and on fuzzed sentences. s is in no defined state
// if it returns false.
func readFast(body []byte, k kind, s *sentence) bool {
	if k != kindGGA && k != kindRMC && k != kindVTG || len(body) < 6 || !plainText(body) {
		return false
	}
	*s = sentence{kind: k, talker: [2]byte{body[0], body[1]}}
	c := cursor{rest: body[6:], plain: true}
	switch k {
	case kindGGA:
		c.readGGA(s)
	case kindRMC:
		c.readRMC(s)
	default:
		c.readVTG(s)
	}
	return c.plain && c.ended
}

// cursor walks over the fields of a sentence. plain turns false at the first
// thing that is not, and stays so.
type cursor struct {
	rest  []byte
	ended bool // the last field has been taken
	plain bool
}

func (c *cursor) readGGA(s *sentence) {
	c.time(s)
	lat, ns, lon, ew := c.field(), c.field(), c.field(), c.field()
	q, ok := qualityOfDigit(c.field())
	c.plain = c.plain && ok
	c.position(s, lat, ns, lon, ew, q)
	if n, ok := c.count(); ok {
		s.setSatellites(n)
	}
	if v, ok := c.number(); ok {
		s.setHDOP(v)
	}
	if v, ok := c.number(); ok {
		s.setAltitude(v)
	}
	c.field() // M
	c.field() // geoid separation
	c.field() // M
	if v, ok := c.number(); ok {
		s.setCorrectionAge(v)
	}
	c.field() // station
}

func (c *cursor) readRMC(s *sentence) {
	c.time(s)
	status := c.field()
	valid := len(status) == 1 && status[0] == 'A'
	c.plain = c.plain && (valid || len(status) == 0 || len(status) == 1 && status[0] == 'V')
	s.void = !valid
	lat, ns, lon, ew := c.field(), c.field(), c.field(), c.field()
	speed, hasSpeed := c.number()
	course, hasCourse := c.number()
	if f := c.field(); len(f) > 0 {
		if day, ok := shortDate(f); ok {
			s.setDate(day)
		}
	}
	c.field() // magnetic variation
	c.field() // its direction
	var mode []byte
	if !c.ended {
		mode = c.field()
	}
	if !c.ended {
		c.field() // navigational status
	}
	q := QualityNone
	if valid {
		q = qualityOfMode(mode)
	}
	c.position(s, lat, ns, lon, ew, q)
	if !valid || len(mode) == 1 && mode[0] == 'N' {
		return
	}
	if hasSpeed {
		s.setSpeedKnots(speed)
	}
	if hasCourse {
		s.setCourse(course)
	}
}

func (c *cursor) readVTG(s *sentence) {
	course, hasCourse := c.number()
	c.field() // T
	c.field() // magnetic course
	c.field() // M
	knots, hasKnots := c.number()
	c.field() // N
	kmh, hasKMH := c.number()
	c.field() // K
	if !c.ended {
		if f := c.field(); len(f) == 1 && f[0] == 'N' {
			return
		}
	}
	switch {
	case hasKnots:
		s.setSpeedKnots(knots)
	case hasKMH:
		s.setSpeedKMH(kmh)
	}
	if hasCourse {
		s.setCourse(course)
	}
}

func (c *cursor) time(s *sentence) {
	ns, r := timeOfDay(c.field())
	if r == readingGood {
		s.todNS = ns
		s.has |= hasTime
	}
	c.plain = c.plain && r != readingUnlikely
}

func (c *cursor) position(s *sentence, lat, ns, lon, ew []byte, q Quality) {
	latDeg, lonDeg, r := position(lat, ns, lon, ew)
	s.setPosition(latDeg, lonDeg, r == readingGood, q)
	c.plain = c.plain && r != readingUnlikely
}

// field takes the next field.
func (c *cursor) field() []byte {
	b := c.rest
	for i := range b {
		if b[i] == ',' {
			c.rest = b[i+1:]
			return b[:i]
		}
	}
	c.plain = c.plain && !c.ended
	c.rest, c.ended = nil, true
	return b
}

// plainText tells whether b is printable ASCII without blank, backslash and
// asterisk. go-nmea trims the first, and finds a tag block or a checksum in the
// others.
func plainText(b []byte) bool {
	if bytes.IndexByte(b, '*') >= 0 || bytes.IndexByte(b, '\\') >= 0 {
		return false
	}
	// Eight bytes at once: the top bit of a byte of odd is set if it is below
	// '!' or above '~'. Without a top bit set in w no addition carries into the
	// next byte, nor does a subtraction borrow from it.
	const ones, tops = 0x0101010101010101, 0x8080808080808080
	for ; len(b) >= 8; b = b[8:] {
		w := binary.LittleEndian.Uint64(b)
		if odd := w | (w + ones) | ^((w | tops) - '!'*ones); odd&tops != 0 {
			return false
		}
	}
	for _, c := range b {
		if c < '!' || c > '~' {
			return false
		}
	}
	return true
}

// number takes a field that is empty or a decimal number. ok is false if it is
// empty. Mantissa and power of ten are exact, so the one division rounds as
// strconv does.
func (c *cursor) number() (v float64, ok bool) {
	f := c.field()
	if len(f) == 0 {
		return 0, false
	}
	negative := f[0] == '-'
	if negative {
		f = f[1:]
	}
	mantissa, scale, points := uint64(0), uint64(1), 0
	for _, b := range f {
		if b == '.' {
			points++
			continue
		}
		d := b - '0'
		if d > 9 {
			c.plain = false
			return 0, false
		}
		mantissa = 10*mantissa + uint64(d)
		if points > 0 {
			scale *= 10
		}
	}
	if digits := len(f) - points; points > 1 || digits < 1 || digits > 15 {
		c.plain = false
		return 0, false
	}
	v = float64(mantissa) / float64(scale)
	if negative {
		v = -v
	}
	return v, true
}

// count takes a field that is empty or a whole number.
func (c *cursor) count() (n int64, ok bool) {
	f := c.field()
	if len(f) > 9 {
		c.plain = false
		return 0, false
	}
	for _, b := range f {
		d := b - '0'
		if d > 9 {
			c.plain = false
			return 0, false
		}
		n = 10*n + int64(d)
	}
	return n, len(f) > 0
}
