package tiles

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/maptile"

	"drawbar/coverage/plane"
)

// layerID is one of the layers.
type layerID uint8

const (
	layerSwaths layerID = iota
	layerCovered
	layerOverlap
	layerSkips
	layerMarks
	layerBoundary
	layerCount
)

func (l layerID) String() string {
	return [layerCount]string{"swaths", "covered", "overlap", "skips", "marks", "boundary"}[l]
}

// ofOperation tells whether the layer shows one operation.
func (l layerID) ofOperation() bool { return l < layerMarks }

// area is a box of the world in Web Mercator: x from 0 at 180 degrees west to 1, y
// from 0 in the north to 1.
type area struct{ x0, y0, x1, y1 float64 }

// meets tells whether two boxes touch, on whichever turn of the world.
func (a area) meets(b area) bool {
	if a.y0 > b.y1 || b.y0 > a.y1 {
		return false
	}
	apart := math.Abs(math.Remainder((a.x0+a.x1)/2-(b.x0+b.x1)/2, 1))
	return apart <= (a.x1-a.x0+b.x1-b.x0)/2
}

// areaOf is a box of a plane, or a little more.
func areaOf(p *plane.Plane, lo, hi plane.Coord) area {
	_, lonZero := p.Origin()
	a := area{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for i := range int64(9) {
		lat, lon := p.InverseCoord(plane.Coord{X: lo.X + (hi.X-lo.X)*(i%3)/2, Y: lo.Y + (hi.Y-lo.Y)*(i/3)/2})
		at := maptile.Fraction(orb.Point{lonZero + math.Remainder(lon-lonZero, 360), lat}, 0)
		if lat < -85 {
			at[1] = 1
		}
		a = area{math.Min(a.x0, at[0]), math.Min(a.y0, at[1]), math.Max(a.x1, at[0]), math.Max(a.y1, at[1])}
	}
	more := (a.x1 - a.x0 + a.y1 - a.y0) / 128
	return area{a.x0 - more, a.y0 - more, a.x1 + more, a.y1 + more}
}

// tileArea is all on which a tile's content depends.
func tileArea(t maptile.Tile) area {
	const beside = 0.125 // buffer and what is merged beyond it, of a tile's width
	n := float64(uint32(1) << t.Z)
	x, y := float64(t.X), float64(t.Y)
	return area{(x - beside) / n, (y - beside) / n, (x + 1 + beside) / n, (y + 1 + beside) / n}
}

// change is a box of some layers that a revision shows otherwise than the one
// before.
type change struct {
	revision  uint64
	operation int // 0: whichever
	layers    uint8
	all       bool // everywhere
	area      area
}

// changes are the latest changes in order. A copy may be read while more are added.
type changes struct {
	list  []change
	since uint64 // of revisions up to this one nothing is known
}

const keepChanges = 4096

func (c *changes) add(v change) {
	if len(c.list) >= 2*keepChanges {
		half := c.list[len(c.list)-keepChanges:]
		c.since = c.list[len(c.list)-keepChanges-1].revision
		c.list = append(make([]change, 0, 2*keepChanges), half...)
	}
	c.list = append(c.list, v)
}

// touch tells whether a tile of a revision may have changed since.
func (c *changes) touch(revision uint64, l layerID, operation int, a area) bool {
	if revision < c.since {
		return true
	}
	for i := len(c.list) - 1; i >= 0 && c.list[i].revision > revision; i-- {
		v := &c.list[i]
		if v.layers&(1<<l) != 0 && (v.operation == 0 || v.operation == operation) && (v.all || v.area.meets(a)) {
			return true
		}
	}
	return false
}
