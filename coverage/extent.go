package coverage

import (
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// extent is the box around ground on a plane.
type extent struct {
	lo, hi plane.Coord
	some   bool
}

func (x *extent) add(q ground.Quad) {
	if !x.some {
		x.lo, x.hi, x.some = q[0], q[0], true
	}
	for _, c := range q {
		x.lo = plane.Coord{X: min(x.lo.X, c.X), Y: min(x.lo.Y, c.Y)}
		x.hi = plane.Coord{X: max(x.hi.X, c.X), Y: max(x.hi.Y, c.Y)}
	}
}

// Bounds is the box around the ground of the operation: west, south, east and north
// in degrees; false where nothing was worked. The box of degrees holds the corners
// of the one on the plane, so it may be larger than the ground by some metres.
func (o *Operation) Bounds() (box [4]float64, ok bool) {
	x := o.extent
	if !x.some || o.Plane == nil {
		return box, false
	}
	for i, c := range [4]plane.Coord{x.lo, {X: x.lo.X, Y: x.hi.Y}, x.hi, {X: x.hi.X, Y: x.lo.Y}} {
		lat, lon := o.Plane.InverseCoord(c)
		if i == 0 {
			box = [4]float64{lon, lat, lon, lat}
		}
		box = [4]float64{min(box[0], lon), min(box[1], lat), max(box[2], lon), max(box[3], lat)}
	}
	return box, true
}
