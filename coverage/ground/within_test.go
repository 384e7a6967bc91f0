package ground

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/peterstace/simplefeatures/geom"

	"drawbar/coverage/plane"
)

// Ground within a boundary of any shape, as GEOS (https://libgeos.org) finds it
// in the union of the same quads.
func TestWithinAgainstGEOS(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		quads := randomDrive(seed + 20).quads()
		s := add(quads)
		lo, hi, _ := s.Bounds()
		rng := rand.New(rand.NewPCG(seed, 4))
		cx, cy := float64(lo.X+hi.X)/2, float64(lo.Y+hi.Y)/2
		star := func(size float64, n int) (ring []plane.Coord) {
			for i := range n {
				sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
				r := size * (0.6 + 0.4*rng.Float64())
				ring = append(ring, plane.Coord{X: int64(cx + r*cos), Y: int64(cy + r*sin)})
			}
			return append(ring, ring[0])
		}
		outer, hole := star(float64(hi.X-lo.X)/2, 17), star(float64(hi.X-lo.X)/8, 9)
		want := geos(t, question{quads: quads, boundary: []Polygon{{outer, hole}}})
		if want.WithinM2 < 100 {
			t.Fatalf("seed %d: only %.1f m2 within", seed, want.WithinM2)
		}
		got := s.Within([][]plane.Coord{outer, hole}).M2()
		// A boundary may run along the scanlines for a while.
		if off := ppm(got, want.WithinM2, want.GrossM2); math.Abs(off) > 20 {
			t.Errorf("seed %d: %.3f m2 within, want %.3f: off by %.1f ppm of gross", seed, got, want.WithinM2, off)
		}
	}
}

func TestWithinBoundaries(t *testing.T) {
	t.Parallel()
	s := New()
	pass(s, 0, -6, 6, 0, 100)
	box := func(x0, y0, x1, y1 float64) []plane.Coord {
		return []plane.Coord{tilt(x0, y0), tilt(x1, y0), tilt(x1, y1), tilt(x0, y1)}
	}
	reversed := box(-3, 40, 20, 60)
	reversed[1], reversed[3] = reversed[3], reversed[1]
	const far = math.MaxInt64
	tests := []struct {
		name  string
		rings [][]plane.Coord
		want  float64
	}{
		{"none", nil, 0},
		{"an empty ring", [][]plane.Coord{{}}, 0},
		{"a line", [][]plane.Coord{{tilt(-9, 5), tilt(9, 50)}}, 0},
		{"all of it", [][]plane.Coord{box(-50, -50, 50, 150)}, 1200},
		{"half of it", [][]plane.Coord{box(0, -50, 50, 150)}, 600},
		{"elsewhere", [][]plane.Coord{box(100, 0, 200, 100)}, 0},
		{"with a hole", [][]plane.Coord{box(-50, -50, 50, 150), box(-3, 40, 20, 60)}, 1200 - 9*20},
		{"hole the other way round", [][]plane.Coord{box(-50, -50, 50, 150), reversed}, 1200 - 9*20},
		{"two parts", [][]plane.Coord{box(-50, -50, 50, 10), box(-50, 90, 50, 150)}, 240},
		{"the whole earth", [][]plane.Coord{{{X: -far, Y: -far}, {X: far, Y: -far}, {X: far, Y: far}, {X: -far, Y: far}}}, 1200},
		{"500 km", [][]plane.Coord{box(-250_000, -250_000, 250_000, 50)}, 600},
	}
	for _, tt := range tests {
		if got := s.Within(tt.rings).M2(); math.Abs(got-tt.want) > 0.02 {
			t.Errorf("%s: %.4f m2, want %g", tt.name, got, tt.want)
		}
	}
}

// Small sets once more against another library, simplefeatures
// (https://github.com/peterstace/simplefeatures).
func TestUnionAgainstSimplefeatures(t *testing.T) {
	t.Parallel()
	for seed := range uint64(6) {
		d := randomDrive(seed + 40)
		d.widthM, d.lengthM, d.barM, d.sections, d.overlapM, d.turnM, d.headland = 26, 30, 6, 2, 0.4, 0, false
		d.curveM, d.stepM = 0, 0.5
		quads := d.quads()
		var parts []geom.Geometry
		for _, q := range quads {
			if q.Area() == 0 {
				t.Fatalf("seed %d: quad %v without area", seed, q)
			}
			var flat []float64
			for _, c := range append(q[:], q[0]) {
				flat = append(flat, float64(c.X)/1e4, float64(c.Y)/1e4)
			}
			parts = append(parts, geom.NewPolygon([]geom.LineString{geom.NewLineString(geom.NewSequence(flat, geom.DimXY))}).AsGeometry())
		}
		union, err := geom.UnionMany(parts)
		if err != nil {
			t.Fatalf("seed %d: simplefeatures: %v", seed, err)
		}
		s := add(quads)
		if off := ppm(s.Covered().M2(), union.Area(), s.Gross().M2()); math.Abs(off) > 20 {
			t.Errorf("seed %d: %.4f m2 covered, want %.4f: off by %.1f ppm of gross", seed, s.Covered().M2(), union.Area(), off)
		}
	}
}
