package coverage

import (
	"math"
	"slices"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// simple are the closed rings, counter-clockwise, of the ground a quad touches:
// one, or the two triangles of a quad of which two opposite sides cross, be it
// the bar's two places (the pivot of a tight turn lies on the bar) or the ways
// of its ends.
func simple(q ground.Quad) [][]plane.Coord {
	if p, ok := crossing(q[0], q[1], q[3], q[2]); ok {
		return [][]plane.Coord{closed([]plane.Coord{q[0], p, q[3]}), closed([]plane.Coord{q[1], q[2], p})}
	}
	if p, ok := crossing(q[1], q[2], q[0], q[3]); ok {
		return [][]plane.Coord{closed([]plane.Coord{q[1], p, q[0]}), closed([]plane.Coord{q[2], q[3], p})}
	}
	return [][]plane.Coord{closed([]plane.Coord{q[0], q[1], q[2], q[3]})}
}

// crossing is where a-b and c-d cross, each within the other's length.
func crossing(a, b, c, d plane.Coord) (plane.Coord, bool) {
	ca, cb := plane.Cross(c, d, a), plane.Cross(c, d, b)
	if !opposite(ca, cb) || !opposite(plane.Cross(a, b, c), plane.Cross(a, b, d)) {
		return plane.Coord{}, false
	}
	return between(a, b, float64(ca)/(float64(ca)-float64(cb))), true
}

func opposite(a, b int64) bool { return a > 0 && b < 0 || a < 0 && b > 0 }

// closed turns ring counter-clockwise and repeats its first point at the end.
// It may change ring.
func closed(ring []plane.Coord) []plane.Coord {
	if plane.Area2(ring) < 0 {
		slices.Reverse(ring)
	}
	return append(ring, ring[0])
}

// between is the point of the grid nearest to the share f of the way from a to b.
func between(a, b plane.Coord, f float64) plane.Coord {
	return plane.Coord{
		X: a.X + int64(math.Round(float64(b.X-a.X)*f)),
		Y: a.Y + int64(math.Round(float64(b.Y-a.Y)*f)),
	}
}

// barBetween is the bar at the share f of the way between its places a and b,
// every section end on its straight line.
func barBetween(dst, a, b []plane.Coord, f float64) []plane.Coord {
	dst = dst[:0]
	for i := range a {
		dst = append(dst, between(a[i], b[i], f))
	}
	return dst
}
