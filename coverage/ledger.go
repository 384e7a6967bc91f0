package coverage

import (
	"math"

	"drawbar/controller"
	"drawbar/coverage/ground"
)

// Amounts are kept as whole steps so that the order of adding does not matter:
// 1e-9 kg or litre, 1e-6 seeds. An int64 then holds 9 million tonnes.
const (
	stepsPerKg   = 1e9
	stepsPerSeed = 1e6
)

// ProductUse is what one operation used of one product from one tank.
type ProductUse struct {
	Product  Product
	Unit     controller.Dim // mass, volume or count: what Applied is in
	Gross    ground.Area    // of the quads that carried it
	Tank     int
	applied  int64   // in steps
	metered  int64   // the same before any factor
	factor   float64 // the latest; 0 before there was any
	mixed    bool    // there were several
	rated    ground.Area
	targeted ground.Area
	target   int64 // target times area, in steps
	rested   bool  // carried over ground at a rate known to be zero
}

// Applied is the amount in kg, litres or seeds; false when no rate was ever
// known. A product that was only carried along is known to be none.
func (u *ProductUse) Applied() (float64, bool) {
	return amount(u.applied, u.Unit), u.rated > 0 || u.rested && u.Gross == 0
}

// Metered is Applied before any factor.
func (u *ProductUse) Metered() (float64, bool) {
	_, known := u.Applied()
	return amount(u.metered, u.Unit), known
}

// Factor is what all of the amount was multiplied by; false where no rate was known,
// or where it changed.
func (u *ProductUse) Factor() (float64, bool) { return u.factor, u.factor != 0 && !u.mixed }

// MeanRatePerM2 is the amount over the ground, counted as often as it was
// passed, on which the rate was known.
func (u *ProductUse) MeanRatePerM2() (float64, bool) {
	return amount(u.applied, u.Unit) / max(u.rated.M2(), 1e-12), u.rated > 0
}

// MeanTargetPerM2 is the target, weighed by area, where it was known.
func (u *ProductUse) MeanTargetPerM2() (float64, bool) {
	return amount(u.target, u.Unit) / max(u.targeted.M2(), 1e-12), u.targeted > 0
}

func amount(steps int64, unit controller.Dim) float64 {
	if unit == controller.DimCount {
		return float64(steps) / stepsPerSeed
	}
	return float64(steps) / stepsPerKg
}

// steps is rate times area as whole steps, cut off where no int64 reaches.
func steps(ratePerM2 float64, a ground.Area, unit controller.Dim) int64 {
	per := float64(stepsPerKg)
	if unit == controller.DimCount {
		per = stepsPerSeed
	}
	rate := controller.Quantity{SI: ratePerM2, Dim: unit - controller.DimMass + controller.DimMassPerArea}
	amount, _ := rate.OverArea(a.M2())
	const most = 1 << 62
	return int64(max(-most, min(most, math.Round(amount.SI*per))))
}

// add books the area of quads on which the product lay. A rate that is not
// known adds area and no amount.
func (u *ProductUse) add(a ground.Area, t applied) {
	u.Gross += a
	if t.hasRate {
		u.rated += a
		laid := steps(t.ratePerM2, a, u.Unit)
		u.applied += laid
		if t.factor != 1 {
			laid = steps(t.meteredPerM2, a, u.Unit)
		}
		u.metered += laid
		u.mixed = u.mixed || u.factor != t.factor && u.factor != 0
		u.factor = t.factor
	}
	if t.hasTarget {
		u.targeted += a
		u.target += steps(t.targetPerM2, a, u.Unit)
	}
}

// applied is what one tank laid down at a moment, per m2 of the ground that was
// worked.
type applied struct {
	use                    int // index into the operation's products
	tank                   int // tank number
	ratePerM2, targetPerM2 float64
	meteredPerM2           float64 // the rate before the factor
	factor                 float64
	hasRate, hasTarget     bool
}

// some tells whether product went on the ground: a rate known to be zero is the
// only thing that says it did not.
func (t applied) some() bool { return !t.hasRate || t.ratePerM2 > 0 }
