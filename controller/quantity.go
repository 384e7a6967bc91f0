package controller

import (
	"fmt"
	"math"
)

// Dim is what a quantity measures. Its SI unit stands behind each name.
type Dim uint8

// The dimensions that a rate controller reports. The three groups of mass,
// volume and count stand in the same order; Amount and the units rely on it.
const (
	DimNone          Dim = iota
	DimMassPerArea       // kg/m2
	DimVolumePerArea     // litre/m2
	DimCountPerArea      // seeds/m2
	DimMassPerTime       // kg/s
	DimVolumePerTime     // litre/s
	DimCountPerTime      // seeds/s
	DimMass              // kg
	DimVolume            // litre
	DimCount             // seeds
	DimSpeed             // m/s
)

// String is the dimension in words, e.g. "mass per area".
func (d Dim) String() string {
	switch d {
	case DimMassPerArea:
		return "mass per area"
	case DimVolumePerArea:
		return "volume per area"
	case DimCountPerArea:
		return "count per area"
	case DimMassPerTime:
		return "mass per time"
	case DimVolumePerTime:
		return "volume per time"
	case DimCountPerTime:
		return "count per time"
	case DimMass:
		return "mass"
	case DimVolume:
		return "volume"
	case DimCount:
		return "count"
	case DimSpeed:
		return "speed"
	default:
		return "no dimension"
	}
}

// PerArea tells whether the dimension is that of an application rate.
func (d Dim) PerArea() bool { return d >= DimMassPerArea && d <= DimCountPerArea }

// PerTime tells whether the dimension is that of a flow. A speed is not.
func (d Dim) PerTime() bool { return d >= DimMassPerTime && d <= DimCountPerTime }

// Amount is what a rate, a flow or an amount is made of: DimMass, DimVolume or
// DimCount. It is DimNone for a speed and for no dimension.
func (d Dim) Amount() Dim {
	if d < DimMassPerArea || d > DimCount {
		return DimNone
	}
	return DimMass + (d-DimMassPerArea)%3
}

// SIUnit is the unit of Quantity.SI, e.g. "kg/m2"; empty for no dimension.
func (d Dim) SIUnit() string {
	switch {
	case d.PerArea():
		return d.AmountUnit() + "/m2"
	case d.PerTime():
		return d.AmountUnit() + "/s"
	case d == DimSpeed:
		return "m/s"
	default:
		return d.AmountUnit()
	}
}

// AmountUnit is the unit in which amounts of this kind are summed up: "kg", "l"
// or "seeds"; empty for a speed and for no dimension.
func (d Dim) AmountUnit() string {
	switch d.Amount() {
	case DimMass:
		return "kg"
	case DimVolume:
		return "l"
	case DimCount:
		return "seeds"
	default:
		return ""
	}
}

// Quantity is a value in the SI unit of its dimension.
type Quantity struct {
	SI  float64 // in Dim.SIUnit()
	Dim Dim
}

// In is the quantity as a number of units. It is not known when the unit
// measures something else.
func (q Quantity) In(u Unit) (float64, bool) {
	if q.Dim != u.Dim || !(u.ToSI > 0) {
		return 0, false
	}
	return q.SI / u.ToSI, true
}

// As carries a rate, flow or amount over to another kind of amount (DimMass,
// DimVolume or DimCount). Mass and count go over into each other by the weight
// of a thousand kernels in grams, 0 = not stated; nothing else does.
//
//	kg = seeds x thousandKernelG / 1 000 000
func (q Quantity) As(amount Dim, thousandKernelG float64) (Quantity, bool) {
	from := q.Dim.Amount()
	if from == DimNone || amount < DimMass || amount > DimCount {
		return Quantity{}, false
	}
	if from == amount {
		return q, true
	}
	if from == DimVolume || amount == DimVolume || !(thousandKernelG > 0) || math.IsInf(thousandKernelG, 0) {
		return Quantity{}, false
	}
	si := q.SI * thousandKernelG / 1e6
	if amount == DimCount {
		si = q.SI * 1e6 / thousandKernelG
	}
	return Quantity{SI: si, Dim: q.Dim - from + amount}, true
}

// OverGround turns a flow into the rate on the ground: flow / (speed x width).
// It is not known without a flow, at a standstill or with no width on.
func (q Quantity) OverGround(speedMPS, widthM float64) (Quantity, bool) {
	swept := float64(speedMPS * widthM) // m2/s
	if !q.Dim.PerTime() || !(speedMPS > 0) || !(widthM > 0) || !(swept > 0) {
		return Quantity{}, false
	}
	si := q.SI / swept
	if math.IsInf(si, 0) || math.IsNaN(si) {
		return Quantity{}, false
	}
	return Quantity{SI: si, Dim: q.Dim - DimMassPerTime + DimMassPerArea}, true
}

// OverArea is the amount that a rate puts on an area. It is not known for
// anything but a rate.
func (q Quantity) OverArea(areaM2 float64) (Quantity, bool) {
	si := float64(q.SI * areaM2)
	if !q.Dim.PerArea() || math.IsInf(si, 0) || math.IsNaN(si) {
		return Quantity{}, false
	}
	return Quantity{SI: si, Dim: q.Dim.Amount()}, true
}

// ParseQuantity reads a number and its unit, e.g. "112.5kg/ha" or "3800 kg".
// Without a unit in the text def holds; a zero def means that the text must
// name one. Not a number, infinity, hexadecimal and empty text are refused.
func ParseQuantity(s string, def Unit) (Quantity, error) {
	q, _, err := ParseQuantityUnit(s, def)
	return q, err
}

// ParseQuantityUnit is ParseQuantity that also returns the unit that held.
func ParseQuantityUnit(s string, def Unit) (Quantity, Unit, error) {
	text := trimBlanks([]byte(s))
	if len(text) == 0 {
		return Quantity{}, Unit{}, fmt.Errorf("quantity is empty, write a number and its unit such as 112.5 kg/ha")
	}
	v, rest, ok := scanNumber(text)
	if !ok {
		return Quantity{}, Unit{}, fmt.Errorf("quantity %q: no finite decimal number, write one such as 112.5", shorten(text))
	}
	u := def
	if rest = trimBlanks(rest); len(rest) > 0 {
		if !startsUnit(rest) {
			return Quantity{}, Unit{}, fmt.Errorf("quantity %q: number followed by %q, write a decimal point and no grouping", shorten(text), shorten(rest))
		}
		var err error
		if u, err = ParseUnit(string(rest)); err != nil {
			return Quantity{}, Unit{}, fmt.Errorf("quantity %q: %w", shorten(text), err)
		}
	}
	if u.Dim == DimNone {
		return Quantity{}, Unit{}, fmt.Errorf("quantity %q: no unit, write one such as kg/ha behind the number", shorten(text))
	}
	q := u.Quantity(v)
	if math.IsInf(q.SI, 0) || math.IsNaN(q.SI) {
		return Quantity{}, Unit{}, fmt.Errorf("quantity %q: too large to be real", shorten(text))
	}
	return q, u, nil
}
