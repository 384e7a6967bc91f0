package ground

import (
	"cmp"
	"slices"

	"drawbar/coverage/plane"
)

// side is a side of a ring, from its left end to its right end.
type side struct {
	a, b     plane.Coord
	lowY     int64
	highY    int64
	ring, at int32 // which ring, and its number in the ring
	last     bool  // of its ring
}

// anyCrossing says whether any two sides of the polygons' rings meet elsewhere
// than in the corner they share.
func anyCrossing(polygons []Polygon) (found bool) {
	var sides []side
	ring := int32(0)
	for _, p := range polygons {
		for _, r := range p {
			sides = sidesOf(sides, r, ring)
			ring++
		}
	}
	contacts(sides, func(side, side) bool {
		found = true
		return false
	})
	return found
}

// Contacts calls do for every two sides of a closed ring, i before j, that meet
// elsewhere than in the corner they share, in the order of their left ends, until
// it returns false. Side i runs from corner i to the next.
func Contacts(ring []plane.Coord, do func(i, j int) bool) {
	contacts(sidesOf(nil, ring, 0), func(s, t side) bool {
		return do(int(min(s.at, t.at)), int(max(s.at, t.at)))
	})
}

// sidesOf appends the sides of a closed ring.
func sidesOf(sides []side, r []plane.Coord, ring int32) []side {
	for i := range len(r) - 1 {
		a, b := r[i], r[i+1]
		s := side{a: a, b: b, lowY: min(a.Y, b.Y), highY: max(a.Y, b.Y), ring: ring, at: int32(i), last: i == len(r)-2}
		if b.X < a.X {
			s.a, s.b = b, a
		}
		sides = append(sides, s)
	}
	return sides
}

// contacts calls do for every two sides that have a point in common that they
// should not, until it returns false.
func contacts(sides []side, do func(s, t side) bool) {
	slices.SortFunc(sides, func(s, t side) int {
		return cmp.Or(cmp.Compare(s.a.X, t.a.X), cmp.Compare(s.ring, t.ring), cmp.Compare(s.at, t.at))
	})
	var open []side
	for _, s := range sides {
		kept := open[:0]
		for _, t := range open {
			if t.b.X < s.a.X {
				continue
			}
			kept = append(kept, t)
			if t.highY >= s.lowY && s.highY >= t.lowY && s.meets(t) && !do(s, t) {
				return
			}
		}
		open = append(kept, s)
	}
}

// meets says whether two sides have a point in common that they should not.
func (s side) meets(t side) bool {
	if s.ring == t.ring {
		if d := s.at - t.at; d == 1 || d == -1 || s.last && t.at == 0 || t.last && s.at == 0 {
			return s.foldsOnto(t)
		}
	}
	return plane.Turn(s.a, s.b, t.a)*plane.Turn(s.a, s.b, t.b) <= 0 &&
		plane.Turn(t.a, t.b, s.a)*plane.Turn(t.a, t.b, s.b) <= 0
}

// foldsOnto says whether two sides that share a corner lie on one another.
func (s side) foldsOnto(t side) bool {
	corner, p, q := s.a, s.b, t.b
	switch {
	case s.a == t.a:
	case s.a == t.b:
		q = t.a
	case s.b == t.a:
		corner, p = s.b, s.a
	default:
		corner, p, q = s.b, s.a, t.a
	}
	if plane.Turn(corner, p, q) != 0 {
		return false
	}
	// On one line: on one another if on the same hand of the corner.
	return (p.X > corner.X) == (q.X > corner.X) && (p.Y > corner.Y) == (q.Y > corner.Y)
}
