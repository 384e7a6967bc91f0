package coverage

import (
	"math"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// folded tells whether the two sides a0-b0 and a1-b1 of a quad, the bar at its
// two moments, cross: the pivot of a tight turn lies on the bar.
func folded(q ground.Quad) bool {
	return opposite(plane.Cross(q[0], q[1], q[2]), plane.Cross(q[0], q[1], q[3])) &&
		opposite(plane.Cross(q[3], q[2], q[0]), plane.Cross(q[3], q[2], q[1]))
}

func opposite(a, b int64) bool { return a > 0 && b < 0 || a < 0 && b > 0 }

// triangles are the two halves of a folded quad, on either side of the point at
// which the bar's two places cross; closed, counter-clockwise.
func triangles(q ground.Quad) [][]plane.Coord {
	d0 := plane.Cross(q[3], q[2], q[0])
	d1 := plane.Cross(q[3], q[2], q[1])
	f := float64(d0) / (float64(d0) - float64(d1))
	p := between(q[0], q[1], f)
	return [][]plane.Coord{turned(q[0], p, q[3]), turned(q[1], q[2], p)}
}

func turned(a, b, c plane.Coord) []plane.Coord {
	if plane.Cross(a, b, c) < 0 {
		b, c = c, b
	}
	return []plane.Coord{a, b, c, a}
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
