package ground

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"drawbar/coverage/plane"
)

// A window on all of it shows the area of the scanlines, valid for GEOS
// (https://libgeos.org), the coarser the less exactly.
func TestWindowOnAll(t *testing.T) {
	t.Parallel()
	d := drive{widthM: 120, lengthM: 100, barM: 12, sections: 4, overlapM: 0.6, stepM: 0.5, noiseM: 0.02, angleDeg: 31, switching: 0.01, headland: true, seed: 4}
	s := New()
	d.each(func(step []Quad) {
		for _, q := range step {
			s.Add(q)
		}
	})
	lo, hi, _ := s.Bounds()
	for _, c := range []struct {
		coarse int64
		ppm    float64 // of the covered ground
	}{{0, 200}, {500, 200}, {2_000, 1_000}, {5_000, 5_000}} {
		for times := 1; times <= 2; times++ {
			got := geos(t, question{outline: s.Window(lo, hi, c.coarse, times)})
			if len(got.Bad) > 0 {
				t.Errorf("coarse %d, times %d: %q", c.coarse, times, got.Bad)
			}
			want := s.stack(times, 8).area.M2()
			if off := ppm(got.OutlineM2, want, s.Covered().M2()); off > c.ppm || off < -c.ppm {
				t.Errorf("coarse %d, times %d: %.2f m2, scanlines %.2f: off by %.0f ppm", c.coarse, times, got.OutlineM2, want, off)
			}
			if off := ppm(got.ApartM2, got.OutlineM2, got.OutlineM2); off > 1 || off < -1 {
				t.Errorf("coarse %d, times %d: polygons overlap: %.3f m2, union %.3f", c.coarse, times, got.OutlineM2, got.ApartM2)
			}
		}
	}
}

// Windows that tile a field show together what one on all of it shows.
func TestWindowsTogether(t *testing.T) {
	t.Parallel()
	s := New()
	for i := range 6 {
		pass(s, float64(11*i), -6, 6, 0, 90)
	}
	lo, hi, _ := s.Bounds()
	for _, coarse := range []int64{500, 2_000} {
		sum := Area(0)
		const cell = 17 * plane.UnitsPerM
		for x := lo.X; x < hi.X; x += cell {
			for y := lo.Y; y < hi.Y; y += cell {
				for _, p := range s.Window(plane.Coord{X: x, Y: y}, plane.Coord{X: x + cell, Y: y + cell}, coarse, 1) {
					sum += p.Area()
				}
			}
		}
		want := s.Covered().M2()
		if off := ppm(sum.M2(), want, want); off > 5000 || off < -5000 {
			t.Errorf("coarse %d: windows of %.2f m2 together, covered %.2f", coarse, sum.M2(), want)
		}
	}
}

// Passes that miss one another by 5 cm look whole from afar and apart from near;
// overlap of 20 cm is seen from near and not from afar.
func TestWindowFromAfar(t *testing.T) {
	t.Parallel()
	apart, over := New(), New()
	for i := range 5 {
		pass(apart, 12.05*float64(i), -6, 6, 0, 60)
		pass(over, 11.8*float64(i), -6, 6, 0, 60)
	}
	for _, c := range []struct {
		name   string
		set    *Set
		times  int
		coarse int64
		want   int // polygons
	}{
		{"apart, near", apart, 1, 200, 5}, {"apart, afar", apart, 1, 5_000, 1},
		{"over, near", over, 2, 500, 4}, {"over, afar", over, 2, 10_000, 0},
		{"over, covered", over, 1, 10_000, 1},
	} {
		lo, hi, _ := c.set.Bounds()
		if got := c.set.Window(lo, hi, c.coarse, c.times); len(got) != c.want {
			t.Errorf("%s: %d polygons, want %d", c.name, len(got), c.want)
		}
	}
}

// A window depends on what lies in it alone.
func TestWindowIsLocal(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 3))
	s := New()
	for i := range 8 {
		pass(s, float64(11*i), -6, 6, 0, 90)
	}
	lo, hi := plane.Coord{X: 10_000, Y: 10_000}, plane.Coord{X: 300_000, Y: 400_000}
	before := s.Clone()
	for range 50 { // far to the right of it
		x := 400_000 + rng.Int64N(2_000_000)
		y := rng.Int64N(2_000_000) - 1_000_000
		s.Add(Quad{{X: x, Y: y}, {X: x + 120_000, Y: y}, {X: x + 120_000, Y: y + 5000}, {X: x, Y: y + 5000}})
	}
	if !s.SameLines(before) {
		t.Fatal("the scanlines were turned: the test shows nothing")
	}
	for _, coarse := range []int64{0, 700, 4_000, 30_000} {
		for times := 1; times <= 2; times++ {
			a, b := before.Window(lo, hi, coarse, times), s.Window(lo, hi, coarse, times)
			same := slices.EqualFunc(a, b, func(p, q Polygon) bool {
				return slices.EqualFunc(p, q, func(r, t []plane.Coord) bool { return slices.Equal(r, t) })
			})
			if !same {
				t.Errorf("coarse %d, times %d: %v, want %v", coarse, times, b, a)
			}
		}
	}
}

// Boxes and figures that make no sense show nothing, or all there is.
func TestWindowOfNothing(t *testing.T) {
	t.Parallel()
	s := New()
	if got := s.Window(plane.Coord{}, plane.Coord{X: 1, Y: 1}, 5, 1); got != nil {
		t.Errorf("of an empty set: %v", got)
	}
	pass(s, 0, -6, 6, 0, 40)
	far := plane.Coord{X: 1 << 52, Y: 1 << 52}
	near := plane.Coord{X: -1 << 52, Y: -1 << 52}
	if got := s.Window(near, far, -3, 1); len(got) != 1 {
		t.Errorf("of everything: %d polygons, want 1", len(got))
	}
	for _, c := range []struct {
		lo, hi plane.Coord
		coarse int64
		times  int
	}{{far, near, 5, 1}, {near, far, 5, 0}, {near, far, 5, 3}, {far, far, 5, 1}, {near, far, 1 << 60, 2}} {
		if got := s.Window(c.lo, c.hi, c.coarse, c.times); len(got) != 0 {
			t.Errorf("%+v: %v, want nothing", c, got)
		}
	}
}

// BenchmarkWindow is a window on a field, as coarse as a tile of the zoom that shows
// all of it, and one of 370 m, as a tile of zoom 16.
func BenchmarkWindow(b *testing.B) {
	for _, ha := range []float64{65, 1000} {
		d, _ := misses(ha)
		d.overlapM, d.noiseM = 0.3, 0.02
		s := New()
		d.each(func(step []Quad) {
			for _, q := range step {
				s.Add(q)
			}
		})
		lo, hi, _ := s.Bounds()
		mid := plane.Coord{X: (lo.X + hi.X) / 2, Y: (lo.Y + hi.Y) / 2}
		near := plane.Coord{X: mid.X + 3_700_000, Y: mid.Y + 3_700_000}
		for times := 1; times <= 2; times++ {
			b.Run(fmt.Sprintf("ha=%.0f/all/times=%d", ha, times), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					s.Window(lo, hi, (hi.X-lo.X)/2048, times)
				}
			})
			b.Run(fmt.Sprintf("ha=%.0f/370m/times=%d", ha, times), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					s.Window(mid, near, 1800, times)
				}
			})
		}
	}
}
