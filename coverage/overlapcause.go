package coverage

import "drawbar/coverage/ground"

// OverlapCause is why ground was worked again, as far as the ways over it tell.
type OverlapCause uint8

// The causes. A way is the course of the bar's middle over a metre or more.
const (
	// OverlapHeadland: the bar was turning within two bar widths, or going over what
	// it had worked in the same pass: turns and manoeuvres.
	OverlapHeadland OverlapCause = iota
	// OverlapBetweenPasses: the ground was worked before in the same direction, to
	// within 30 degrees, either way: passes too close together.
	OverlapBetweenPasses
	// OverlapSections: it was worked before across the present direction: a section
	// went off too late before worked ground, or on too early behind it.
	OverlapSections
)

// OverlapCauses is how many there are.
const OverlapCauses = ground.Causes

func (c OverlapCause) String() string {
	return [OverlapCauses]string{"headland", "between_passes", "sections"}[c]
}

// OverlapBy is the overlap by cause, m2; the three make up the whole.
type OverlapBy struct {
	HeadlandM2, BetweenPassesM2, SectionsM2 float64
}

// Of is the overlap of one cause, m2.
func (b OverlapBy) Of(c OverlapCause) float64 {
	return [OverlapCauses]float64{b.HeadlandM2, b.BetweenPassesM2, b.SectionsM2}[c]
}

// OverlapBy sorts the operation's overlap by cause.
func (o *Operation) OverlapBy() OverlapBy {
	by := o.overlaps.by
	by[o.overlaps.latest] += o.overlaps.waiting
	// The ground may have been laid anew along other scanlines since: what differs
	// by rounding goes to the largest.
	largest, rest := 0, o.Overlap()
	for i, a := range by {
		rest -= a
		if a > by[largest] {
			largest = i
		}
	}
	by[largest] = max(0, by[largest]+rest)
	return OverlapBy{HeadlandM2: by[OverlapHeadland].M2(), BetweenPassesM2: by[OverlapBetweenPasses].M2(), SectionsM2: by[OverlapSections].M2()}
}

// OverlapGround is a copy of the ground as it is now, every place that was worked
// twice or more under its cause: Only(cause) of it shows that of one. It may go to
// another goroutine. What was worked last, a metre of way at most, is under the
// cause of what was worked before it, as in OverlapBy. Nil before any work.
//
// A place has one cause, that of the second time it was worked, and is shown once
// however often it was worked; OverlapBy counts each time, for its own cause.
func (o *Operation) OverlapGround() *ground.Set {
	set := o.Ground()
	if set == nil {
		return nil
	}
	return set.CloneSettled(ground.Cause(o.overlaps.latest))
}
