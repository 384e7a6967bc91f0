package mend

import "math"

// Weighing compares what was weighed with what the record says.
type Weighing struct {
	Weighed, Metered float64 // in the same unit; metered by the rate basis, without any factor
}

// Difference is by how much more was weighed than recorded, in the unit and as a part of
// what was recorded. ok is false where nothing was recorded.
func (w Weighing) Difference() (amount, part float64, ok bool) {
	factor, ok := w.Factor()
	return w.Weighed - w.Metered, factor - 1, ok
}

// Factor is what the record must be multiplied by to come to what was weighed. ok is
// false where that has no sense: nothing was recorded, or nothing weighed.
func (w Weighing) Factor() (factor float64, ok bool) {
	if !(w.Weighed > 0 && w.Metered > 0) {
		return 0, false
	}
	factor = w.Weighed / w.Metered
	return factor, factor > 0 && !math.IsInf(factor, 0)
}

// Calibration is the controller's calibration figure after a weighing, which depends on
// which way the controller counts:
//
//   - amountPerCount is of a figure that says how much goes out for each turn or pulse:
//     more was weighed than metered, so each of them let out more;
//   - countsPerAmount is of one that says how many turns or pulses go to one unit of
//     amount: more was weighed, so fewer of them go to it.
//
// The arithmetic is that of any calibration by weight (common practice, no source).
func (w Weighing) Calibration(figure float64) (amountPerCount, countsPerAmount float64, ok bool) {
	factor, ok := w.Factor()
	if !ok || !(figure > 0) || math.IsInf(figure, 0) {
		return 0, 0, false
	}
	return figure * factor, figure / factor, true
}
