// Package handover writes places for other people's receivers and maps: GPX 1.1, KML
// 2.2 and GeoJSON. The same places give the same bytes.
//
//	err := handover.Write(w, handover.GPX, "Mill Piece", places)
//
// Positions are WGS 84 degrees to a millimetre, times UTC. A text keeps every
// character that XML 1.0 can carry; others become U+FFFD.
package handover
