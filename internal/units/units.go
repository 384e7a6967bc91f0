// Package units shows quantities in the units that a person chose. Inside,
// everything is SI; only screens, reports and messages come here.
//
//	units.US.Show(units.Area, 647_497) // "160.000 ac"
//
// Each number is shown with its unit, without grouping of digits, so that no
// reader takes a comma for a decimal point. testdata/units.json at the module's
// root holds the same table for other languages; a test keeps the two equal.
// Which units belong to a system is common practice, no source; the factors are
// the exact ones of package controller.
package units

import (
	"fmt"
	"math"
	"strconv"

	"drawbar/controller"
)

// System is a set of units that are used together.
type System uint8

// The systems of units. Canadian is the mixture of the Prairies: acres, feet and
// pounds on the ground, litres in the tank, kilometres on the road.
const (
	Metric System = iota
	US
	Canadian
	systems
)

// String is the system's name in configurations.
func (s System) String() string {
	switch s {
	case US:
		return "us"
	case Canadian:
		return "canadian"
	default:
		return "metric"
	}
}

// Parse reads the name of a system.
func Parse(name string) (System, error) {
	for s := Metric; s < systems; s++ {
		if name == s.String() {
			return s, nil
		}
	}
	return 0, fmt.Errorf("units %q, want metric, us or canadian", name)
}

// Quantity is what a number measures, and so in which SI unit it comes.
type Quantity uint8

// The quantities that are shown.
const (
	Area       Quantity = iota // m2
	Mass                       // kg
	Volume                     // litres
	Count                      // seeds
	MassRate                   // kg/m2
	VolumeRate                 // litres/m2
	CountRate                  // seeds/m2
	Speed                      // m/s
	Length                     // m, of a machine or a part of a field
	Distance                   // m, travelled
	Patch                      // m2, of a place one walks over
	quantities
)

// String is the quantity's name in units.json.
func (q Quantity) String() string {
	return [...]string{"area", "mass", "volume", "count", "mass_rate", "volume_rate", "count_rate", "speed", "length", "distance", "patch"}[min(q, quantities-1)]
}

// AmountOf is the quantity of an amount in kg, l or seeds, and that of its rate;
// ok is false for another unit.
func AmountOf(unit string) (amount, rate Quantity, ok bool) {
	switch unit {
	case "kg":
		return Mass, MassRate, true
	case "l":
		return Volume, VolumeRate, true
	case "seeds":
		return Count, CountRate, true
	}
	return 0, 0, false
}

// Unit is how a quantity is shown: divided by SI, with Digits decimals, followed
// by Symbol.
type Unit struct {
	Symbol string  `json:"symbol"`
	SI     float64 `json:"si"` // one of this unit in the quantity's SI unit
	Digits int     `json:"digits"`
}

// Unit is the unit of a quantity in the system.
func (s System) Unit(q Quantity) Unit {
	var (
		hectare = Unit{"ha", controller.HectareM2, 3}
		acre    = Unit{"ac", controller.AcreM2, 3}
		kilo    = Unit{"kg", 1, 1}
		pound   = Unit{"lb", controller.PoundKg, 1}
		litre   = Unit{"L", 1, 1}
		gallon  = Unit{"gal", controller.USGallonL, 1}
		seeds   = Unit{"seeds", 1, 0}
		kmh     = Unit{"km/h", 1000.0 / 3600, 1}
		foot    = Unit{"ft", controller.FootM, 1}
		km      = Unit{"km", 1000, 2}
		foot2   = Unit{"ft2", controller.FootM * controller.FootM, 0}
	)
	per := func(amount, area Unit, digits int) Unit {
		return Unit{amount.Symbol + "/" + area.Symbol, amount.SI / area.SI, digits}
	}
	table := [systems][quantities]Unit{
		Metric: {hectare, kilo, litre, seeds,
			per(kilo, hectare, 1), per(litre, hectare, 1), {"seeds/m2", 1, 1},
			kmh, {"m", 1, 2}, km, {"m2", 1, 1}},
		US: {acre, pound, gallon, seeds,
			per(pound, acre, 1), per(gallon, acre, 2), per(seeds, acre, 0),
			{"mph", controller.MileM / 3600, 1}, foot, {"mi", controller.MileM, 2}, foot2},
		Canadian: {acre, pound, litre, seeds,
			per(pound, acre, 1), per(litre, acre, 2), {"seeds/ft2", 1 / (controller.FootM * controller.FootM), 2},
			kmh, foot, km, foot2},
	}
	return table[min(s, systems-1)][min(q, quantities-1)]
}

// Show writes an SI value as a number with its unit, "unknown" for one that is
// no number.
func (s System) Show(q Quantity, si float64) string {
	u := s.Unit(q)
	v := si / u.SI
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "unknown"
	}
	text := strconv.FormatFloat(v, 'f', u.Digits, 64)
	if zero := strconv.FormatFloat(0, 'f', u.Digits, 64); text == "-"+zero {
		text = zero
	}
	return text + " " + u.Symbol
}
