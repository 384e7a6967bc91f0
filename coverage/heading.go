package coverage

import (
	"math"

	"drawbar/coverage/plane"
)

// Bounds of the heading. The first two are part of the published rules of the
// swath; the others only tell reversing from turning.
const (
	courseBaseM      = 0.5  // positions at least this far apart give a course
	holdBelowMPS     = 0.2  // slower than this the heading is held
	freshHeadingNS   = 1e9  // a measured heading serves this long
	reverseAboveRad  = 2.0  // a course that differs by more than this …
	reverseBelowMPS  = 1.5  // … at no more than this speed …
	reverseWithinM   = 2.0  // … over no more than this and the base is reversing
	noReverseOverMPS = 3.0  // nothing reverses this fast
	trailStepM       = 0.05 // standing still must not fill the trail with noise
	trailLen         = 64
)

// The end of a wide bar turns the noise of positions into ground: with a base of
// half a metre and 6 mm of noise from fix to fix, the ends of a 24 m bar swing
// so far that half an hour of simulated spraying came out 1.4 % too large. The
// base therefore grows until the noise moves the ends, from fix to fix, by no
// more than a share of the way between fixes; at swingShare the same work is
// right within 0.1 %.
const (
	swingShare = 1.0 / 7
	maxBaseM   = 4.0
)

// courseBase is the distance over which the course is taken: courseBaseM where
// positions are free of noise.
func (n *noise) courseBase(im *Implement) float64 {
	if im == nil || n.advanceM <= 0 {
		return courseBaseM
	}
	swing := float64(im.WidthM()/2) * math.Sqrt(float64(2*n.variance)) / n.advanceM
	return max(courseBaseM, min(maxBaseM, swing/swingShare))
}

// xy is a point on the plane in metres, x east, y north.
type xy struct{ x, y float64 }

func (a xy) minus(b xy) xy           { return xy{a.x - b.x, a.y - b.y} }
func (a xy) length() float64         { return plane.Hypot(a.x, a.y) }
func (a xy) to(b xy) float64         { return b.minus(a).length() }
func (a xy) lerp(b xy, f float64) xy { return xy{mix(a.x, b.x, f), mix(a.y, b.y, f)} }

// along returns the point that lies ahead metres along heading h and right
// metres to its right. h is radians clockwise from grid north.
func (a xy) along(h, ahead, right float64) xy {
	s, c := plane.Sincos(h)
	return xy{
		a.x + float64(s*ahead) + float64(c*right),
		a.y + float64(c*ahead) - float64(s*right),
	}
}

// direction is the grid heading of d in (-π, π].
func (a xy) direction() float64 { return plane.Atan2(a.x, a.y) }

func mix(a, b, f float64) float64 { return a + float64((b-a)*f) }

// mixAngle goes the short way round from a to b.
func mixAngle(a, b, f float64) float64 {
	return plane.WrapPi(a + float64(plane.WrapPi(b-a)*f))
}

// heading follows where the tractor points: as measured while that is fresh,
// else the course over ground from positions at least courseBaseM apart. Between
// two measurements it turns as the course does. The zero value knows nothing.
// Radians clockwise from grid north.
type heading struct {
	rad        float64
	moved      float64 // by the course alone; with hasMoved
	offset     float64 // of the latest measurement from moved; with hasOffset
	wayM       float64 // length of the trail's way, as far as it matters
	measuredNS int64
	known      bool
	measured   bool // a measured heading was ever seen
	hasMoved   bool
	hasOffset  bool
	reversing  bool
	trail      [trailLen]xy
	first, n   int // the trail is a ring
}

// step takes the next position of an unbroken drive; baseM is the distance over
// which a course is taken once the drive is long enough.
func (h *heading) step(tNS int64, at xy, baseM, speedMPS, measured float64, has bool) {
	base := min(baseM, max(courseBaseM, h.wayM/3))
	if from, ok := h.base(h.n, at, base); ok && (speedMPS >= holdBelowMPS || !h.hasMoved) {
		d := at.minus(h.point(from))
		h.course(d, d.direction()+h.bend(at, max(1, base), d.length()), speedMPS)
	}
	h.remember(at, baseM)
	switch {
	case has:
		h.rad, h.known, h.measured, h.measuredNS = measured, true, true, tNS
		h.offset, h.hasOffset = plane.WrapPi(measured-h.moved), h.hasMoved
	case h.measured && tNS-h.measuredNS <= freshHeadingNS:
		if h.hasMoved && h.hasOffset {
			h.rad = plane.WrapPi(h.moved + h.offset)
		}
	case h.hasMoved:
		h.rad, h.known = h.moved, true
	}
}

// course turns a movement d, which ends in the direction c, into a heading: the
// opposite while reversing.
func (h *heading) course(d xy, c, speedMPS float64) {
	c = plane.WrapPi(c)
	if !h.hasMoved {
		h.moved, h.hasMoved = c, true
		return
	}
	points := c
	if h.reversing {
		points = plane.WrapPi(c + plane.Pi)
	}
	off := plane.WrapPi(points - h.moved)
	// Going forward again is known at any speed: at one fix a second a tractor
	// is past reverseBelowMPS before it has gone courseBaseM.
	slow := h.reversing || speedMPS < reverseBelowMPS
	if (off > reverseAboveRad || off < -reverseAboveRad) && slow && d.length() <= reverseWithinM+maxBaseM {
		h.reversing = !h.reversing
		points = plane.WrapPi(points + plane.Pi)
	}
	if h.reversing && speedMPS > noReverseOverMPS {
		h.reversing, points = false, c
	}
	h.moved = points
}

// bend is by how much the course at the end of a movement differs from the
// course of the whole: in a turn the straight line between two positions points
// where the machine pointed half way. How the way bends is taken from two
// stretches of stretchM, or what the drive has had so far, so that the noise of
// positions adds little.
func (h *heading) bend(at xy, stretchM, lengthM float64) float64 {
	stretchM = min(stretchM, h.wayM/2)
	if stretchM < courseBaseM {
		return 0
	}
	i, ok := h.base(h.n, at, stretchM)
	if !ok {
		return 0
	}
	mid := h.point(i)
	j, ok := h.base(i, mid, stretchM)
	if !ok {
		return 0
	}
	a, b := at.minus(mid), mid.minus(h.point(j))
	turn := plane.WrapPi(a.direction() - b.direction())
	if turn > reverseAboveRad || turn < -reverseAboveRad {
		return 0 // the machine backed up in between
	}
	return turn / (a.length() + b.length()) * lengthM
}

// base is the latest of the first n positions of the trail that is awayM or more
// from at.
func (h *heading) base(n int, at xy, awayM float64) (int, bool) {
	for i := n - 1; i >= 0; i-- {
		if h.point(i).to(at) >= awayM {
			return i, true
		}
	}
	return 0, false
}

func (h *heading) point(i int) xy { return h.trail[(h.first+i)%trailLen] }

// remember adds a position to the trail, which keeps as many as a base of baseM
// needs.
func (h *heading) remember(at xy, baseM float64) {
	if h.n > 0 {
		way := h.point(h.n - 1).to(at)
		if way < max(trailStepM, baseM/10) {
			return
		}
		h.wayM = min(h.wayM+way, 4*maxBaseM)
	}
	if h.n == trailLen {
		h.first = (h.first + 1) % trailLen
		h.n--
	}
	h.trail[(h.first+h.n)%trailLen] = at
	h.n++
}

// forgetTrail is for a new plane: positions on the old one mean nothing there.
func (h *heading) forgetTrail() { h.first, h.n, h.wayM = 0, 0, 0 }
