package probe

import (
	"math"
	"slices"
	"strconv"
)

// clockFields are the sentences that say the time of day, and where; NMEA 0183.
var clockFields = [...]struct {
	formatter string
	field     int
}{{"GGA", 1}, {"GNS", 1}, {"RMC", 1}, {"GLL", 5}, {"ZDA", 1}}

// clock is what one type of sentence said of the time.
type clock struct {
	count  int       // sentences of the type
	timed  int       // of them with a time
	epochs int       // times that differ from the one before
	steps  []float64 // s from one to the next
	lastS  float64   // s of the day
	last   string    // hh:mm:ss
}

const dayS = 86400

// take reads hhmmss.ss.
func (c *clock) take(field string) {
	if len(field) < 6 {
		return
	}
	whole, err := strconv.ParseUint(field[:6], 10, 32)
	part, ok := decimal("0" + field[6:])
	if err != nil || len(field) > 6 && !ok || whole >= 240000 {
		return
	}
	s := float64(whole/10000*3600+whole/100%100*60+whole%100) + part
	c.timed++
	if c.timed > 1 && s == c.lastS {
		return
	}
	c.epochs++
	if c.timed > 1 {
		if step := between(c.lastS, s); step > 0 {
			c.steps = append(c.steps, step)
		}
	}
	c.lastS = s
	c.last = field[:2] + ":" + field[2:4] + ":" + field[4:6]
}

// between is the time from one time of day to another, seconds, over midnight
// where that is the shorter way.
func between(from, to float64) float64 {
	return math.Mod(to-from+1.5*dayS, dayS) - dayS/2
}

// pace is how fast a receiver sends. The zero pace is not known.
type pace struct {
	epochs float64 // in all, those without a time included
	stepS  float64 // from one to the next
}

// best is the clock to go by: of the type that came most, of those that said at
// least two times.
func (l *listener) best() (best *clock) {
	for i := range l.clocks {
		c := &l.clocks[i]
		if c.timed > 0 && (best == nil || c.epochs >= 2 && c.count > best.count) {
			best = c
		}
	}
	return best
}

// pace goes by the receiver's own times, else by the times of arrival.
func (l *listener) pace(lines []Line) pace {
	if c := l.best(); c != nil && len(c.steps) > 0 {
		return pace{epochs: float64(c.epochs) * float64(c.count) / float64(c.timed), stepS: median(c.steps)}
	}
	return pace{epochs: 1, stepS: span(lines)}
}

// span is the time over which the lines arrived, seconds, 0 where it is not known.
func span(lines []Line) float64 {
	if len(lines) < 2 {
		return 0
	}
	s := lines[len(lines)-1].At.Sub(lines[0].At).Seconds()
	if lines[0].At.IsZero() || s <= 0 {
		return 0
	}
	return s * float64(len(lines)) / float64(len(lines)-1)
}

// of is how often a second something comes that came count times, nil if not
// known. Cut epochs at either end of the listening do not show.
func (p pace) of(count int) *float64 {
	if p.stepS <= 0 || p.epochs <= 0 {
		return nil
	}
	each := float64(count) / p.epochs
	if whole := math.Round(each); p.epochs > 1 && whole > 0 && math.Abs(float64(count)-whole*p.epochs) <= whole {
		each = whole
	}
	return number(each/p.stepS, 2)
}

// median is the middle one of steps, seconds, 0 without any. It orders them.
func median(steps []float64) float64 {
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}

// number rounds to a few digits behind the point.
func number(v float64, digits int) *float64 {
	scale := math.Pow(10, float64(digits))
	v = math.Round(v*scale) / scale
	return &v
}

// decimal reads a plain finite number.
func decimal(s string) (float64, bool) {
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}
