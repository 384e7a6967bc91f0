package nmea

import "time"

// dateClock gives times of day their day. It knows the last absolute time, and
// a time of day belongs to the day that brings it nearest to that: midnight
// steps on by itself, and a straggler from before midnight stays before it.
type dateClock struct {
	lastNS int64 // the last absolute time, ns after 1970 UTC
	zdaNS  int64 // the last absolute time that a ZDA stated
	known  bool  // a date has been seen
	weak   bool  // so far only in RMC of status V
	zda    bool  // a ZDA has been seen
}

// nearest is the absolute time of a time of day that is nearest to another
// absolute time, both ns after 1970 UTC.
func nearest(todNS, toNS int64) int64 {
	return floorDiv(toNS-todNS+dayNS/2, dayNS)*dayNS + todNS
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// hear takes the date of a sentence, if it has one, and moves the last absolute
// time to the sentence's own.
func (c *dateClock) hear(s *sentence) {
	if s.has&hasTime == 0 {
		return
	}
	carried := nearest(s.todNS, c.lastNS)
	if s.has&HasDate == 0 {
		if c.known {
			c.lastNS = carried
		}
		return
	}
	stated := int64(s.day)*dayNS + s.todNS
	if c.known && c.passOver(s, stated, carried) {
		c.lastNS = carried
		return
	}
	c.lastNS, c.known, c.weak = stated, true, s.void
	if s.kind == kindZDA {
		c.zdaNS, c.zda = stated, true
	}
}

// passOver tells whether a stated date is worse than the one carried on.
func (c *dateClock) passOver(s *sentence, stated, carried int64) bool {
	switch {
	case s.void && !c.weak:
		// Without a fix the receiver's date may be anything.
		return true
	case s.kind == kindRMC && c.zda && stated != carried && within(carried-c.zdaNS, secondNS):
		// ZDA has four digits of the year, and here it spoke just now.
		return true
	case stated == carried-dayNS && s.todNS < 5*secondNS && within(carried-c.lastNS, 5*secondNS):
		// Midnight has just passed and the date lags behind the time.
		return true
	}
	return false
}

func within(d, limit int64) bool { return -limit <= d && d <= limit }

// at is the absolute time of a time of day. Without a date so far it is the one
// nearest to the arrival.
func (c *dateClock) at(todNS int64, arrival time.Time) time.Time {
	last := c.lastNS
	if !c.known {
		last = arrivalNS(arrival)
	}
	return unixNS(nearest(todNS, last))
}

// arrivalNS is an arrival in ns after 1970. A clock so wrong that it cannot be
// written that way, the zero time above all, counts as 1970.
func arrivalNS(arrival time.Time) int64 {
	if y := arrival.Year(); y < 1700 || y > 2200 {
		return 0
	}
	return arrival.UnixNano()
}

func unixNS(ns int64) time.Time { return time.Unix(0, ns).UTC() }

// LogClock gives the lines of a plain log their times, from the sentences
// alone. The zero value is ready.
type LogClock struct {
	clock   dateClock
	decoder decoder
	lastNS  int64
	ok      bool
}

// Line takes the next line and returns the time, in UTC, of the latest sentence
// so far that states one (GGA, GNS, RMC, GLL, ZDA). ok is false as long as no
// date is known; the date comes from RMC or ZDA and is carried over midnight.
func (c *LogClock) Line(line []byte) (t time.Time, ok bool) {
	var s sentence
	for lines := scan(line); ; {
		candidate, more := lines.next()
		if !more {
			break
		}
		if candidate.verdict != verdictGood {
			continue
		}
		k, result := c.decoder.decode(candidate, &s)
		if result != ResultUsed || !k.position() && k != kindZDA || s.has&hasTime == 0 {
			continue
		}
		c.clock.hear(&s)
		if c.clock.known {
			c.lastNS, c.ok = nearest(s.todNS, c.clock.lastNS), true
		}
	}
	if !c.ok {
		return time.Time{}, false
	}
	return unixNS(c.lastNS), true
}
