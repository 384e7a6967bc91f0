package ground

import (
	"math"
	"slices"
	"unsafe"

	"drawbar/coverage/plane"
)

// survey keeps the first quads, so that the frame can still be turned once it
// shows which way the work goes.
type survey struct {
	log    []Quad
	causes []Cause // of the quads up to where they have been settled
	done   bool
}

// Where the directions are looked at, in quads added. The last one ends the
// survey: 32,768 quads of 0.25 m are 8 km of travel, more than the headland
// round of a large field, and 2 MB.
var surveyAt = [...]int{500, 2_000, 8_192, 32_768}

const surveyEnd = 32_768

// sectors is the number of directions told apart, over half a turn: 3 degrees
// each.
const sectors = 60

const (
	cos3deg = 0.99862953475457387378 // cosine of 3 degrees
	sin3deg = 0.05233595624294383272 // sine of 3 degrees
)

// offSector is the number of sectors from the travel to the scanlines where
// nothing else speaks: 26 of them are 78 degrees.
const offSector = 26

// compass holds the direction of each sector's start as a unit vector, from the
// x axis over half a turn.
type compass [sectors]struct{ x, y float64 }

func newCompass() (c compass) {
	x, y := 1.0, 0.0
	for i := range c {
		c[i].x, c[i].y = x, y
		x, y = float64(x*cos3deg)-float64(y*sin3deg), float64(x*sin3deg)+float64(y*cos3deg)
	}
	return c
}

// sector finds the sector of a direction, taken both ways; ok is false for a
// vector of no length.
func (c *compass) sector(v plane.Coord) (i int, ok bool) {
	if v.X == 0 && v.Y == 0 {
		return 0, false
	}
	if v.Y < 0 || v.Y == 0 && v.X < 0 {
		v.X, v.Y = -v.X, -v.Y
	}
	x, y := float64(v.X), float64(v.Y)
	// The last start that is not beyond the direction.
	lo, hi := 0, sectors
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if float64(c[mid].x*y)-float64(c[mid].y*x) >= 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, true
}

// travel is twice the mean movement of the bar's ends, bar twice its mean
// direction.
func (q Quad) travel() plane.Coord {
	return plane.Coord{X: q[3].X - q[0].X + q[2].X - q[1].X, Y: q[3].Y - q[0].Y + q[2].Y - q[1].Y}
}

func (q Quad) bar() plane.Coord {
	return plane.Coord{X: q[1].X - q[0].X + q[2].X - q[3].X, Y: q[1].Y - q[0].Y + q[2].Y - q[3].Y}
}

// firstFrame is the frame for a set that begins with q.
func firstFrame(q Quad) frame {
	c := newCompass()
	i, ok := c.sector(q.travel())
	if !ok {
		if i, ok = c.sector(q.bar()); ok {
			i += sectors / 2
		}
	}
	return c.frame(q[0], i+offSector)
}

// frame is the frame whose scanlines run along the middle of a sector.
func (c *compass) frame(origin plane.Coord, sector int) frame {
	const cosHalf, sinHalf = 0.99965732497555726, 0.026176948307873153 // of 1.5 degrees
	d := c[sector%sectors]
	return newFrame(origin, float64(d.x*cosHalf)-float64(d.y*sinHalf), float64(d.x*sinHalf)+float64(d.y*cosHalf))
}

// note adds a quad to the survey and turns the frame where that is due.
func (s *Set) note(q Quad) {
	v := &s.survey
	v.log = append(v.log, q)
	if slices.Contains(surveyAt[:], len(v.log)) {
		s.turn()
	}
	if len(v.log) == surveyEnd {
		*v = survey{done: true}
	}
}

// turn looks at the directions so far and turns the frame if the scanlines run
// along too much of the work.
func (s *Set) turn() {
	c := newCompass()
	weights := c.weigh(s.survey.log)
	now, _ := c.sector(plane.Coord{X: s.frame.cos, Y: s.frame.sin})
	best, least := now, math.Inf(1)
	current := weights.cost(now)
	for i := range sectors {
		if cost := weights.cost(i); cost < least {
			best, least = i, cost
		}
	}
	if current <= least+0.08 {
		return
	}
	s.rebuild(c.frame(s.frame.origin, best))
}

// rebuild paints all that is in the log again in another frame.
func (s *Set) rebuild(f frame) {
	s.frame = f
	clear(s.pages)
	s.pages = s.pages[:0]
	s.covered, s.gross = 0, 0
	s.waiting, s.told = s.waiting[:0], 0
	for i, q := range s.survey.log {
		s.paint(q)
		if i < len(s.survey.causes) {
			s.tell(s.survey.causes[i])
			s.workOff(s.told)
		}
	}
}

// clone shares the log as it is: what either of them adds goes elsewhere.
func (v survey) clone() survey {
	v.log = v.log[:len(v.log):len(v.log)]
	v.causes = v.causes[:len(v.causes):len(v.causes)]
	return v
}

func (v survey) bytes() int { return cap(v.log)*int(unsafe.Sizeof(Quad{})) + cap(v.causes) }
