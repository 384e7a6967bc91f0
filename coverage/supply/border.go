package supply

import (
	"cmp"
	"slices"

	"drawbar/coverage"
	"drawbar/coverage/plane"
)

// Border is a boundary laid out for looking ahead.
type Border struct {
	of       coverage.Boundary
	plane    *plane.Plane
	polygons [][][]vec // rings, the first of each the exterior
}

// NewBorder lays a boundary out; nil where there is none or it cannot be: a field
// more than 300 km across.
func NewBorder(b coverage.Boundary) *Border {
	if len(b) == 0 || len(b[0]) == 0 || len(b[0][0]) == 0 {
		return nil
	}
	first := b[0][0][0]
	out := &Border{of: b, plane: plane.New(first[1], first[0])}
	for _, polygon := range b {
		rings := make([][]vec, 0, len(polygon))
		for _, ring := range polygon {
			places := make([]vec, 0, len(ring))
			for _, c := range ring {
				x, y, ok := out.plane.Forward(c[1], c[0])
				if !ok {
					return nil
				}
				places = append(places, vec{x, y})
			}
			rings = append(rings, places)
		}
		out.polygons = append(out.polygons, rings)
	}
	return out
}

// shows tells whether the border is that of a boundary.
func (b *Border) shows(o coverage.Boundary) bool {
	if b == nil {
		return len(o) == 0
	}
	return len(b.of) == len(o) && len(o) > 0 && &b.of[0] == &o[0]
}

// parcelGapM is how far parcels of one field may lie apart for a pass to go on.
const parcelGapM = 1

// ahead is the way from a place straight on to where it leaves the field. It is
// not known from a place outside.
func (b *Border) ahead(from spot) stretches {
	var fields, works []stretch
	for _, polygon := range b.polygons {
		var outer, all []float64
		for i, ring := range polygon {
			all = crossings(all, ring, from)
			if i == 0 {
				outer = slices.Clone(all)
			}
		}
		fields, works = inside(fields, outer), inside(works, all)
	}
	endM, in := 0.0, false
	byStart := func(a, b stretch) int { return cmp.Compare(a.fromM, b.fromM) }
	slices.SortFunc(fields, byStart)
	for _, f := range fields {
		if f.fromM == 0 || in && f.fromM <= endM+parcelGapM {
			endM, in = max(endM, f.toM), true
		}
	}
	if !in {
		return stretches{}
	}
	slices.SortFunc(works, byStart)
	out := stretches{known: true, endM: endM}
	for _, w := range works {
		out.add(stretch{w.fromM, min(w.toM, endM)})
	}
	return out
}

// crossings appends how far ahead the way from a place crosses a ring.
func crossings(dst []float64, ring []vec, from spot) []float64 {
	for i, b := range ring {
		a := ring[(i+len(ring)-1)%len(ring)]
		toA, toB := from.at.to(a), from.at.to(b)
		la, lb := from.forward.left(toA), from.forward.left(toB)
		if (la > 0) == (lb > 0) {
			continue
		}
		ua, ub := from.forward.dot(toA), from.forward.dot(toB)
		if u := ua + float64((ub-ua)*(la/(la-lb))); u > 0 {
			dst = append(dst, u)
		}
	}
	return dst
}

// inside appends the stretches inside a polygon, by all its crossings: an odd number
// of them lies ahead of a place inside.
func inside(dst []stretch, crossings []float64) []stretch {
	slices.Sort(crossings)
	at := 0.0
	in := len(crossings)%2 == 1
	for _, u := range crossings {
		if in {
			dst = append(dst, stretch{at, u})
		}
		at, in = u, !in
	}
	return dst
}
