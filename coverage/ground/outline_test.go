package ground

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"drawbar/coverage/plane"
)

// Clutter: quads of all shapes across one another, slits, slivers, crumbs.
// Outlines must be valid for GEOS (https://libgeos.org) and keep the area.
func TestOutlineOfClutter(t *testing.T) {
	t.Parallel()
	for seed := range uint64(10) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(seed, 5))
			var quads []Quad
			for range 60 {
				x, y := rng.Int64N(600_000), rng.Int64N(600_000)
				near := func() plane.Coord {
					long := int64(1000) << rng.IntN(9)
					return plane.Coord{X: x + rng.Int64N(long) - long/2, Y: y + rng.Int64N(long) - long/2}
				}
				q := Quad{near(), near(), near(), near()}
				quads = append(quads, q)
				if len(quads)%3 == 0 { // the same again, a hair aside
					for i := range q {
						q[i].X += rng.Int64N(41) - 20
						q[i].Y += rng.Int64N(41) - 20
					}
					quads = append(quads, q)
				}
			}
			s := add(quads)
			for times := 1; times <= 2; times++ {
				outline := s.Outline(times)
				got := geos(t, question{quads: quads, outline: outline})
				if len(got.Bad) > 0 {
					t.Errorf("times %d: %q", times, got.Bad)
				}
				whole := s.stack(times, 8).area.M2()
				if off := ppm(got.OutlineM2, whole, whole); off > 100 || off < -100 {
					t.Errorf("times %d: outline of %.3f m2, scanlines %.3f: off by %.0f ppm", times, got.OutlineM2, whole, off)
				}
				if off := ppm(got.ApartM2, got.OutlineM2, got.OutlineM2); off > 0.1 || off < -0.1 {
					t.Errorf("times %d: polygons overlap: %.4f m2, union %.4f", times, got.OutlineM2, got.ApartM2)
				}
			}
		})
	}
}

// Square shapes have the corners they should have, and no more.
func TestOutlineOfASquareWithAHole(t *testing.T) {
	t.Parallel()
	s := New()
	pass(s, 5, -5, 5, 0, 40)
	pass(s, 25, -5, 5, 0, 40)
	pass(s, 15, -5, 5, 0, 10)
	pass(s, 15, -5, 5, 30, 40)
	out := s.Outline(1)
	if len(out) != 1 || len(out[0]) != 2 {
		t.Fatalf("%d polygons, want one with one hole: %v", len(out), out)
	}
	for i, r := range out[0] {
		if len(r) > 40 {
			t.Errorf("ring %d has %d corners for a square", i, len(r))
		}
	}
	near1e6(t, "outline", out[0].Area().M2(), 1200-200, 30_000)
	if again := s.Outline(2); len(again) != 0 {
		t.Errorf("ground covered twice: %v, want none", again)
	}
	if other := s.Outline(3); other != nil {
		t.Errorf("times 3: %v, want nil", other)
	}
}
