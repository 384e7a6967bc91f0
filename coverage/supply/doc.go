// Package supply says how far what is in the tanks reaches: how much ground, time
// and way it is enough for, where on the present pass a tank runs out, and whether
// the next pass can still be finished.
//
//	var passes supply.Passes
//	snapshot := engine.Snapshot()
//	forecast := passes.Step(&snapshot)      // at every snapshot that is shown
//
// # The pass
//
// A pass is work in one go, more or less straight. Ahead of the bar it is taken to
// go on straight, square to the bar, from the bar's middle: in a bend that is wrong
// by the bend, and is worked out anew at every step.
//
//	        border
//	........../...........
//	         /|            |  StopM: so far before the border the last pass ended
//	        / |  <- end    |
//	          |                 ground over a hole is driven over and not worked
//	          o  <- runs out
//	          |
//	      [===+===]  bar
//	          |  done
//
// With a boundary the pass ends where the way ahead leaves it, as far before the
// border as the last pass ended (a headland). Without one it is as long as the last
// pass. The next pass is as long as this one or the last one, whichever is longer,
// the whole bar on, unless less ground than that remains.
//
// # What is not known
//
// An answer that lacks an input is Unknown, never no and never yes: a tank without
// a level, a rate or a width, a pass without an end. The rate is the one that the
// controller reports; while nothing is on it is the target, as nobody turns on the
// headland at a rate. A tank that reports zero while sections are on is not in use,
// and nothing is said of it.
//
// It is a forecast for planning the next fill. What comes out of a tank goes by its
// meter and its level; drive by the machine's own gauges.
package supply
