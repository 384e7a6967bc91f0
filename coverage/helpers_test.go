package coverage

import "drawbar/coverage/plane"

// planeAreaM2 is the area of a ring that runs counter-clockwise.
func planeAreaM2(ring []plane.Coord) float64 { return plane.AreaM2(plane.Area2(ring)) }
