// Package agronomy is the arithmetic of the farm office: how much seed for a stand
// of plants, which nutrients are in a rate of fertiliser, what a blend contains,
// and how fast a machine gets over the ground.
//
//	seeds, _ := agronomy.SeedsPerM2(300, 0.95, 0.90)              // 350.9 seeds/m2
//	rate, _ := agronomy.MassRate(seeds, 38)                       // kg/m2
//	n, _ := agronomy.Analysis{NPct: 46}.In(rate, 0)               // n.NKgPerM2
//
// Everything is in SI units; a number that is not known gives ok = false and
// never a zero. Every function is pure: no clock, no table of anybody's products,
// and no advice. Which rate is allowed or wise is for the label, the law and the
// agronomist; this package only counts.
package agronomy

import "math"

// finite tells whether v is a number that may leave this package.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// positive tells whether v can be divided by.
func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) }

// fraction tells whether v is a share of a whole that is not nothing.
func fraction(v float64) bool { return v > 0 && v <= 1 }
