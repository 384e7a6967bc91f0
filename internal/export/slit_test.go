package export

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"pgregory.net/rapid"

	"drawbar/coverage/plane"
)

// A slit that is valid on the plane's grid and wider than a hundredth of a
// millimetre is valid as it is written in degrees. Its sides are short: one of 20 m
// that is straight on the plane bends by as much as the slit is wide. The reference is the simple features rule in the library
// simplefeatures.
func TestThinShapesStayValid(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		pl := plane.New(float64(rapid.IntRange(-70, 70).Draw(rt, "lat")), float64(rapid.IntRange(-179, 179).Draw(rt, "lon")))
		lengthM := float64(rapid.IntRange(1, 5).Draw(rt, "length"))
		sin, cos := math.Sincos(rapid.Float64Range(0, 2*math.Pi).Draw(rt, "direction"))
		corner := func(along float64, label string) plane.Coord {
			off := float64(rapid.IntRange(-3, 3).Draw(rt, label)) / 1e4
			return plane.Snap(along*lengthM*sin+off*cos, along*lengthM*cos-off*sin)
		}
		corners := []plane.Coord{corner(0, "a"), corner(0.3, "b"), corner(1, "c"), corner(0.5, "d"), corner(0.1, "e")}
		corners = append(corners, corners[0])
		var flatM []float64
		var r ring
		for _, c := range corners {
			x, y := c.M()
			flatM = append(flatM, x, y)
			lat, lon := pl.Inverse(x, y)
			r = append(r, [2]float64{lon, lat})
		}
		if valid(flatM) != nil || closest(corners) < 1e-5 {
			return // nothing to keep, or sides that touch
		}
		var flat []float64
		for _, ring := range read(t, write(t, func(dst []byte) []byte { return appendPolygons(dst, []polygon{{r}}) })).(orb.Polygon) {
			for _, p := range ring {
				flat = append(flat, p[0], p[1])
			}
		}
		if err := valid(flat); err != nil {
			rt.Fatalf("corners %v on the plane are valid, written as %v: %v", corners, flat, err)
		}
	})
}

// valid is what is wrong with a ring by the simple features rule.
func valid(flat []float64) error {
	return geom.NewPolygon([]geom.LineString{geom.NewLineString(geom.NewSequence(flat, geom.DimXY))}).Validate()
}

// closest is the smallest distance of a corner from a side that it is no end of,
// in metres.
func closest(corners []plane.Coord) float64 {
	least := math.Inf(1)
	n := len(corners) - 1
	for i := range n {
		for k := range n {
			if k == i || (k+1)%n == i {
				continue
			}
			px, py := corners[i].M()
			ax, ay := corners[k].M()
			bx, by := corners[k+1].M()
			dx, dy := bx-ax, by-ay
			t := 0.0
			if l := dx*dx + dy*dy; l > 0 {
				t = max(0, min(1, ((px-ax)*dx+(py-ay)*dy)/l))
			}
			least = min(least, math.Hypot(px-ax-t*dx, py-ay-t*dy))
		}
	}
	return least
}
