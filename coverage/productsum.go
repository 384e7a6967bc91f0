package coverage

import (
	"slices"

	"drawbar/controller"
	"drawbar/coverage/ground"
)

// together is the ground of an operation by what was laid on it at once, so that
// ground on which two tanks laid the same product can be counted once.
type together struct {
	of   []mixture
	last int // where the latest was booked
}

// mixture is ground on which the same products were laid and the same of their
// rates and targets were known.
type mixture struct {
	laid, rated, targeted members
	gross                 ground.Area
}

// add books the area of a quad under what it carried.
func (t *together) add(carried []applied, a ground.Area) {
	var m mixture
	for _, c := range carried {
		if !c.some() {
			continue
		}
		bit := memberBit(c.use)
		m.laid |= bit
		if c.hasRate {
			m.rated |= bit
		}
		if c.hasTarget {
			m.targeted |= bit
		}
	}
	if t.last >= len(t.of) || !t.of[t.last].like(m) {
		if t.last = slices.IndexFunc(t.of, m.like); t.last < 0 {
			t.last = len(t.of)
			t.of = append(t.of, m)
		}
	}
	t.of[t.last].gross += a
}

func (m mixture) like(o mixture) bool {
	return m.laid == o.laid && m.rated == o.rated && m.targeted == o.targeted
}

func memberBit(use int) members { return 1 << min(use, maxProducts-1) }

// ProductSum is what was used of one product of a name in one unit, from whatever
// tank. Ground on which several tanks laid it at once counts once, so a mean is
// what all of them laid there together.
type ProductSum struct {
	Name  string
	Unit  controller.Dim // mass, volume or count; DimNone: not known
	Tanks []int          // it came from, ascending
	Gross ground.Area    // of the quads that carried it
	sum   ProductUse     // its Gross is not used
}

// Applied is the amount in kg, litres or seeds; false when no rate was ever known.
func (p *ProductSum) Applied() (float64, bool) { return p.use().Applied() }

// Metered is Applied before any factor.
func (p *ProductSum) Metered() (float64, bool) { return p.use().Metered() }

// MeanRatePerM2 is the amount over the ground, counted as often as it was passed,
// on which a rate was known.
func (p *ProductSum) MeanRatePerM2() (float64, bool) { return p.use().MeanRatePerM2() }

// MeanTargetPerM2 is the target, weighed by area, where it was known.
func (p *ProductSum) MeanTargetPerM2() (float64, bool) { return p.use().MeanTargetPerM2() }

// RatedM2 is the ground of MeanRatePerM2.
func (p *ProductSum) RatedM2() float64 { return p.sum.rated.M2() }

func (p *ProductSum) use() *ProductUse {
	u := p.sum
	u.Gross, u.Unit = p.Gross, p.Unit
	return &u
}

// ProductSums are the operation's products added up by name and unit, in order of
// their first use.
func (o *Operation) ProductSums() []ProductSum {
	var out []ProductSum
	of := make([]members, 0, len(o.Products)) // the uses that make up each
	for i, u := range o.Products {
		at := find(out, u.Product.Name, u.Unit)
		if at < 0 {
			at = len(out)
			out, of = append(out, ProductSum{Name: u.Product.Name, Unit: u.Unit}), append(of, 0)
		}
		of[at] |= memberBit(i)
		out[at].amounts(u)
		out[at].from(u.Tank)
	}
	for i := range out {
		for _, m := range o.together.of {
			out[i].ground(m, of[i])
		}
	}
	return out
}

// addProductSums adds sums of other operations to those of the same name and unit.
func addProductSums(to, more []ProductSum) []ProductSum {
	for _, p := range more {
		at := find(to, p.Name, p.Unit)
		if at < 0 {
			at = len(to)
			to = append(to, ProductSum{Name: p.Name, Unit: p.Unit})
		}
		q := &to[at]
		q.amounts(&p.sum)
		q.Gross += p.Gross
		q.sum.rated += p.sum.rated
		q.sum.targeted += p.sum.targeted
		for _, tank := range p.Tanks {
			q.from(tank)
		}
	}
	return to
}

func find(in []ProductSum, name string, unit controller.Dim) int {
	return slices.IndexFunc(in, func(p ProductSum) bool { return p.Name == name && p.Unit == unit })
}

// amounts adds what does not depend on how the ground is counted.
func (p *ProductSum) amounts(u *ProductUse) {
	p.sum.applied += u.applied
	p.sum.metered += u.metered
	p.sum.target += u.target
	p.sum.rested = p.sum.rested || u.rested
}

// ground counts ground of a mixture where any of the uses is in it.
func (p *ProductSum) ground(m mixture, uses members) {
	if m.laid&uses != 0 {
		p.Gross += m.gross
	}
	if m.rated&uses != 0 {
		p.sum.rated += m.gross
	}
	if m.targeted&uses != 0 {
		p.sum.targeted += m.gross
	}
}

// from notes a tank.
func (p *ProductSum) from(tank int) {
	if i, known := slices.BinarySearch(p.Tanks, tank); !known {
		p.Tanks = slices.Insert(p.Tanks, i, tank)
	}
}
