package coverage

import (
	"time"

	"drawbar/controller"
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// Operation is one job in one field. Its ground counts as covered, and as
// overlap, within the operation alone.
type Operation struct {
	Field    string
	Name     string
	Number   int          // from 1, in the order in which ground was laid; 0 before any was
	Plane    *plane.Plane // of every coordinate of the operation; nil before the first fix
	Boundary Boundary     // nil = not stated
	Products []*ProductUse
	Start    time.Time // first moment worked; before that, when it was opened
	End      time.Time // last moment worked; before that, when it was closed
	Gross    ground.Area
	Refused  int // quads too large to be one; not booked

	Crop           string // in force when ground was laid last; empty: not stated
	GrowthStage    int    // the same, BBCH; with HasGrowthStage
	HasGrowthStage bool
	WorkingNS      int64   // moving with a section on
	WorkedM        float64 // way worked

	people   people
	extent   extent
	ground   layers
	skips    skips
	overlaps overlaps
	together together
	skipRule skipRule   // by the implement that worked last
	tool     *Implement // that one
	worked   bool
}

// Boundary is a field's outline: polygons of rings of (longitude, latitude) in
// degrees WGS 84, the first ring of each the exterior, the others holes.
type Boundary [][][][2]float64

// Worked tells whether any ground was laid.
func (o *Operation) Worked() bool { return o.worked }

// Implement is the one that worked last, nil where none did.
func (o *Operation) Implement() *Implement { return o.tool }

// Overlap is the ground worked again: gross minus covered.
func (o *Operation) Overlap() ground.Area {
	set := o.Ground()
	if set == nil {
		return 0
	}
	return set.Gross() - set.Covered()
}

// Covered is the ground worked at least once.
func (o *Operation) Covered() ground.Area { return o.Gross - o.Overlap() }

// Ground is the index of what was covered, nil before any was. It belongs to
// the operation and must not be changed.
func (o *Operation) Ground() *ground.Set { return o.ground.of(wholeBit) }

// GroundOf is the same for one product, by its index in Products.
func (o *Operation) GroundOf(product int) *ground.Set {
	return o.ground.of(1 << min(product, maxProducts-1))
}

// use finds or opens the account of a product from a tank. unit is the
// dimension of its amount.
func (o *Operation) use(tank int, p Product, unit controller.Dim) int {
	for i, u := range o.Products {
		if u.Tank == tank && u.Product == p && u.Unit == unit {
			return i
		}
	}
	o.Products = append(o.Products, &ProductUse{Product: p, Tank: tank, Unit: unit})
	return len(o.Products) - 1
}

// FieldAreaM2 is the area inside the boundary, on the operation's plane; false
// without one.
func (o *Operation) FieldAreaM2() (float64, bool) {
	if len(o.Boundary) == 0 {
		return 0, false
	}
	at := o.Plane
	if at == nil {
		at = plane.New(o.Boundary[0][0][0][1], o.Boundary[0][0][0][0])
	}
	var total int64
	for _, polygon := range o.Boundary {
		for i, ring := range polygon {
			coords, ok := project(at, ring)
			if !ok {
				return 0, false
			}
			a := plane.Area2(coords)
			if a < 0 {
				a = -a
			}
			if i > 0 {
				a = -a
			}
			total += a
		}
	}
	return plane.AreaM2(total), true
}

// OutsideM2 is the covered ground outside the boundary; false without one.
func (o *Operation) OutsideM2() (float64, bool) {
	if len(o.Boundary) == 0 {
		return 0, false
	}
	set := o.Ground()
	if set == nil {
		return 0, true
	}
	var inside ground.Area
	for _, polygon := range o.Boundary {
		rings := make([][]plane.Coord, 0, len(polygon))
		for _, ring := range polygon {
			coords, ok := project(o.Plane, ring)
			if !ok {
				return 0, false
			}
			rings = append(rings, coords)
		}
		inside += set.Within(rings)
	}
	return max(0, (set.Covered() - inside).M2()), true
}

func project(p *plane.Plane, ring [][2]float64) ([]plane.Coord, bool) {
	coords := make([]plane.Coord, 0, len(ring))
	for _, c := range ring {
		at, ok := p.ForwardCoord(c[1], c[0])
		if !ok {
			return nil, false
		}
		coords = append(coords, at)
	}
	return coords, true
}
