package coverage

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// Joint is several operations as one: of one session or of several, on different
// days, with different machines. Ground that two of them worked is overlap.
//
//	var g coverage.Gathering
//	setup.OnGround = g.Add                     // replay each session with one
//	parts = append(parts, g.Part(name, op))    // then the operations that belong together
//	j, err := coverage.Join(parts, nil)
//
// The order of the parts does not matter: they are laid in the order of their
// start. Gross is the sum of what each counts, to the last digit; covered ground,
// overlap and skips come out as if one session had done all the work, to within the
// rounding of corners to 0.1 mm where planes differ.
type Joint struct {
	Field, Name string
	Start, End  time.Time // first and last moment worked
	Parts       []Part    // in the order of their start
	Products    []ProductSum
	Between     ground.Area // overlap of parts with one another; the rest is within parts

	op *Operation
}

// Join joins operations. boundary nil stands for that of the part that ended last
// among those that have one. The error says why parts do not go together.
func Join(parts []Part, boundary *Boundary) (*Joint, error) {
	j := &Joint{op: &Operation{worked: true}}
	for _, p := range parts {
		if len(p.laid.codes) > 0 {
			j.Parts = append(j.Parts, p)
		}
	}
	if len(j.Parts) == 0 {
		return nil, errors.New("none of the operations has laid any ground: there is nothing to join")
	}
	slices.SortStableFunc(j.Parts, Part.compare)
	if err := j.describe(boundary); err != nil {
		return nil, err
	}
	if err := j.lay(); err != nil {
		return nil, err
	}
	return j, nil
}

// compare orders parts by their start. Those that nothing tells apart are the same.
func (p Part) compare(o Part) int {
	return cmp.Or(p.Start.Compare(o.Start), p.End.Compare(o.End), cmp.Compare(p.Session, o.Session),
		cmp.Compare(p.Number, o.Number), cmp.Compare(p.Gross, o.Gross), bytes.Compare(p.laid.codes, o.laid.codes),
		slices.CompareFunc(p.laid.steps, o.laid.steps, func(a, b step) int {
			return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y))
		}))
}

// describe works out what does not need the ground.
func (j *Joint) describe(boundary *Boundary) error {
	first := &j.Parts[0]
	o := j.op
	o.Plane, j.Start = first.plane, first.Start
	var bounded time.Time
	for i := range j.Parts {
		p := &j.Parts[i]
		switch {
		case j.Field == "":
			j.Field = p.Field
		case p.Field != "" && p.Field != j.Field:
			return fmt.Errorf("operations of different fields (%s, %s) cannot be joined: correct the field of one of them first", j.Field, p.Field)
		}
		if j.Name == "" {
			j.Name = p.Name
		}
		if p.End.After(j.End) {
			j.End = p.End
		}
		if len(p.Boundary) > 0 && !p.End.Before(bounded) {
			o.Boundary, bounded = p.Boundary, p.End
		}
		// Ground is too narrow for a pass where the narrowest machine cannot go.
		if p.rule.barM > 0 && (o.skipRule.barM == 0 || p.rule.narrower(o.skipRule)) {
			o.skipRule = p.rule
		}
		o.Gross += p.Gross
		o.Refused += p.refused + p.laid.lost
		j.Products = addProductSums(j.Products, p.Products)
	}
	if boundary != nil {
		o.Boundary = *boundary
	}
	o.Field, o.Name, o.Start, o.End = j.Field, j.Name, j.Start, j.End
	return nil
}

// narrower orders rules by the narrowest pass.
func (r skipRule) narrower(o skipRule) bool {
	return cmp.Or(cmp.Compare(r.widthM, o.widthM), cmp.Compare(r.barM, o.barM), cmp.Compare(r.leastM2, o.leastM2)) < 0
}

// lay puts the ground of all parts on one index.
func (j *Joint) lay() error {
	set, own := ground.New(), ground.Area(0)
	for i := range j.Parts {
		p := &j.Parts[i]
		out := p.laid.lost
		to := reproject(p.plane, j.op.Plane, &out)
		p.laid.quads(to, func(q ground.Quad) { set.Add(q) })
		if out > 0 || set.Refused() > 0 {
			return fmt.Errorf("the operation of %s lies too far from the first one, of %s: operations within 100 km can be joined",
				p.Start.UTC().Format(time.RFC3339), j.Start.UTC().Format(time.RFC3339))
		}
		own += p.Overlap
	}
	j.op.ground.sets, j.op.ground.seen = []layer{{set, wholeBit}}, wholeBit
	// The parts were counted on scanlines of their own: a hair less than nothing is none.
	j.Between = max(0, j.op.Overlap()-own)
	return nil
}

// reproject is the way from one plane to another; out counts the places it does
// not reach.
func reproject(from, to *plane.Plane, out *int) func(plane.Coord) plane.Coord {
	lat, lon := from.Origin()
	if toLat, toLon := to.Origin(); lat == toLat && lon == toLon {
		return func(c plane.Coord) plane.Coord { return c }
	}
	return func(c plane.Coord) plane.Coord {
		at, ok := to.ForwardCoord(from.InverseCoord(c))
		if !ok {
			*out++
		}
		return at
	}
}

// Gross is the ground worked, counted as often as it was; the exact sum of the parts'.
func (j *Joint) Gross() ground.Area { return j.op.Gross }

// Covered is the ground worked at least once.
func (j *Joint) Covered() ground.Area { return j.op.Covered() }

// Overlap is the ground worked again: gross minus covered.
func (j *Joint) Overlap() ground.Area { return j.op.Overlap() }

// Ground is the index of what was covered, on Plane. It must not be changed.
func (j *Joint) Ground() *ground.Set { return j.op.Ground() }

// Plane is that of every coordinate of the Joint: the plane of its first part.
func (j *Joint) Plane() *plane.Plane { return j.op.Plane }

// FieldAreaM2 is the area inside the boundary; false without one.
func (j *Joint) FieldAreaM2() (float64, bool) { return j.op.FieldAreaM2() }

// OutsideM2 is the covered ground outside the boundary; false without one.
func (j *Joint) OutsideM2() (float64, bool) { return j.op.OutsideM2() }

// SkipM2 is the area of the skips: uncovered ground too narrow for a pass of any of
// the machines. False where no implement was known.
func (j *Joint) SkipM2() (float64, bool) { return j.op.SkipM2() }

// Skips are the skips of all the work, as they are; their Since is the end of it.
func (j *Joint) Skips() []Skip { return j.op.Skips() }

// RemainingM2 is the uncovered ground inside the boundary that is no skip; false
// without a boundary or an implement.
func (j *Joint) RemainingM2() (float64, bool) { return j.op.RemainingM2() }
