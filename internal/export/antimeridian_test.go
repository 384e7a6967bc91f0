package export

import (
	"math"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"pgregory.net/rapid"
)

// flat is a polygon for the reference library, longitudes counted on past 180.
func flat(p polygon, on bool) geom.Polygon {
	var rings []geom.LineString
	for _, r := range p {
		var xy []float64
		for _, c := range r {
			if on && c[0] < 0 {
				c[0] += 360
			}
			xy = append(xy, c[0], c[1])
		}
		rings = append(rings, geom.NewLineString(geom.NewSequence(xy, geom.DimXY)))
	}
	return geom.NewPolygon(rings)
}

// checkCut compares the parts of a cut polygon with the whole: each valid by the
// simple features rule, each on one side of the meridian, the areas the same.
func checkCut(t interface {
	Fatalf(format string, args ...any)
}, p polygon) []polygon {
	whole := flat(p, true)
	if err := whole.Validate(); err != nil {
		return nil // no polygon to begin with
	}
	parts := cutPolygons([]polygon{p})
	area := 0.0
	for _, part := range parts {
		g := flat(part, false)
		if err := g.Validate(); err != nil {
			t.Fatalf("cut of %v: part %v: %v", p, part, err)
		}
		for _, c := range part[0] {
			if c[0]*part[0][0][0] < 0 {
				t.Fatalf("cut of %v: part %v lies on both sides", p, part)
			}
		}
		area += g.Area()
	}
	if math.Abs(area-whole.Area()) > 1e-9 {
		t.Fatalf("cut of %v: got area %g of %v, want %g", p, area, parts, whole.Area())
	}
	return parts
}

// A comb that reaches over the meridian is several parts on the far side; a hole
// on the meridian becomes part of the outlines, one beside it stays a hole.
// RFC 7946, section 3.1.9: each part without a crossing.
func TestCutManyParts(t *testing.T) {
	t.Parallel()
	comb := ring{{179.8, -17}, {-179.9, -17}, {-179.9, -16.9}, {179.95, -16.9}, {179.95, -16.8}, {-179.9, -16.8}, {-179.9, -16.7},
		{179.95, -16.7}, {179.95, -16.6}, {-179.8, -16.6}, {-179.8, -16.5}, {179.8, -16.5}, {179.8, -17}}
	across := ring{{179.98, -16.56}, {-179.98, -16.56}, {-179.98, -16.54}, {179.98, -16.54}, {179.98, -16.56}}
	beside := ring{{179.85, -16.9}, {179.86, -16.9}, {179.86, -16.89}, {179.85, -16.9}}
	beyond := ring{{-179.95, -16.76}, {-179.93, -16.76}, {-179.93, -16.74}, {-179.95, -16.76}}
	tests := []struct {
		name         string
		in           polygon
		parts, holes int
	}{
		{"comb", polygon{comb}, 1 + 3, 0},
		{"hole across", polygon{comb, across}, 1 + 3, 0},
		{"holes", polygon{comb, across, beside, beyond}, 1 + 3, 2},
		{"corner on the meridian", polygon{{{180, -17}, {-179.9, -17}, {-179.9, -16.9}, {179.9, -16.9}, {180, -17}}}, 2, 0},
		{"side on the meridian", polygon{{{180, -17}, {-179.9, -17}, {-179.9, -16.9}, {180, -16.9}, {180, -17}}}, 1, 0},
	}
	for _, tt := range tests {
		parts := checkCut(t, tt.in)
		holes := 0
		for _, p := range parts {
			holes += len(p) - 1
		}
		if len(parts) != tt.parts || holes != tt.holes {
			t.Errorf("%s: got %d parts with %d holes, want %d with %d: %v", tt.name, len(parts), holes, tt.parts, tt.holes, parts)
		}
	}
}

// Whatever a ring around a centre on the meridian looks like, its cut is valid
// and has its area; the reference is the library simplefeatures.
func TestCutAnyStar(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		star := func(lo, hi int) ring {
			var r ring
			n := rapid.IntRange(3, 40).Draw(t, "corners")
			for i := range n {
				d := float64(rapid.IntRange(lo, hi).Draw(t, "reach")) / 1e4
				a := 2 * math.Pi * float64(i) / float64(n)
				lon := 180 + d*math.Cos(a)
				if lon > 180 {
					lon -= 360
				}
				r = append(r, [2]float64{lon, -17 + d*math.Sin(a)})
			}
			return append(r, r[0])
		}
		p := polygon{star(20, 100)}
		if rapid.Bool().Draw(t, "hole") {
			p = append(p, star(1, 9))
		}
		checkCut(t, p)
	})
}
