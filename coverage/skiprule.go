package coverage

import (
	"math"
	"slices"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// skipRule is what the limits and the implement make of a skip.
type skipRule struct {
	widthM, leastM2 float64
	barM            float64
}

// skipRule is the rule for an implement. Half the bar, or a little more than the
// widest section if that is less, is the narrowest pass that anyone would drive
// on purpose; a strip as wide as a plugged section must be narrower than that.
func (l Limits) skipRule(im *Implement) skipRule {
	r := skipRule{widthM: l.SkipWidthM, leastM2: l.SkipMinAreaM2, barM: im.WidthM()}
	if r.widthM == 0 {
		widest := 0.0
		for _, s := range im.SectionsM {
			widest = max(widest, s)
		}
		r.widthM = min(r.barM/2, max(1, 1.4*widest))
	}
	if r.leastM2 == 0 {
		r.leastM2 = max(1, float64(r.widthM*r.widthM)/12)
	}
	return r
}

// steps is a length in steps of the grid.
func steps01mm(m float64) int64 { return int64(math.Round(m * plane.UnitsPerM)) }

// on is the rule for ground on the operation's plane; ok is false where the
// boundary does not lie on it.
func (r skipRule) on(at *plane.Plane, boundary Boundary) (rule ground.SkipRule, ok bool) {
	rule = ground.SkipRule{Width: steps01mm(r.widthM), MinArea: ground.AreaOf(r.leastM2)}
	for _, polygon := range boundary {
		for _, ring := range polygon {
			coords, ok := project(at, ring)
			if !ok {
				return rule, false
			}
			rule.Field = append(rule.Field, coords)
		}
	}
	return rule, true
}

// same tells whether two boundaries are one and the same statement.
func (b Boundary) same(o Boundary) bool {
	return len(b) == len(o) && (len(b) == 0 || &b[0] == &o[0]) ||
		slices.EqualFunc(b, o, func(p, q [][][2]float64) bool {
			return slices.EqualFunc(p, q, func(r, s [][2]float64) bool { return slices.Equal(r, s) })
		})
}

// workWith says which implement works; nil changes nothing.
func (o *Operation) workWith(im *Implement, l Limits) {
	if im != nil && im != o.tool {
		o.tool, o.skipRule = im, l.skipRule(im)
	}
}
