// Package coverage works out what a farm machine put on the ground: fixes of
// the tractor's antenna and reports of the rate controller in, swaths, areas
// and amounts out.
//
//	nmea.Fix ──> antenna on the plane ──> heading ──> hitch ──> bar ends ─┐
//	                                                                      ├─> quads ──> ground (covered, again)
//	controller.Report ──> meter: hold, lag, stale ──> what is on now ─────┘         └─> ledger (area, amounts), swaths
//
// An Engine is driven by one goroutine with time-stamped input and keeps no
// clock of its own: what it says depends on its input alone, and is the same on
// every machine. Times are those of the receiver. It knows nothing of files,
// ports, screens or units of display; a position of unknown quality, a silent
// controller and an unstated product stay unknown and are never taken as zero.
//
// Figures hold these identities exactly: gross = covered + overlap, and the
// amount of a product is the sum over its quads of rate times area.
package coverage
