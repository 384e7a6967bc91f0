// Package picture keeps what is drawn of the swaths of an operation, light enough
// to be held for a day: along a pass nothing is kept that a screen could not show.
//
//	var s picture.Swaths
//	s.Add(quad)                    // every coverage.Quad of the operation
//	shot := s.Snapshot()           // for another goroutine
//	shot.Window(lo, hi, coarse, least, func(w *picture.Swath) bool { … })
//
// # How
//
// Neighbouring sections that are on together make one strip: a list of bars from
// its beginning to its end, each with a left and a right end.
//
//	L0---L1---------L2----L3     strip, its bars are Li to Ri
//	|     |         |      |     -> travel
//	R0---R1---------R2----R3
//
// A strip goes on while the same sections are on, from the bar where it was left,
// while each tank holds the same product and aims at the same target (to 1 %), and
// while what it lays stays in one class: rate by target, in steps of 2 %, and it
// is held until it is a whole step off (hysteresis). Where there is no target the
// rate itself is held to 2 % of that at the strip's beginning. In its first two
// metres a rate ends no strip. What a strip shows is the mean over its area.
//
// Bars are looked at every metre of way, every twelfth of their width if that is
// less, and where a strip ends: the ends of a long bar wobble by more between two
// fixes than they go on. Of these a bar
// is left out where the ends of those left out keep within 5 cm of the straight
// line between their neighbours. Like the swaths in files, a strip is closed where
// its bar has turned by 30 degrees, so that its outline does not cross itself.
//
// # Invariants
//
//   - What a Snapshot shows never changes: strips are written once, into blocks
//     that stay where they are.
//   - Strips are in the order in which they were closed; blocks of them know the box
//     around them, so that a window is found without looking at each.
//
// # What it does not know
//
// Where the earth is, which operation it is, and which ground was covered before.
package picture
