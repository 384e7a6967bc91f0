package server

import (
	"math"
	"sync"

	"drawbar/coverage/plane"
	"drawbar/internal/boundary"
)

// landCache keeps what has to be worked out of the known fields once: as long as they
// are the same slice, they are the same fields.
type landCache struct {
	mu    sync.Mutex
	known []boundary.Field
	land  []land
}

// land is an outline on a plane of its own.
type land struct {
	areaM2 *float64
	flat   *plane.Plane   // through the first corner; nil: no corners, or farther apart than a plane reaches
	rings  [][][2]float64 // m, x and y
}

func (c *landCache) of(known []boundary.Field) []land {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(known) == len(c.known) && (len(known) == 0 || &known[0] == &c.known[0]) {
		return c.land
	}
	c.known, c.land = known, make([]land, len(known))
	for i, f := range known {
		c.land[i] = landOf(f)
	}
	return c.land
}

func landOf(f boundary.Field) (l land) {
	area, ok := f.AreaM2, f.AreaM2 > 0
	if !ok {
		area, ok = boundary.AreaM2(f.Outline)
	}
	l.areaM2 = only(area, ok)
	for _, polygon := range f.Outline {
		for _, ring := range polygon {
			flat := make([][2]float64, len(ring))
			for i, corner := range ring {
				if l.flat == nil {
					l.flat = plane.New(corner[1], corner[0])
				}
				x, y, ok := l.flat.Forward(corner[1], corner[0])
				if !ok {
					return land{areaM2: l.areaM2}
				}
				flat[i] = [2]float64{x, y}
			}
			l.rings = append(l.rings, flat)
		}
	}
	return l
}

// distanceM is how far a position is from the outline: 0 inside, nil where that is
// out of the plane's reach. The plane is true at the outline, so that a near position
// is right to the millimetre and one 100 km away to a part in ten thousand.
func (l *land) distanceM(latDeg, lonDeg float64) *float64 {
	if l.flat == nil {
		return nil
	}
	x, y, ok := l.flat.Forward(latDeg, lonDeg)
	if !ok {
		return nil
	}
	least, inside := math.Inf(1), false
	for _, ring := range l.rings {
		for i := 1; i < len(ring); i++ {
			x0, y0, x1, y1 := ring[i-1][0]-x, ring[i-1][1]-y, ring[i][0]-x, ring[i][1]-y
			least = min(least, fromSide2(x0, y0, x1, y1))
			if (y0 > 0) != (y1 > 0) && x0-y0*(x1-x0)/(y1-y0) > 0 { // the side crosses the ray to the east
				inside = !inside
			}
		}
	}
	if inside {
		least = 0
	}
	return only(math.Sqrt(least), !math.IsInf(least, 0))
}

// fromSide2 is the square of the distance of the origin from a side.
func fromSide2(x0, y0, x1, y1 float64) float64 {
	dx, dy := x1-x0, y1-y0
	along := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		along = max(0, min(1, -(x0*dx+y0*dy)/l))
	}
	x, y := x0+along*dx, y0+along*dy
	return x*x + y*y
}
