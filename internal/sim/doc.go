// Package sim makes up field work whose true figures are known: it plans a
// field, drives it, meters product, and says what a GNSS receiver and a rate
// controller would have sent meanwhile.
//
//	Scenario -> Plan (where to drive) -> motion (when) -> trail (where the bar is)
//	                                                        |
//	          section control (when the ground should be switched) -> ground: Truth
//	                    |                                      |
//	          machine: controller lines              receiver: NMEA sentences
//	                    +------------- Run: in order of arrival ------+
//
// It is the independent side of every check on the coverage engine and shares
// nothing with it but the implement's dimensions and the map projection. Areas
// come from the continuous motion of the bar, integrated in steps of at most
// 1 cm of travel, never from the fixes; where the job has a closed form, Truth
// carries that too and says so.
//
// Frame: x east, y north, metres on the plane round the field's origin. Angles
// inside the package are radians counter-clockwise from east; headings at the
// edges are degrees clockwise from north. Times inside are seconds from
// Scenario.Start.
//
// The same Scenario gives the same lines on the same kind of processor. The
// package uses the standard library's mathematics, so another processor may
// differ in the last printed digit.
package sim
