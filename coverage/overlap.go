package coverage

import (
	"math"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

const (
	wayCellSteps = 2 * plane.UnitsPerM // ways are kept by cells of 2 m
	wayBlock     = 32                  // in blocks of so many by so many
	wayMinSteps  = plane.UnitsPerM     // ground is looked at every metre of way
	passGapSteps = plane.UnitsPerM     // further on without work a new pass begins
)

// way is a direction, 127 steps long.
type way struct{ x, y int8 }

// wayCell is which pass worked a cell last, and how, and the one before it.
type wayCell struct {
	pass         uint16
	last, before way
}

type wayKey struct{ x, y int64 }

// overlaps sorts the overlap of an operation by cause.
type overlaps struct {
	by      [OverlapCauses]ground.Area
	waiting ground.Area  // since from, not sorted yet
	latest  OverlapCause // of what was sorted last
	from    [2]plane.Coord
	last    [2]plane.Coord // where the bar was left
	pass    uint16
	along   plane.Coord // way with which the pass began
	open    bool        // from and last are set
	blocks  map[wayKey]*[wayBlock * wayBlock]wayCell
}

// add takes in that the bar went from one place to another with the sections of
// runs on, and that so much of the ground was worked before, which waits on the
// ground for its cause.
func (o *overlaps) add(on *ground.Set, from, to []plane.Coord, runs []run, again ground.Area) {
	a, b := ends(from), ends(to)
	if o.open && distance(centre(o.last), centre(a)) > passGapSteps {
		o.sort(on, o.last, nil, nil)
		o.open = false
	}
	if !o.open {
		o.open, o.from = true, a
		o.pass++
		o.along = plane.Coord{}
	}
	o.waiting += again
	o.last = b
	if distance(centre(o.from), centre(b)) >= wayMinSteps {
		o.sort(on, b, to, runs)
	}
}

// sort gives what has been waiting to a cause, and marks the cells under the bar.
func (o *overlaps) sort(on *ground.Set, now [2]plane.Coord, bar []plane.Coord, runs []run) {
	step := centre(now).Sub(centre(o.from))
	before, after := o.from[1].Sub(o.from[0]), now[1].Sub(now[0])
	course, ok := newWay(step)
	if !ok {
		return
	}
	if o.along == (plane.Coord{}) || bends(o.along, step) {
		if o.along != (plane.Coord{}) {
			o.pass++
		}
		o.along = step
	}
	same, across := o.mark(bar, runs, course)
	switch {
	case o.waiting == 0:
	case turning(before, after, step):
		o.latest = OverlapHeadland
	case same == 0 && across == 0:
		if bar != nil {
			o.latest = OverlapHeadland
		}
	case across > same:
		o.latest = OverlapSections
	default:
		o.latest = OverlapBetweenPasses
	}
	o.by[o.latest] += o.waiting
	on.Settle(ground.Cause(o.latest))
	o.waiting, o.from = 0, now
}

// mark writes the course into the cells under the sections that are on and counts
// how many places were worked by earlier passes along and across it.
func (o *overlaps) mark(bar []plane.Coord, runs []run, course way) (same, across int) {
	for _, r := range runs {
		a, b := bar[r.lo], bar[r.hi]
		n := distance(a, b)/plane.UnitsPerM + 1
		for i := int64(0); i <= n; i++ {
			c := o.cell(plane.Coord{X: a.X + (b.X-a.X)*i/n, Y: a.Y + (b.Y-a.Y)*i/n})
			if c.pass != o.pass {
				c.before, c.pass = c.last, o.pass
			}
			c.last = course
			switch {
			case c.before == way{}:
			case c.before.across(course):
				across++
			default:
				same++
			}
		}
	}
	return same, across
}

func (o *overlaps) cell(at plane.Coord) *wayCell {
	x, y := floorDiv(at.X, wayCellSteps), floorDiv(at.Y, wayCellSteps)
	key := wayKey{floorDiv(x, wayBlock), floorDiv(y, wayBlock)}
	block := o.blocks[key]
	if block == nil {
		if o.blocks == nil {
			o.blocks = map[wayKey]*[wayBlock * wayBlock]wayCell{}
		}
		block = new([wayBlock * wayBlock]wayCell)
		o.blocks[key] = block
	}
	return &block[(y-key.y*wayBlock)*wayBlock+x-key.x*wayBlock]
}

func floorDiv(n, d int64) int64 {
	q := n / d
	if n < q*d {
		q--
	}
	return q
}

func ends(bar []plane.Coord) [2]plane.Coord { return [2]plane.Coord{bar[0], bar[len(bar)-1]} }

func centre(bar [2]plane.Coord) plane.Coord {
	return plane.Coord{X: (bar[0].X + bar[1].X) / 2, Y: (bar[0].Y + bar[1].Y) / 2}
}

// distance is that of two places, in steps.
func distance(a, b plane.Coord) int64 {
	x, y := float64(b.X-a.X), float64(b.Y-a.Y)
	return int64(math.Sqrt(float64(x*x) + float64(y*y)))
}

// turning says whether the bar went round within twice its width on the way step.
func turning(before, after, step plane.Coord) bool {
	cross, dot := products(before, after)
	if dot <= 0 {
		return true
	}
	width := math.Sqrt(length2(before)) * math.Sqrt(length2(after))
	angle := math.Abs(cross) / width // its sine
	return math.Sqrt(length2(step)) < float64(angle*2)*math.Sqrt(width)
}

// bends says whether two ways differ by more than 45 degrees.
func bends(a, b plane.Coord) bool {
	cross, dot := products(a, b)
	return dot <= math.Abs(cross)
}

func products(a, b plane.Coord) (cross, dot float64) {
	ax, ay, bx, by := float64(a.X), float64(a.Y), float64(b.X), float64(b.Y)
	return float64(ax*by) - float64(ay*bx), float64(ax*bx) + float64(ay*by)
}

func length2(a plane.Coord) float64 {
	_, l := products(a, a)
	return l
}

func newWay(step plane.Coord) (way, bool) {
	l := math.Sqrt(length2(step))
	if l == 0 {
		return way{}, false
	}
	return way{int8(math.Round(float64(127*float64(step.X)) / l)), int8(math.Round(float64(127*float64(step.Y)) / l))}, true
}

// across says whether two ways differ by more than 30 degrees, either way.
func (w way) across(o way) bool {
	cross := int(w.x)*int(o.y) - int(w.y)*int(o.x)
	return cross > 127*127/2 || cross < -127*127/2
}
