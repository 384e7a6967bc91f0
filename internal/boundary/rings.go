package boundary

import (
	"math"

	"github.com/paulmach/orb"
)

// polygonsOf puts rings together as a Shapefile means them: clockwise an outer
// ring, anticlockwise a hole of the outer ring around it (page 8). A hole around
// which there is nothing can only be an outer ring drawn the wrong way round.
func polygonsOf(rings []orb.Ring) orb.MultiPolygon {
	var out orb.MultiPolygon
	var holes []orb.Ring
	for _, ring := range rings {
		if signedArea(ring) > 0 {
			holes = append(holes, ring)
		} else {
			out = append(out, orb.Polygon{ring})
		}
	}
	outer := len(out)
	for _, hole := range holes {
		best, size := -1, math.Inf(1)
		for i := range out[:outer] {
			if a := -signedArea(out[i][0]); a < size && ringAround(out[i][0], hole) {
				best, size = i, a
			}
		}
		if best < 0 {
			out = append(out, orb.Polygon{hole})
		} else {
			out[best] = append(out[best], hole)
		}
	}
	return out
}

// signedArea is positive anticlockwise, in square units of the places. It is
// measured from the first corner, since a field is small beside its distance from
// the origin.
func signedArea(r orb.Ring) float64 {
	sum := 0.0
	for i := 1; i+1 < len(r); i++ {
		ax, ay := r[i][0]-r[0][0], r[i][1]-r[0][1]
		bx, by := r[i+1][0]-r[0][0], r[i+1][1]-r[0][1]
		sum += float64(ax*by) - float64(bx*ay)
	}
	return sum / 2
}

// ringAround tells whether an outer ring lies around a hole: whether it has the
// first corner of the hole inside that is not on its border.
func ringAround(outer, hole orb.Ring) bool {
	for _, p := range hole {
		if side := sideOf(outer, p); side != 0 {
			return side > 0
		}
	}
	return true // corner by corner on the border
}

// sideOf is 1 inside the ring, 0 on it, -1 outside.
func sideOf(r orb.Ring, p orb.Point) int {
	in := -1
	for i := range r {
		a, b := r[i], r[(i+1)%len(r)]
		if a[1] > b[1] {
			a, b = b, a
		}
		if p[1] < a[1] || p[1] > b[1] {
			continue
		}
		turn := float64((b[0]-a[0])*(p[1]-a[1])) - float64((b[1]-a[1])*(p[0]-a[0]))
		if turn == 0 && p[0] >= min(a[0], b[0]) && p[0] <= max(a[0], b[0]) {
			return 0
		}
		if a[1] <= p[1] && p[1] < b[1] && turn > 0 {
			in = -in
		}
	}
	return in
}
