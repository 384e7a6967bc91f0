package boundary

import (
	"math"

	"drawbar/coverage/plane"

	"github.com/paulmach/orb"
)

// AreaM2 is the area of an outline on the WGS 84 ellipsoid, holes taken off: each
// polygon on a plane through its middle, which for a field of 20 km is within
// 1 ppm of the area on the ellipsoid itself. false where a polygon is more than
// some 300 km across or has no area.
func AreaM2(outline orb.MultiPolygon) (float64, bool) {
	total := 0.0
	for _, p := range outline {
		if len(p) == 0 || len(p[0]) == 0 {
			return 0, false
		}
		at := plane.New(middle(p[0]))
		for i, ring := range p {
			a, ok := ringAreaM2(at, ring)
			if !ok {
				return 0, false
			}
			if i > 0 {
				a = -a
			}
			total += a
		}
	}
	return total, total > 0
}

// middle is the middle of the box around a ring, which may lie across the 180th
// meridian.
func middle(r orb.Ring) (latDeg, lonDeg float64) {
	lo, hi := r[0], r[0]
	for _, p := range r {
		lon := p[0] // on the side of the first one
		switch {
		case lon-r[0][0] > 180:
			lon -= 360
		case lon-r[0][0] < -180:
			lon += 360
		}
		lo = orb.Point{min(lo[0], lon), min(lo[1], p[1])}
		hi = orb.Point{max(hi[0], lon), max(hi[1], p[1])}
	}
	return (lo[1] + hi[1]) / 2, (lo[0] + hi[0]) / 2
}

func ringAreaM2(at *plane.Plane, r orb.Ring) (float64, bool) {
	var sum, x0, y0 float64
	for i := range r {
		x, y, ok := at.Forward(r[i][1], r[i][0])
		if !ok {
			return 0, false
		}
		if i > 0 {
			sum += float64(x0*y) - float64(x*y0)
		}
		x0, y0 = x, y
	}
	return math.Abs(sum) / 2, true
}
