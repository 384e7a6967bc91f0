package ground

import (
	"cmp"
	"math"
	"slices"

	"drawbar/coverage/plane"
)

// Part is one skip: ground in one piece, but for gaps of up to 0.1 m. It never
// changes.
type Part struct {
	frame        frame
	key          uint64
	length       int64
	runs         []skipRun // by row and from left to right
	lo, hi       int32
	rowLo, rowHi int32
}

// Area is the part's area.
func (p *Part) Area() Area { return lengthArea(p.length) }

// Outline is its shape: one polygon, more where gaps divide it.
func (p *Part) Outline() []Polygon {
	return outlineOf(p.frame, func(slit int32) *stack {
		l := &stack{pitch: rowHeight, base: rowCentre(int64(p.rowLo)), area: p.Area()}
		var row []span
		for i, r := range p.runs {
			row = append(row, span{r.lo, r.hi})
			if i+1 == len(p.runs) || p.runs[i+1].row != r.row {
				l.push(int64(r.row-p.rowLo), row, slit)
				row = row[:0]
			}
		}
		return l.ready()
	})
}

// Centroid is the centre of its area, which may lie outside.
func (p *Part) Centroid() plane.Coord { return p.frame.plane(p.centroid()) }

func (p *Part) centroid() point {
	var x, y float64
	for _, r := range p.runs {
		length := float64(r.hi) - float64(r.lo)
		x += float64(length * (float64(int64(r.lo)+int64(r.hi)-2*int64(p.lo)) / 2))
		y += float64(length * float64(r.row-p.rowLo))
	}
	all := float64(p.length)
	return point{
		x: int64(p.lo) + int64(math.Round(x/all)),
		y: rowCentre(int64(p.rowLo)) + int64(math.Round(float64(y*rowHeight)/all)),
	}
}

// Position is a place inside it, near its centre.
func (p *Part) Position() plane.Coord {
	c := p.centroid()
	var (
		best  point
		least = int64(math.MaxInt64)
	)
	for _, r := range p.runs {
		at := point{x: min(max(c.x, int64(r.lo)), int64(r.hi)), y: rowCentre(int64(r.row))}
		dx, dy := at.x-c.x, at.y-c.y
		if d := dx*dx + dy*dy; d < least {
			least = d
			if dx != 0 { // not at the very end of the run
				at.x = (int64(r.lo) + int64(r.hi)) / 2
			}
			best = at
		}
	}
	return p.frame.plane(best)
}

// WidthM is the part's greatest width: the diameter of the largest circle inside
// it whose centre is in the middle of a run, to some 5 cm.
func (p *Part) WidthM() float64 {
	starts := p.rowIndex()
	best := int64(rowHeight * rowHeight / 4) // squared radius
	for i := range p.runs {
		r := &p.runs[i]
		half := (int64(r.hi) - int64(r.lo)) / 2
		if half*half <= best {
			continue
		}
		best = max(best, p.clearance(starts, r, half*half, best))
	}
	return float64(2*root(best)) / plane.UnitsPerM
}

// clearance is the squared distance from the middle of a run to where the part
// ends, at most limit; anything up to enough once it is no more than that.
func (p *Part) clearance(starts []int32, r *skipRun, limit, enough int64) int64 {
	x := int32((int64(r.lo) + int64(r.hi)) / 2)
	for d := int64(1); ; d++ {
		dy := d*rowHeight - rowHeight/2 // to the edge of that row
		if dy*dy >= limit {
			return limit
		}
		for _, row := range [2]int64{int64(r.row) - d, int64(r.row) + d} {
			in := int64(-1)
			if i := row - int64(p.rowLo); i >= 0 && i < int64(len(starts)-1) {
				for _, o := range p.runs[starts[i]:starts[i+1]] {
					if o.lo <= x && x < o.hi {
						in = min(int64(x)-int64(o.lo), int64(o.hi)-int64(x))
					}
				}
			}
			if in < 0 {
				limit = min(limit, dy*dy)
			} else {
				limit = min(limit, in*in+dy*dy)
			}
		}
		if limit <= enough {
			return limit
		}
	}
}

// rowIndex is where each row's runs start, and one past the end.
func (p *Part) rowIndex() []int32 {
	starts := make([]int32, 0, p.rowHi-p.rowLo+2)
	n := 0
	for row := p.rowLo; row <= p.rowHi; row++ {
		starts = append(starts, int32(n))
		for n < len(p.runs) && p.runs[n].row == row {
			n++
		}
	}
	return append(starts, int32(n))
}

// LengthM is how far apart its ends are, as good as farthest.
func (p *Part) LengthM() float64 {
	from := point{x: int64(p.runs[0].lo), y: rowCentre(int64(p.runs[0].row))}
	from, _ = p.farthest(from)
	_, d := p.farthest(from)
	return float64(root(d)) / plane.UnitsPerM
}

func (p *Part) farthest(from point) (best point, most int64) {
	for _, r := range p.runs {
		for _, x := range [2]int32{r.lo, r.hi} {
			at := point{x: int64(x), y: rowCentre(int64(r.row))}
			dx, dy := at.x-from.x, at.y-from.y
			if d := dx*dx + dy*dy; d > most {
				best, most = at, d
			}
		}
	}
	return best, most
}

// Overlaps says whether two parts have ground in common.
func (p *Part) Overlaps(o *Part) bool {
	if p == o {
		return true
	}
	if p.frame != o.frame {
		return p.meets(o) || o.meets(p)
	}
	if p.rowHi < o.rowLo || o.rowHi < p.rowLo || p.hi <= o.lo || o.hi <= p.lo {
		return false
	}
	for i, j := 0, 0; i < len(p.runs) && j < len(o.runs); {
		a, b := &p.runs[i], &o.runs[j]
		switch {
		case a.row < b.row || a.row == b.row && a.hi <= b.lo:
			i++
		case b.row < a.row || b.hi <= a.lo:
			j++
		default:
			return true
		}
	}
	return false
}

func (p *Part) has(c plane.Coord) bool {
	at := p.frame.far(c)
	row, _ := floorDiv(at.y, rowHeight)
	i, _ := slices.BinarySearchFunc(p.runs, row, func(r skipRun, row int64) int { return cmp.Compare(int64(r.row), row) })
	for ; i < len(p.runs) && int64(p.runs[i].row) == row; i++ {
		if r := &p.runs[i]; int64(r.lo) <= at.x && at.x < int64(r.hi) {
			return true
		}
	}
	return false
}

// meets says whether any of up to 256 places of p lies in o.
func (p *Part) meets(o *Part) bool {
	for i := 0; i < len(p.runs); i += len(p.runs)/samples + 1 {
		if o.has(p.middle(i)) {
			return true
		}
	}
	return false
}

// middle is the middle of a run.
func (p *Part) middle(i int) plane.Coord {
	r := &p.runs[i]
	return p.frame.plane(point{x: (int64(r.lo) + int64(r.hi)) / 2, y: rowCentre(int64(r.row))})
}

// samples is how many places of a part are looked at where a share will do.
const samples = 256

// CoveredShare is how much of the part the set covers, from 0 to 1, by up to 256
// places in it.
func (p *Part) CoveredShare(s *Set) float64 {
	step := len(p.runs)/samples + 1
	n, in := 0, 0
	for i := 0; i < len(p.runs); i += step {
		n++
		if s.Covers(p.middle(i)) {
			in++
		}
	}
	return float64(in) / float64(n)
}

// Covers says whether a place is covered.
func (s *Set) Covers(c plane.Coord) bool {
	if !s.started {
		return false
	}
	at := s.frame.far(c)
	row, _ := floorDiv(at.y, rowHeight)
	for _, v := range s.coveredRow(row) {
		if int64(v.lo) <= at.x && at.x < int64(v.hi) {
			return true
		}
	}
	return false
}

// Within says whether the part comes within a distance, steps of 0.1 mm, of the
// line from a to b; to 0.3 m.
func (p *Part) Within(a, b plane.Coord, distance int64) bool {
	from, to := p.frame.far(a), p.frame.far(b)
	if rowCentre(int64(p.rowLo)) > max(from.y, to.y)+distance || rowCentre(int64(p.rowHi)) < min(from.y, to.y)-distance ||
		int64(p.lo) > max(from.x, to.x)+distance || int64(p.hi) < min(from.x, to.x)-distance {
		return false
	}
	for i := range p.runs {
		r := &p.runs[i]
		y := rowCentre(int64(r.row))
		if r.row%5 != 0 && r.row != p.rowLo && r.row != p.rowHi || y < min(from.y, to.y)-distance || y > max(from.y, to.y)+distance ||
			int64(r.hi) < min(from.x, to.x)-distance || int64(r.lo) > max(from.x, to.x)+distance {
			continue
		}
		if lineDistance(point{int64(r.lo), y}, point{int64(r.hi), y}, from, to) <= float64(distance) {
			return true
		}
	}
	return false
}

// lineDistance is the distance of the lines a-b and c-d in steps.
func lineDistance(a, b, c, d point) float64 {
	side := func(a, b, c point) float64 {
		return float64(float64(b.x-a.x)*float64(c.y-a.y)) - float64(float64(b.y-a.y)*float64(c.x-a.x))
	}
	if (side(a, b, c) > 0) != (side(a, b, d) > 0) && (side(c, d, a) > 0) != (side(c, d, b) > 0) {
		return 0
	}
	return min(pointDistance(c, a, b), pointDistance(d, a, b), pointDistance(a, c, d), pointDistance(b, c, d))
}

// pointDistance is the distance of p from the line a-b.
func pointDistance(p, a, b point) float64 {
	ux, uy := float64(b.x-a.x), float64(b.y-a.y)
	vx, vy := float64(p.x-a.x), float64(p.y-a.y)
	if whole := float64(ux*ux) + float64(uy*uy); whole > 0 {
		t := max(0, min(1, (float64(ux*vx)+float64(uy*vy))/whole))
		vx, vy = vx-float64(ux*t), vy-float64(uy*t)
	}
	return math.Sqrt(float64(vx*vx) + float64(vy*vy))
}
