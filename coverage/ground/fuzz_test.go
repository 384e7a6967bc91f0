package ground

import (
	"math"
	"testing"

	"drawbar/coverage/plane"
)

// FuzzQuad feeds a set any two quads after a good one: nothing may panic or
// overflow, and the sums must hold.
func FuzzQuad(f *testing.F) {
	const top = math.MaxInt64
	f.Add(int64(0), int64(0), int64(0), int64(0), int64(0), int64(0), int64(0), int64(0), int64(1))
	f.Add(int64(0), int64(0), int64(50_000), int64(0), int64(0), int64(3000), int64(50_000), int64(3000), int64(3))
	f.Add(int64(top), int64(-top), int64(-top), int64(top), int64(top), int64(top), int64(-top-1), int64(-top-1), int64(top))
	f.Add(int64(maxReach), int64(-maxReach), int64(maxReach), int64(0), int64(0), int64(maxExtent), int64(0), int64(9), int64(-7))
	f.Add(int64(0), int64(0), int64(maxExtent), int64(1), int64(maxExtent), int64(2), int64(0), int64(3), int64(250))
	f.Fuzz(func(t *testing.T, ax, ay, bx, by, cx, cy, dx, dy, shift int64) {
		q := Quad{{X: ax, Y: ay}, {X: bx, Y: by}, {X: cx, Y: cy}, {X: dx, Y: dy}}
		other := q
		for i := range other {
			other[i].X += shift
			other[i].Y -= shift
		}
		s := New()
		s.Add(Quad{at(0, 0), at(12, 0), at(12, 1), at(0, 1)})
		first := s.Covered()
		newA, again := first, Area(0)
		refused := 0
		for _, v := range []Quad{q, other, q} {
			n, a := s.Add(v)
			if s.Refused() > refused && (n != 0 || a != 0) {
				t.Fatalf("%v refused and counted", v)
			}
			refused = s.Refused()
			if n < 0 || a < 0 || v.Area() < 0 {
				t.Fatalf("%v: new %d again %d area %d", v, n, a, v.Area())
			}
			if limit := 1.01*(maxExtent*maxExtent)/1e8 + 100; (n+a).M2() > limit*1.5 || v.Area().M2() > limit {
				t.Fatalf("%v: %g m2 on the scanlines, %g m2 by its corners", v, (n + a).M2(), v.Area().M2())
			}
			newA, again = newA+n, again+a
		}
		if s.Covered() != newA || s.Gross() != newA+again {
			t.Fatalf("%v: covered %d gross %d, sums %d %d", q, s.Covered(), s.Gross(), newA, newA+again)
		}
		lo, hi, ok := s.Bounds()
		if !ok || lo.X > 0 || hi.X < 12*plane.UnitsPerM {
			t.Fatalf("bounds %v %v %v", lo, hi, ok)
		}
		if w := s.Within([][]plane.Coord{q[:]}); w < 0 || w > s.Covered() {
			t.Fatalf("%v: %d within of %d", q, w, s.Covered())
		}
		for times := 1; times <= 2; times++ {
			out := s.Outline(times)
			if anyCrossing(out) {
				t.Fatalf("%v: outline %d crosses itself", q, times)
			}
			for _, p := range out {
				for i, r := range p {
					if a := (Polygon{r}).Area(); len(r) < 4 || r[0] != r[len(r)-1] || (a > 0) != (i == 0) {
						t.Fatalf("%v: outline %d has a ring %v of area %d", q, times, r, a)
					}
				}
			}
		}
	})
}
