package ground

import (
	"math"

	"drawbar/coverage/plane"
)

// Closing is the outline of the covered ground with everything filled that a disc
// of the given width cannot enter from outside: gaps between passes, notches. No
// side of it is further than tolerance from the outline, corners that it can do
// without are left out. Pieces, and holes, smaller than a square of the width are
// dropped. Lengths are steps of 0.1 mm.
//
// It makes a field's boundary out of work that covered all of it.
func (s *Set) Closing(width, tolerance int64) []Polygon {
	k := NewSkips(s, SkipRule{Width: width})
	k.Update()
	polygons := outlineOf(s.frame, func(slit int32) *stack { return k.closed(slit) })
	least := areaOfSquare(min(max(width, 0), maxSkipWidth))
	kept := polygons[:0]
	for _, p := range polygons {
		if (Polygon{p[0]}).Area() < least {
			continue
		}
		rings := p[:1]
		for _, hole := range p[1:] {
			if -(Polygon{hole}).Area() >= least {
				rings = append(rings, hole)
			}
		}
		kept = append(kept, rings)
	}
	return Simplify(kept, tolerance)
}

// Simplify leaves out the corners that polygons can do without: no side is further
// than tolerance, steps of 0.1 mm, from what it stands for. Leaving out corners can
// make sides cross: then fewer are left out.
func Simplify(polygons []Polygon, tolerance int64) []Polygon {
	for ; tolerance > 0; tolerance /= 2 {
		if simple := simplified(polygons, tolerance); !anyCrossing(simple) {
			return simple
		}
	}
	return polygons
}

func areaOfSquare(side int64) Area { return Area(2 * side * side) }

// closed is the covered ground and what is left over together, row by row.
func (k *Skips) closed(slit int32) *stack {
	l := &stack{pitch: rowHeight, base: rowCentre(k.set.firstPage * pageRows)}
	var row []span
	for n, p := range k.set.pages {
		for i := range int64(pageRows) {
			height := int64(n)*pageRows + i
			var covered []span
			if p != nil {
				covered = p.covered[i].s
			}
			row = row[:0]
			left := k.leftOver(k.set.firstPage*pageRows + height)
			for len(covered) > 0 || len(left) > 0 {
				var next span
				if len(left) == 0 || len(covered) > 0 && covered[0].lo < left[0].lo {
					next, covered = covered[0], covered[1:]
				} else {
					next, left = span{left[0].lo, left[0].hi}, left[1:]
				}
				if m := len(row); m > 0 && row[m-1].hi >= next.lo {
					row[m-1].hi = max(row[m-1].hi, next.hi)
				} else {
					row = append(row, next)
				}
			}
			if len(row) > 0 {
				for _, v := range row {
					l.area += lengthArea(int64(v.hi) - int64(v.lo))
				}
				l.push(height, row, slit)
			}
		}
	}
	return l.ready()
}

// leftOver are the runs that were left over on a row.
func (k *Skips) leftOver(row int64) []skipRun {
	number, _ := floorDiv(row, bandRows)
	at := number - k.firstBand
	if at < 0 || at >= int64(len(k.bands)) || k.bands[at] == nil {
		return nil
	}
	runs := k.bands[at].runs
	lo := 0
	for hi := len(runs); lo < hi; {
		if mid := (lo + hi) / 2; int64(runs[mid].row) < row {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	end := lo
	for end < len(runs) && int64(runs[end].row) == row {
		end++
	}
	return runs[lo:end]
}

// simplified leaves out corners that lie within tolerance of the side that is put
// in their place (Douglas and Peucker 1973).
func simplified(polygons []Polygon, tolerance int64) []Polygon {
	out := make([]Polygon, 0, len(polygons))
	for _, p := range polygons {
		rings := make(Polygon, 0, len(p))
		for _, r := range p {
			rings = append(rings, simpleRing(r, float64(tolerance)))
		}
		out = append(out, rings)
	}
	return out
}

// simpleRing simplifies a closed ring between its first corner and the one
// farthest from it, which stay; so does the ring where it would fall together.
func simpleRing(r []plane.Coord, tolerance float64) []plane.Coord {
	far, most := 0, -1.0
	for i, c := range r {
		if d := lengthOf(c.Sub(r[0])); d > most {
			far, most = i, d
		}
	}
	keep := make([]bool, len(r))
	keep[0], keep[far], keep[len(r)-1] = true, true, true
	type stretch struct{ from, to int }
	for open := []stretch{{0, far}, {far, len(r) - 1}}; len(open) > 0; {
		s := open[len(open)-1]
		open = open[:len(open)-1]
		a, b := r[s.from], r[s.to]
		at, worst := 0, tolerance
		for i := s.from + 1; i < s.to; i++ {
			if d := pointDistance(point{r[i].X, r[i].Y}, point{a.X, a.Y}, point{b.X, b.Y}); d > worst {
				at, worst = i, d
			}
		}
		if at > 0 {
			keep[at] = true
			open = append(open, stretch{s.from, at}, stretch{at, s.to})
		}
	}
	out := make([]plane.Coord, 0, len(r))
	for i, k := range keep {
		if k {
			out = append(out, r[i])
		}
	}
	if len(out) < 4 {
		return r
	}
	return out
}

func lengthOf(c plane.Coord) float64 {
	x, y := float64(c.X), float64(c.Y)
	return math.Sqrt(float64(x*x) + float64(y*y))
}
