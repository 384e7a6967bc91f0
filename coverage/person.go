package coverage

import (
	"slices"

	"drawbar/coverage/ground"
)

// PersonUse is what one person worked of an operation.
type PersonUse struct {
	Name string // empty: nobody was named
	Worked
}

// Worked is a part of the work of an operation.
type Worked struct {
	Gross     ground.Area
	WorkingNS int64
	DistanceM float64
	Products  []ProductShare // as Operation.Products, which may be longer
}

// ProductShare is a part of a ProductUse.
type ProductShare struct {
	Gross   ground.Area
	applied int64 // in steps
	rated   ground.Area
}

// Applied is the amount of the share of u in kg, litres or seeds; false when no rate
// was known.
func (s ProductShare) Applied(u *ProductUse) (float64, bool) {
	return amount(s.applied, u.Unit), s.rated > 0
}

// people shares an operation out among those who work in it. Nothing is counted as
// ground is laid: what was added since the person changed is that person's.
type people struct {
	now    string
	shares []PersonUse // without what was added since
	booked Worked      // the sum of shares
}

// staff says who works from now on.
func (o *Operation) staff(name string) {
	if name != o.people.now {
		o.people.shares = o.People()
		o.people.booked = o.all()
		o.people.now = name
	}
}

// all is the whole of what was worked so far.
func (o *Operation) all() Worked {
	w := Worked{Gross: o.Gross, WorkingNS: o.WorkingNS, DistanceM: o.WorkedM}
	for _, u := range o.Products {
		w.Products = append(w.Products, ProductShare{Gross: u.Gross, applied: u.applied, rated: u.rated})
	}
	return w
}

// People is who worked what, in the order in which they first worked. The shares
// sum to the whole.
func (o *Operation) People() []PersonUse {
	shares := make([]PersonUse, len(o.people.shares), len(o.people.shares)+1)
	for i, s := range o.people.shares {
		s.Products = slices.Clone(s.Products)
		shares[i] = s
	}
	if o.Gross == o.people.booked.Gross && o.WorkingNS == o.people.booked.WorkingNS {
		return shares
	}
	at := slices.IndexFunc(shares, func(p PersonUse) bool { return p.Name == o.people.now })
	if at < 0 {
		at = len(shares)
		shares = append(shares, PersonUse{Name: o.people.now})
	}
	shares[at].add(o.all(), o.people.booked)
	return shares
}

// add adds the work from one state of the sums to a later one.
func (w *Worked) add(now, before Worked) {
	w.Gross += now.Gross - before.Gross
	w.WorkingNS += now.WorkingNS - before.WorkingNS
	w.DistanceM += now.DistanceM - before.DistanceM
	for i, s := range now.Products {
		if i == len(w.Products) {
			w.Products = append(w.Products, ProductShare{})
		}
		if i < len(before.Products) {
			b := before.Products[i]
			s.Gross, s.applied, s.rated = s.Gross-b.Gross, s.applied-b.applied, s.rated-b.rated
		}
		p := &w.Products[i]
		p.Gross, p.applied, p.rated = p.Gross+s.Gross, p.applied+s.applied, p.rated+s.rated
	}
}

// growsAs takes over the crop in force.
func (o *Operation) growsAs(v *state) {
	o.Crop, o.GrowthStage, o.HasGrowthStage = v.crop, v.stage, v.hasStage
}
