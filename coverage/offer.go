package coverage

import "drawbar/coverage/plane"

// BoundaryFromWork is a boundary made from the ground that the operation covered:
// its outline with all filled that a bar could not enter, simplified to 0.1 m.
// It is an offer for a field that has none; false where nothing was worked.
func (o *Operation) BoundaryFromWork() (Boundary, bool) {
	set := o.Ground()
	if set == nil || o.skipRule.barM <= 0 {
		return nil, false
	}
	var out Boundary
	for _, p := range set.Closing(steps01mm(o.skipRule.barM), plane.UnitsPerM/10) {
		var polygon [][][2]float64
		for _, ring := range p {
			corners := make([][2]float64, 0, len(ring))
			for _, c := range ring {
				lat, lon := o.Plane.InverseCoord(c)
				corners = append(corners, [2]float64{lon, lat})
			}
			polygon = append(polygon, corners)
		}
		out = append(out, polygon)
	}
	return out, len(out) > 0
}
