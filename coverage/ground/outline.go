package ground

import (
	"slices"

	"drawbar/coverage/plane"
)

// Polygon is one piece of ground: its outer ring counter-clockwise, then its
// holes clockwise. Each ring is closed (its last corner is its first) and
// neither crosses nor touches itself or another.
type Polygon [][]plane.Coord

// Outline is the shape of the ground covered at least once (times 1) or at
// least twice (times 2); nil for any other number. Polygons are in the order of
// their lowest scanline.
//
// Run ends are joined from scanline to scanline by straight lines where one run
// follows one run, and squared off half way between scanlines elsewhere, so that
// the shape has the area of the scanlines; it is then smoothed within 1 cm, or
// less where that would change the area by more than 50 ppm. Slits and slivers
// thinner than a millimetre are left out. Of a view of one cause (Only) the shape
// is squared off where another cause's ground borders on it, so that the shapes of
// the causes do not overlap and together are that of all.
func (s *Set) Outline(times int) []Polygon {
	if times != 1 && times != 2 || !s.started {
		return nil
	}
	return outlineOf(s.frame, func(slit int32) *stack { return s.stack(times, slit) })
}

// outlineOf is the shape of a stack of runs, which stackOf makes without slits of
// a width.
func outlineOf(f frame, stackOf func(slit int32) *stack) []Polygon {
	// Rounding to the grid of the plane moves a corner by up to 0.07 mm, which
	// may cross the sides of a slit hardly wider. Where that happens narrower
	// slits have to go.
	for slit := int32(8); ; slit *= 4 {
		polygons := outlineWithout(f, slit, stackOf)
		if slit > maxSlit || !anyCrossing(polygons) {
			return polygons
		}
	}
}

const (
	// maxSlit ends the search: at 5 cm, wider than rounding can ever cross.
	maxSlit = 8 << (2 * 3)
	// maxSmoothing is how far a side may be moved along the scanlines to save
	// corners, 1 cm.
	maxSmoothing = 100
	// areaShare: smoothing may change the area by this share of it, 50 ppm.
	areaShare = 20_000
)

func outlineWithout(f frame, slit int32, stackOf func(slit int32) *stack) []Polygon {
	var o outline
	for play := int32(maxSmoothing); ; play /= 2 {
		o.trace(stackOf(slit), slit, play)
		polygons := o.polygons(f)
		off := o.lines.area
		for _, p := range polygons {
			off -= p.Area()
		}
		if magnitude(int64(off)) <= uint64(o.lines.area/areaShare) || play == 0 {
			return polygons
		}
	}
}

// Area is the area of the outer ring without its holes, exactly.
func (p Polygon) Area() (sum Area) {
	for _, r := range p {
		for i := 2; i < len(r); i++ {
			sum += Area(cross(r[0], r[i-1], r[0], r[i]))
		}
	}
	return sum
}

// outline is a shape being traced.
type outline struct {
	lines   *stack
	corners []corner
	next    []int32 // the corner that follows, with the ground on its left

	links   []link // scratch: of the runs of two lines, how they are joined
	tracing tracing
}

// corner is a corner of the shape in the frame. Corners 2i and 2i+1 are the
// left and right end of run i, on its scanline; those after them are half way
// between scanlines.
type corner struct {
	x, y int32 // steps of 0.1 mm; y in half scanlines above the lowest
	play int32 // how far x may move when it is smoothed
	run  int32 // a run of the same piece
}

// trace finds the rings of the shape, whose storage it uses again.
func (o *outline) trace(l *stack, slit, smoothing int32) {
	o.lines = l
	n := 2 * len(l.runs)
	o.corners = slices.Grow(o.corners[:0], n+n/8+16)[:n]
	o.next = slices.Grow(o.next[:0], n+n/8+16)[:n]
	clear(o.next)
	for line := range l.lines() {
		first, end := l.starts[line], l.starts[line+1]
		for i := first; i < end; i++ {
			r := l.runs[i]
			left, right := smoothing, smoothing
			if i > first {
				left = min(left, (r.lo-l.runs[i-1].hi-slit/2)/2)
			}
			if i+1 < end {
				right = min(right, (l.runs[i+1].lo-r.hi-slit/2)/2)
			}
			within := (r.hi - r.lo - slit/2) / 2
			if l.isSquare(i) {
				within = 0
			}
			y := int32(2 * l.heights[line])
			o.corners[2*i] = corner{x: r.lo, y: y, play: max(0, min(left, within)), run: i}
			o.corners[2*i+1] = corner{x: r.hi, y: y, play: max(0, min(right, within)), run: i}
		}
	}
	for line := range l.lines() {
		this := l.line(line)
		if line == 0 || l.heights[line-1] != l.heights[line]-1 {
			o.between(block{}, this, l.heights[line]-1)
		}
		above := block{}
		if line+1 < l.lines() && l.heights[line+1] == l.heights[line]+1 {
			above = l.line(line + 1)
		}
		o.between(this, above, l.heights[line])
	}
}

// tracing is storage for following rings.
type tracing struct {
	visited []bool
	kept    ring
	smooth  ring
	coords  []plane.Coord // of the rings found so far, one after the other
	rings   []traced
}

// traced is a ring found: its corners up to end, its piece.
type traced struct {
	end, piece int32
	hole       bool
}

// polygons follows the rings and puts holes into their outer rings.
func (o *outline) polygons(f frame) []Polygon {
	t := &o.tracing
	t.visited = slices.Grow(t.visited[:0], len(o.next))[:len(o.next)]
	clear(t.visited)
	t.coords, t.rings = t.coords[:0], t.rings[:0]
	var (
		outers int
		holes  map[int32][]int32 // of each piece, by number of the ring
	)
	// Every ring has a corner half way between scanlines: where it is lowest.
	for start := 2 * len(o.lines.runs); start < len(o.next); start++ {
		if t.visited[start] {
			continue
		}
		t.kept = t.kept[:0]
		for at := int32(start); !t.visited[at]; at = o.next[at] {
			t.visited[at] = true
			t.kept = append(t.kept, at)
		}
		from := len(t.coords)
		hole := o.doubleArea(t.kept) < 0
		t.smooth = o.smooth(t.smooth[:0], t.kept)
		if t.coords = o.onPlane(t.coords, f, t.smooth); len(t.coords)-from <= 3 && hole {
			t.coords = t.coords[:from]
			continue
		}
		piece := o.lines.piece(o.corners[start].run)
		if hole {
			if holes == nil {
				holes = map[int32][]int32{}
			}
			holes[piece] = append(holes[piece], int32(len(t.rings)))
		} else {
			outers++
		}
		t.rings = append(t.rings, traced{int32(len(t.coords)), piece, hole})
	}
	coords := slices.Clone(t.coords)
	ring := func(i int32) []plane.Coord {
		from, end := int32(0), t.rings[i].end
		if i > 0 {
			from = t.rings[i-1].end
		}
		return coords[from:end:end]
	}
	out := make([]Polygon, 0, outers)
	all := make([][]plane.Coord, 0, len(t.rings)) // polygon by polygon
	for i, r := range t.rings {
		outer := ring(int32(i))
		if r.hole || len(outer) <= 3 {
			continue
		}
		from := len(all)
		all = append(all, outer)
		for _, h := range holes[r.piece] {
			all = append(all, ring(h))
		}
		out = append(out, Polygon(all[from:len(all):len(all)]))
	}
	if len(out) == 0 {
		return nil
	}
	return out
}

// ring is a list of corners, by number.
type ring []int32

// doubleArea is twice the signed area of a ring, in half rows times steps.
func (o *outline) doubleArea(r ring) (sum int64) {
	before := o.corners[r[len(r)-1]]
	for _, i := range r {
		c := o.corners[i]
		// Taken from the ring's first corner, so that nothing overflows.
		base := o.corners[r[0]]
		sum += int64(before.x-base.x)*int64(c.y-base.y) - int64(c.x-base.x)*int64(before.y-base.y)
		before = c
	}
	return sum
}

// onPlane appends a ring on the plane, closed and without doubled corners.
func (o *outline) onPlane(out []plane.Coord, f frame, r ring) []plane.Coord {
	first := len(out)
	for _, i := range r {
		c := o.corners[i]
		p := f.plane(point{x: int64(c.x), y: o.lines.height(c.y)})
		if n := len(out); n == first || out[n-1] != p {
			out = append(out, p)
		}
	}
	if out[first] != out[len(out)-1] {
		out = append(out, out[first])
	}
	return out
}
