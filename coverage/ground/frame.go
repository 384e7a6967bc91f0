package ground

import (
	"math"

	"drawbar/coverage/plane"
)

// rowHeight is the distance between scanlines: 5 cm in steps of 0.1 mm.
const rowHeight = 500

// fixedBits is the scale of the rotation's cosine and sine: 2^30.
const fixedBits = 30

// frame is where the scanlines lie: a rotation about an origin. The scanlines
// run along its x axis, row r at y = 500 r + 250 steps of 0.1 mm.
type frame struct {
	origin   plane.Coord
	cos, sin int64 // direction of the x axis, as fractions of 2^30
}

// point is a place in the frame, steps of 0.1 mm.
type point struct{ x, y int64 }

// newFrame is a frame whose x axis runs along (x, y), which must not be zero.
// Products are rounded one by one so that every CPU finds the same frame.
func newFrame(origin plane.Coord, x, y float64) frame {
	length := math.Sqrt(float64(x*x) + float64(y*y))
	return frame{
		origin: origin,
		cos:    int64(math.Round(float64(x/length) * (1 << fixedBits))),
		sin:    int64(math.Round(float64(y/length) * (1 << fixedBits))),
	}
}

// scan turns a place on the plane into the frame. The place must be within
// maxReach of the origin.
func (f frame) scan(c plane.Coord) point {
	dx, dy := c.X-f.origin.X, c.Y-f.origin.Y
	const half = 1 << (fixedBits - 1)
	return point{
		x: (f.cos*dx + f.sin*dy + half) >> fixedBits,
		y: (f.cos*dy - f.sin*dx + half) >> fixedBits,
	}
}

// plane turns a place in the frame back into one on the plane, to the nearest
// 0.1 mm.
func (f frame) plane(p point) plane.Coord {
	const half = 1 << (fixedBits - 1)
	return plane.Coord{
		X: f.origin.X + (f.cos*p.x-f.sin*p.y+half)>>fixedBits,
		Y: f.origin.Y + (f.sin*p.x+f.cos*p.y+half)>>fixedBits,
	}
}
