package controller

import (
	"fmt"
	"strings"
)

// Exact conversion constants; every other factor is made from them. They are
// untyped, so the compiler works them out exactly and rounds once.
const (
	InchM           = 0.0254                             // m, exact by definition
	FootM           = 12 * InchM                         // m
	MileM           = 5280 * FootM                       // m, statute mile
	NauticalMileM   = 1852                               // m
	HectareM2       = 10_000                             // m2
	AcreM2          = 43_560 * FootM * FootM             // m2, of the international foot, not the survey foot
	USGallonL       = 231 * 1000 * InchM * InchM * InchM // litre, 231 cubic inches
	ImperialGallonL = 4.546_09                           // litre
	PoundKg         = 0.453_592_37                       // kg
)

// Unit is a named unit: a value in it times ToSI is the value in Dim.SIUnit().
// The zero Unit is "none stated".
type Unit struct {
	Name string // as this package writes it, e.g. "kg/ha", "l/min"
	Dim  Dim
	ToSI float64
}

// Quantity is v of this unit.
func (u Unit) Quantity(v float64) Quantity {
	return Quantity{SI: float64(v * u.ToSI), Dim: u.Dim}
}

// ParseUnit reads the name of a unit: an amount (kg, lb, l, gal, seeds …), an
// amount per area (kg/ha, gal/ac …) or per time (l/min …), or a speed (km/h …).
// Capitals do not matter, but for ml (ML would be a million times as much).
// The error lists what is accepted.
func ParseUnit(s string) (Unit, error) {
	text := trimBlanks([]byte(s))
	amount, per, ok := lookUpUnit(text)
	if !ok {
		return Unit{}, fmt.Errorf("unit %q is not known, write %s", shorten(text), suggestUnits(string(text)))
	}
	u := joinUnit(amount, per)
	if per.ToSI != 0 {
		u.Name = amount.Name + "/" + per.Name
	}
	return u, nil
}

// joinUnit is amount per area or time. It keeps the amount's name: making a new
// one costs memory, and only ParseUnit needs it.
func joinUnit(amount, per Unit) Unit {
	if per.ToSI == 0 {
		return amount
	}
	return Unit{Name: amount.Name, Dim: amount.Dim - DimMass + per.Dim, ToSI: amount.ToSI / per.ToSI}
}

// maxUnitLen bounds the text of a unit in bytes.
const maxUnitLen = 24

// lookUpUnit finds a unit without using memory. per is the zero Unit when the
// unit is an amount or a speed.
func lookUpUnit(text []byte) (amount, per Unit, ok bool) {
	if len(text) == 0 || len(text) > maxUnitLen {
		return Unit{}, Unit{}, false
	}
	var lower [maxUnitLen]byte
	slash := -1
	for i, c := range text {
		if c >= 'A' && c <= 'Z' {
			c += 'a' - 'A'
		}
		if c == '/' && slash < 0 {
			slash = i
		}
		lower[i] = c
	}
	name := lower[:len(text)]
	if amount, ok = speedUnit(string(name)); ok {
		return amount, Unit{}, true
	}
	if slash >= 0 {
		if per, ok = perUnit(string(name[slash+1:])); !ok {
			return Unit{}, Unit{}, false
		}
		name = name[:slash]
	}
	if amount, ok = amountUnit(string(name)); !ok || amount.Name == "ml" && text[0] == 'M' {
		return Unit{}, Unit{}, false
	}
	return amount, per, true
}

// amountUnit names the amounts. The ton is left out on purpose: it is 907 kg,
// 1000 kg or 1016 kg, depending on who says it.
func amountUnit(name string) (Unit, bool) {
	switch name {
	case "kg":
		return Unit{"kg", DimMass, 1}, true
	case "g":
		return Unit{"g", DimMass, 0.001}, true
	case "t", "tonne", "tonnes":
		return Unit{"t", DimMass, 1000}, true
	case "lb", "lbs":
		return Unit{"lb", DimMass, PoundKg}, true
	case "oz":
		return Unit{"oz", DimMass, PoundKg / 16}, true
	case "shortton", "shorttons":
		return Unit{"shortton", DimMass, 2000 * PoundKg}, true
	case "l", "litre", "litres", "liter", "liters":
		return Unit{"l", DimVolume, 1}, true
	case "ml":
		return Unit{"ml", DimVolume, 0.001}, true
	case "m3", "m³":
		return Unit{"m3", DimVolume, 1000}, true
	case "gal", "usgal":
		return Unit{"gal", DimVolume, USGallonL}, true
	case "qt":
		return Unit{"qt", DimVolume, USGallonL / 4}, true
	case "pt":
		return Unit{"pt", DimVolume, USGallonL / 8}, true
	case "floz":
		return Unit{"floz", DimVolume, USGallonL / 128}, true
	case "impgal":
		return Unit{"impgal", DimVolume, ImperialGallonL}, true
	case "imppt":
		return Unit{"imppt", DimVolume, ImperialGallonL / 8}, true
	case "impfloz":
		return Unit{"impfloz", DimVolume, ImperialGallonL / 160}, true
	case "seeds", "seed":
		return Unit{"seeds", DimCount, 1}, true
	case "kseeds":
		return Unit{"kseeds", DimCount, 1000}, true
	}
	return Unit{}, false
}

// perUnit names what stands behind the slash. Dim is the dimension of a mass
// per that, ToSI the size in m2 or s.
func perUnit(name string) (Unit, bool) {
	switch name {
	case "ha":
		return Unit{"ha", DimMassPerArea, HectareM2}, true
	case "ac", "acre":
		return Unit{"ac", DimMassPerArea, AcreM2}, true
	case "m2", "m²":
		return Unit{"m2", DimMassPerArea, 1}, true
	case "ft2", "ft²":
		return Unit{"ft2", DimMassPerArea, FootM * FootM}, true
	case "s", "sec":
		return Unit{"s", DimMassPerTime, 1}, true
	case "min":
		return Unit{"min", DimMassPerTime, 60}, true
	case "h", "hr":
		return Unit{"h", DimMassPerTime, 3600}, true
	}
	return Unit{}, false
}

// speedUnit names the speeds.
func speedUnit(name string) (Unit, bool) {
	switch name {
	case "m/s":
		return Unit{"m/s", DimSpeed, 1}, true
	case "km/h", "kmh", "kph":
		return Unit{"km/h", DimSpeed, 1 / 3.6}, true
	case "mph", "mi/h":
		return Unit{"mph", DimSpeed, MileM / 3600}, true
	case "kn", "kt":
		return Unit{"kn", DimSpeed, NauticalMileM / 3600.0}, true
	case "ft/s":
		return Unit{"ft/s", DimSpeed, FootM}, true
	case "ft/min":
		return Unit{"ft/min", DimSpeed, FootM / 60}, true
	}
	return Unit{}, false
}

// acceptedUnits says which units a dimension may be written in.
func acceptedUnits(d Dim) string {
	var amounts string
	switch d.Amount() {
	case DimMass:
		amounts = "kg, g, t, lb, oz or shortton"
	case DimVolume:
		amounts = "l, ml, m3, gal, qt, pt, floz (US), impgal, imppt or impfloz"
	case DimCount:
		amounts = "seeds or kseeds"
	}
	switch {
	case d.PerArea():
		return amounts + " per ha, ac, m2 or ft2"
	case d.PerTime():
		return amounts + " per s, min or h"
	case d == DimSpeed:
		return "m/s, km/h, mph, kn, ft/s or ft/min"
	default:
		return amounts
	}
}

// suggestUnits lists what may have been meant by a name that is not a unit.
func suggestUnits(name string) string {
	amount, per, slash := strings.Cut(strings.ToLower(name), "/")
	if amount == "ton" || amount == "tons" {
		return "t (1000 kg) or shortton (2000 lb): a ton may be either"
	}
	first := DimMass
	if u, ok := perUnit(per); slash && ok {
		first = u.Dim
	} else if slash {
		first = DimMassPerArea
	}
	s := acceptedUnits(first) + "; " + acceptedUnits(first+1) + "; " + acceptedUnits(first+2)
	switch first {
	case DimMass:
		return s + "; or a speed in " + acceptedUnits(DimSpeed)
	case DimMassPerArea:
		return s + "; with a slash, such as kg/ha"
	default:
		return s + "; with a slash, such as l/min"
	}
}
