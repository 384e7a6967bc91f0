package ground

import (
	"math/bits"
	"slices"

	"drawbar/coverage/plane"
)

// Within is the covered ground inside a polygon with holes: rings of corners,
// closed or not, of which a place is inside where it is inside an odd number.
// Corners more than 1,000 km from the first quad are taken to be at that
// distance.
func (s *Set) Within(rings [][]plane.Coord) Area {
	if !s.started {
		return 0
	}
	firstRow := s.firstPage * pageRows
	endRow := firstRow + int64(len(s.pages))*pageRows
	var sides []longEdge
	for _, ring := range rings {
		for i, b := range ring {
			a := ring[(i+len(ring)-1)%len(ring)]
			if e, ok := newLongEdge(s.frame.far(a), s.frame.far(b), firstRow, endRow); ok {
				sides = append(sides, e)
			}
		}
	}
	slices.SortStableFunc(sides, func(a, b longEdge) int { return int(a.row - b.row) })
	var (
		sum    int64
		active []longEdge
		cuts   []int64
	)
	for n, p := range s.pages {
		if p == nil {
			continue
		}
		for i := range p.covered {
			row := firstRow + int64(n)*pageRows + int64(i)
			for len(sides) > 0 && sides[0].row <= row {
				active = append(active, sides[0])
				sides = sides[1:]
			}
			active = slices.DeleteFunc(active, func(e longEdge) bool { return e.end <= row })
			cuts = cuts[:0]
			for _, e := range active {
				cuts = append(cuts, e.crossing(row))
			}
			slices.Sort(cuts)
			sum += inside(p.covered[i].s, cuts)
		}
	}
	return lengthArea(sum)
}

// inside is the length of the spans between the first and second cut, the third
// and fourth, and so on.
func inside(s []span, cuts []int64) (sum int64) {
	for len(s) > 0 && len(cuts) > 1 {
		if lo, hi := max(int64(s[0].lo), cuts[0]), min(int64(s[0].hi), cuts[1]); lo < hi {
			sum += hi - lo
		}
		if int64(s[0].hi) < cuts[1] {
			s = s[1:]
		} else {
			cuts = cuts[2:]
		}
	}
	return sum
}

// farReach is where corners of a boundary are held: 1,000 km.
const farReach = 1_000_000 * plane.UnitsPerM

// far turns a place into the frame, held within farReach of its origin.
func (f frame) far(c plane.Coord) point {
	hold := func(v, origin int64) int64 {
		return min(max(v, origin-farReach), origin+farReach)
	}
	x, y := hold(c.X, f.origin.X)-f.origin.X, hold(c.Y, f.origin.Y)-f.origin.Y
	return point{x: fixedSum(f.cos, x, f.sin, y), y: fixedSum(f.cos, y, -f.sin, x)}
}

// fixedSum is (a x + b y) / 2^30, each product rounded by itself, for numbers
// whose products may not fit 64 bits.
func fixedSum(a, x, b, y int64) int64 { return fixedProduct(a, x) + fixedProduct(b, y) }

func fixedProduct(a, x int64) int64 {
	hi, lo := bits.Mul64(magnitude(a), magnitude(x))
	lo, carry := bits.Add64(lo, 1<<(fixedBits-1), 0)
	v := int64((hi+carry)<<(64-fixedBits) | lo>>fixedBits)
	if (a < 0) != (x < 0) {
		return -v
	}
	return v
}

// longEdge is a side of a boundary: like edge, for sides of any length.
type longEdge struct {
	low, high point
	row, end  int64
}

func newLongEdge(a, b point, firstRow, endRow int64) (longEdge, bool) {
	if a.y > b.y {
		a, b = b, a
	}
	e := longEdge{low: a, high: b, row: max(rowAbove(a.y), firstRow), end: min(rowAbove(b.y), endRow)}
	return e, e.row < e.end
}

// crossing is where the side crosses a row, to the nearest step.
func (e longEdge) crossing(row int64) int64 {
	dx, dy := e.high.x-e.low.x, e.high.y-e.low.y
	// share rounds halves up in magnitude; both ways it stays within the side.
	part := int64(share(magnitude(dx), uint64(rowCentre(row)-e.low.y), uint64(dy)))
	if dx < 0 {
		part = -part
	}
	return e.low.x + part
}
