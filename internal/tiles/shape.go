package tiles

import "slices"

// shaper makes shapes that are valid in a tile: point by point, ring by ring, the
// first of a polygon its exterior. It holds storage that is used again and again.
type shaper struct {
	simplifier
	points []point     // of the rings in hand
	begun  int         // of those, where the ring in hand begins
	rings  [][]point   // of the polygons in hand
	first  int         // of those, where the polygon in hand begins
	shape  [][][]point // the polygons in hand, clipped
}

// point adds a point to the ring in hand.
func (s *shaper) point(p point) {
	if n := len(s.points); n == s.begun || s.points[n-1] != p {
		s.points = append(s.points, p)
	}
}

// endRing ends the ring in hand; false where nothing with an area is left of it. An
// exterior must not be followed by holes then.
func (s *shaper) endRing() bool {
	r := tidy(s.points[s.begun:len(s.points):len(s.points)])
	s.points = s.points[:s.begun+len(r)]
	s.begun = len(s.points)
	if r == nil {
		return false
	}
	if exterior := len(s.rings) == s.first; doubleArea(r) > 0 != exterior {
		slices.Reverse(r)
	}
	s.rings = append(s.rings, r[:len(r):len(r)])
	return true
}

// endPolygon ends the polygon in hand.
func (s *shaper) endPolygon() {
	if n := len(s.rings); n > s.first {
		s.shape = clip(s.shape, s.rings[s.first:n:n])
		s.first = n
	}
}

// take is the shape in hand, good until the next point is added.
func (s *shaper) take() [][][]point {
	shape := s.simple(s.shape)
	s.points, s.begun, s.rings, s.first, s.shape = s.points[:0], 0, s.rings[:0], 0, s.shape[:0]
	return shape
}
