package coverage

import (
	"slices"

	"drawbar/controller"
)

// RateBasis says what the amount of a tank is worked out from.
type RateBasis uint8

// The rate bases.
const (
	BasisReported RateBasis = iota // what the controller reports, a rate or else a flow
	BasisTarget                    // the target in force, the controller's own before the one set up
	BasisFlow                      // the reported flow over speed and width on
	BasisFixed                     // an entered rate, while a section is on
)

// RateRule is a rate basis with what belongs to it.
type RateRule struct {
	Basis RateBasis
	Fixed controller.Quantity // per area, with BasisFixed
	Unit  controller.Unit     // in which Fixed was stated
}

// Adjust changes what it states of one tank; the rest of the tank stays as it is in
// force. A nil member, a quantity of DimNone and a factor of 0 were not stated.
type Adjust struct {
	Tank     int // number, from 1
	Product  *Product
	Target   controller.Quantity // per area
	Capacity controller.Quantity // mass, volume or count
	Unit     controller.Unit     // in which the target, failing that the capacity, was stated
	LagS     *float64            // from the meter to the ground
	Rate     *RateRule
	Factor   float64 // of the amount and the rates laid, 0.2 to 5
}

// AdjustTanks returns the tanks with each adjustment laid over the tank of its
// number, in ascending order of number. A tank that is not there is added with what
// is stated of it alone. tanks is not changed.
func AdjustTanks(tanks []Tank, by []Adjust) []Tank {
	if len(by) == 0 {
		return tanks
	}
	out := slices.Clone(tanks)
	for _, a := range by {
		i := 0
		for i < len(out) && out[i].Number < a.Tank {
			i++
		}
		if i == len(out) || out[i].Number != a.Tank {
			out = insert(out, i, Tank{Number: a.Tank, Untimed: true})
		}
		a.lay(&out[i])
	}
	return out
}

// lay changes what a states of t. A target, capacity or entered rate that the
// tank's product cannot be measured in is not known any more; the unit in which bare
// numbers are read stays while it measures the same.
func (a Adjust) lay(t *Tank) {
	if a.Product != nil {
		t.Product = *a.Product
	}
	if a.Target.Dim != controller.DimNone {
		t.Target = a.Target
	}
	if a.Capacity.Dim != controller.DimNone {
		t.Capacity = a.Capacity
	}
	if a.LagS != nil {
		t.LagS, t.Untimed = *a.LagS, false
	}
	if a.Rate != nil {
		t.Rule = *a.Rate
	}
	if a.Factor != 0 {
		t.Factor = a.Factor
	}
	t.fit()
	if t.Unit.Dim.Amount() != t.unit(controller.DimNone) || t.Unit.Dim == controller.DimNone {
		t.Unit = a.Unit
	}
}

// fit drops what the product cannot be measured in, and gives the capacity and the
// entered rate in the target's kind of amount where the weight of the seeds tells it.
func (t *Tank) fit() {
	amounts := t.Product.Kind.Amounts()
	for _, q := range []*controller.Quantity{&t.Target, &t.Capacity, &t.Rule.Fixed} {
		if d := q.Dim.Amount(); d != controller.DimNone && !slices.Contains(amounts, d) {
			*q = controller.Quantity{}
		}
	}
	if t.Target.Dim == controller.DimNone {
		return
	}
	for _, q := range []*controller.Quantity{&t.Capacity, &t.Rule.Fixed} {
		if q.Dim != controller.DimNone {
			*q, _ = q.As(t.Target.Dim.Amount(), t.Product.ThousandKernelG)
		}
	}
}

// stated tells whether the amount comes from what was stated and not from the meter.
func (t *Tank) stated() bool { return t.Rule.Basis == BasisTarget || t.Rule.Basis == BasisFixed }

// named tells whether it was said what the tank does or holds, beyond a factor.
func (t *Tank) named() bool {
	return !t.Untimed || t.Product.Name != "" || t.Target.Dim != controller.DimNone || t.stated()
}

// factor is what the amount and the rates are multiplied by.
func (t *Tank) factor() float64 {
	if t.Factor == 0 {
		return 1
	}
	return t.Factor
}

// Amounts are the kinds of amount in which a product of the kind may be measured:
// DimMass, DimVolume or DimCount; any of them where the kind is not stated.
func (k ProductKind) Amounts() []controller.Dim {
	switch k {
	case KindSeed:
		return []controller.Dim{controller.DimMass, controller.DimCount}
	case KindLiquid:
		return []controller.Dim{controller.DimVolume}
	case KindGranular:
		return []controller.Dim{controller.DimMass}
	case KindAnhydrous, KindInoculant, KindSeedTreatment:
		return []controller.Dim{controller.DimMass, controller.DimVolume}
	default:
		return []controller.Dim{controller.DimMass, controller.DimVolume, controller.DimCount}
	}
}
