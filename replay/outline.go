package replay

import (
	"drawbar/coverage"

	"github.com/paulmach/orb"
)

// Outline is a field's boundary as it is exchanged: longitude before latitude,
// WGS 84 degrees.
type Outline orb.MultiPolygon

// Boundary is the outline as the engine takes it.
func (o Outline) Boundary() coverage.Boundary {
	var out coverage.Boundary
	for _, polygon := range o {
		rings := make([][][2]float64, 0, len(polygon))
		for _, ring := range polygon {
			points := make([][2]float64, 0, len(ring))
			for _, p := range ring {
				points = append(points, p)
			}
			rings = append(rings, points)
		}
		out = append(out, rings)
	}
	return out
}
