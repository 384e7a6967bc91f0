package agronomy

import (
	"math"

	"drawbar/controller"
)

// Relative atomic weights (IUPAC, abridged), from memory.
const (
	weightO = 15.999
	weightP = 30.973762
	weightK = 39.0983
)

// The share by mass of the element in its oxide, by which analyses state it.
const (
	PInP2O5 = 2 * weightP / (2*weightP + 5*weightO)
	KInK2O  = 2 * weightK / (2*weightK + weightO)
)

// Analysis is what a fertiliser is guaranteed to contain, per cent of its mass:
// nitrogen, phosphate as P2O5, potash as K2O, and sulphur as the element S.
type Analysis struct {
	NPct    float64 // % of the mass
	P2O5Pct float64 // % of the mass
	K2OPct  float64 // % of the mass
	SPct    float64 // % of the mass
}

// Valid tells whether all four are from 0 to 100.
func (a Analysis) Valid() bool {
	for _, v := range []float64{a.NPct, a.P2O5Pct, a.K2OPct, a.SPct} {
		if !(v >= 0 && v <= 100) {
			return false
		}
	}
	return true
}

// Nutrients is what a rate of fertiliser puts on the ground.
type Nutrients struct {
	NKgPerM2    float64
	P2O5KgPerM2 float64
	K2OKgPerM2  float64
	SKgPerM2    float64
}

// PKgPerM2 is the phosphorus in the phosphate.
func (n Nutrients) PKgPerM2() float64 { return float64(n.P2O5KgPerM2 * PInP2O5) }

// KKgPerM2 is the potassium in the potash.
func (n Nutrients) KKgPerM2() float64 { return float64(n.K2OKgPerM2 * KInK2O) }

// In is what a rate of the product holds. A rate in litres needs the product's
// density in kg/l, 0 = not known; of a count nothing is known.
func (a Analysis) In(rate controller.Quantity, densityKgPerL float64) (Nutrients, bool) {
	kg, ok := Mass(rate, densityKgPerL)
	if !ok || !rate.Dim.PerArea() || !a.Valid() {
		return Nutrients{}, false
	}
	of := func(pct float64) float64 { return float64(kg*pct) / 100 }
	n := Nutrients{of(a.NPct), of(a.P2O5Pct), of(a.K2OPct), of(a.SPct)}
	return n, finite(of(100))
}

// RateFor is the rate of product, kg/m2, that puts so much of a nutrient on the
// ground, of which the product holds pct per cent. It is not known of a product
// that holds none.
func RateFor(nutrientKgPerM2, pct float64) (float64, bool) {
	if !(nutrientKgPerM2 >= 0) || !(pct > 0 && pct <= 100) {
		return 0, false
	}
	rate := float64(nutrientKgPerM2*100) / pct
	return rate, finite(rate)
}

// Mass is a rate or an amount as kg (or kg/m2), of a volume by the density in
// kg/l, 0 = not known.
func Mass(q controller.Quantity, densityKgPerL float64) (float64, bool) {
	if !(q.SI >= 0) || math.IsInf(q.SI, 0) || q.Dim.PerTime() {
		return 0, false
	}
	switch q.Dim.Amount() {
	case controller.DimMass:
		return q.SI, true
	case controller.DimVolume:
		kg := float64(q.SI * densityKgPerL)
		return kg, positive(densityKgPerL) && finite(kg)
	default:
		return 0, false
	}
}
