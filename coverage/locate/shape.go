package locate

import (
	"math"

	"drawbar/coverage"
	"drawbar/coverage/plane"
)

// shape is a field prepared for questions: sides in metres about its middle, in
// bands from south to north that list the sides that come into them.
type shape struct {
	lonDeg, latDeg float64 // the middle
	perLon, perLat float64 // metres a degree
	lo, hi         point   // around all sides
	sides          []side
	bands          []int32 // of band b those from starts[b] to starts[b+1]
	starts         []int32
	perM           float64 // bands a metre
}

type point struct{ x, y float64 }

// side runs with the ground on its left. A hole's is not part of the field's
// border, but tells whether a place is on its ground.
type side struct {
	a, b point
	hole bool
}

// degreeM is the length of a degree of longitude and of latitude on the WGS 84
// ellipsoid: from its radii of curvature in the prime vertical and in the meridian
// (Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395, 1987,
// equations 4-18 and 4-20).
func degreeM(latDeg float64) (perLon, perLat float64) {
	const a, e2 = 6378137.0, 0.0066943799901413165
	sin, cos := plane.Sincos(float64(latDeg * plane.DegToRad))
	w2 := 1 - float64(e2*float64(sin*sin))
	n := a / math.Sqrt(w2)
	m := n * (1 - e2) / w2
	return n * cos * plane.DegToRad, m * plane.DegToRad
}

// around brings a longitude to within half a turn of another.
func around(lonDeg, ofDeg float64) float64 {
	switch d := lonDeg - ofDeg; {
	case d > 180:
		return lonDeg - 360
	case d < -180:
		return lonDeg + 360
	}
	return lonDeg
}

// newShape prepares an outline of at least one corner.
func newShape(b coverage.Boundary) *shape {
	first := firstCorner(b)
	west, south, east, north := first[0], first[1], first[0], first[1]
	for _, polygon := range b {
		for _, ring := range polygon {
			for _, c := range ring {
				lon := around(c[0], first[0])
				west, east = min(west, lon), max(east, lon)
				south, north = min(south, c[1]), max(north, c[1])
			}
		}
	}
	s := &shape{lonDeg: (west + east) / 2, latDeg: (south + north) / 2}
	s.perLon, s.perLat = degreeM(s.latDeg)
	s.lo, s.hi = s.at(west, south), s.at(east, north)
	for _, polygon := range b {
		for i, ring := range polygon {
			s.addRing(ring, i > 0)
		}
	}
	s.lay()
	return s
}

func firstCorner(b coverage.Boundary) [2]float64 {
	for _, polygon := range b {
		for _, ring := range polygon {
			if len(ring) > 0 {
				return ring[0]
			}
		}
	}
	return [2]float64{}
}

// at is a place in the metric of the shape.
func (s *shape) at(lonDeg, latDeg float64) point {
	return point{float64((around(lonDeg, s.lonDeg) - s.lonDeg) * s.perLon), float64((latDeg - s.latDeg) * s.perLat)}
}

// addRing adds the sides of a ring, whichever way it runs and whether it is closed
// or not.
func (s *shape) addRing(ring [][2]float64, hole bool) {
	first := len(s.sides)
	sum := 0.0
	for i := range ring {
		before := ring[(i+len(ring)-1)%len(ring)]
		a, b := s.at(before[0], before[1]), s.at(ring[i][0], ring[i][1])
		if a == b {
			continue
		}
		sum += float64(a.x*b.y) - float64(b.x*a.y)
		s.sides = append(s.sides, side{a: a, b: b, hole: hole})
	}
	if sum < 0 {
		for i := first; i < len(s.sides); i++ {
			s.sides[i].a, s.sides[i].b = s.sides[i].b, s.sides[i].a
		}
	}
}

// lay lays the bands: about as many as there are sides, of 1 m at least.
func (s *shape) lay() {
	height := s.hi.y - s.lo.y
	n := max(1, min(len(s.sides), int(height)))
	if height > 0 {
		s.perM = float64(n) / height
	}
	counts := make([]int32, n+1)
	for _, e := range s.sides {
		from, to := s.bandsOf(e, n)
		for b := from; b <= to; b++ {
			counts[b]++
		}
	}
	s.starts = make([]int32, n+1)
	for b := range n {
		s.starts[b+1] = s.starts[b] + counts[b]
	}
	s.bands = make([]int32, s.starts[n])
	next := append([]int32(nil), s.starts...)
	for i, e := range s.sides {
		from, to := s.bandsOf(e, n)
		for b := from; b <= to; b++ {
			s.bands[next[b]] = int32(i)
			next[b]++
		}
	}
}

func (s *shape) bandsOf(e side, n int) (from, to int) {
	return s.bandOf(min(e.a.y, e.b.y), n), s.bandOf(max(e.a.y, e.b.y), n)
}

// bandOf is the band of a height, the nearest for one beyond them all.
func (s *shape) bandOf(y float64, n int) int {
	return int(max(0, min(float64((y-s.lo.y)*s.perM), float64(n-1))))
}

// within are the sides that come into the bands from one height to another; some
// of them more than once.
func (s *shape) within(from, to float64) []int32 {
	n := len(s.starts) - 1
	return s.bands[s.starts[s.bandOf(from, n)]:s.starts[s.bandOf(to, n)+1]]
}

// inside tells whether a place is in the field, holes included, and whether it is
// on its ground.
func (s *shape) inside(p point) (in, ground bool) {
	if p.x < s.lo.x || p.x > s.hi.x || p.y < s.lo.y || p.y > s.hi.y {
		return false, false
	}
	rings := 0 // outer ones around the place
	for _, i := range s.within(p.y, p.y) {
		e := &s.sides[i]
		if (e.a.y > p.y) == (e.b.y > p.y) {
			continue
		}
		left := float64((e.b.x-e.a.x)*(p.y-e.a.y)) - float64((p.x-e.a.x)*(e.b.y-e.a.y))
		if e.b.y < e.a.y {
			left = -left
		}
		if left <= 0 {
			continue // the side is not right of the place
		}
		ground = !ground
		switch {
		case e.hole:
		case e.b.y > e.a.y:
			rings++
		default:
			rings--
		}
	}
	return rings > 0, ground
}

// borderM is how far a place is from the field's border, mostM where that is less.
func (s *shape) borderM(p point, mostM float64) float64 {
	if p.x < s.lo.x-mostM || p.x > s.hi.x+mostM || p.y < s.lo.y-mostM || p.y > s.hi.y+mostM {
		return mostM
	}
	least := float64(mostM * mostM)
	for _, i := range s.within(p.y-mostM, p.y+mostM) {
		e := &s.sides[i]
		if e.hole || max(e.a.x, e.b.x) < p.x-mostM || min(e.a.x, e.b.x) > p.x+mostM {
			continue
		}
		ux, uy := e.b.x-e.a.x, e.b.y-e.a.y
		vx, vy := p.x-e.a.x, p.y-e.a.y
		t := max(0, min(1, (float64(ux*vx)+float64(uy*vy))/(float64(ux*ux)+float64(uy*uy))))
		dx, dy := vx-float64(ux*t), vy-float64(uy*t)
		least = min(least, float64(dx*dx)+float64(dy*dy))
	}
	return math.Sqrt(least)
}

// aheadM is how far ahead of a place, in a direction of length 1, the border is
// first met; false where that is further than mostM.
func (s *shape) aheadM(p, dir point, mostM float64) (float64, bool) {
	q := point{p.x + float64(dir.x*mostM), p.y + float64(dir.y*mostM)}
	if min(p.x, q.x) > s.hi.x || max(p.x, q.x) < s.lo.x || min(p.y, q.y) > s.hi.y || max(p.y, q.y) < s.lo.y {
		return 0, false
	}
	found, least := false, mostM
	for _, i := range s.within(min(p.y, q.y), max(p.y, q.y)) {
		e := &s.sides[i]
		if e.hole {
			continue
		}
		// Which hand of the way each end is on, and how far ahead of the place.
		ax, ay, bx, by := e.a.x-p.x, e.a.y-p.y, e.b.x-p.x, e.b.y-p.y
		a := float64(dir.x*ay) - float64(dir.y*ax)
		b := float64(dir.x*by) - float64(dir.y*bx)
		if (a > 0) == (b > 0) {
			continue
		}
		f := a / (a - b)
		ahead := float64(dir.x*(ax+float64(f*(bx-ax)))) + float64(dir.y*(ay+float64(f*(by-ay))))
		if ahead >= 0 && ahead <= least {
			found, least = true, ahead
		}
	}
	return least, found
}
