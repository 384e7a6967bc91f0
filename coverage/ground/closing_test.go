package ground

import (
	"math"
	"testing"

	"drawbar/coverage/plane"
)

// The closing of made-up fields beside GEOS's buffers on the same quads: valid,
// area within 0.05 % and 5 cm along the outline, half of what a side may be off.
func TestClosingAgainstGEOS(t *testing.T) {
	t.Parallel()
	for _, f := range missFields() {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			quads := f.quads()
			s := add(quads)
			rule := f.rule()
			out := s.Closing(rule.Width, plane.UnitsPerM/10)
			got := geos(t, question{quads: quads, outline: out})
			if len(got.Bad) > 0 {
				t.Errorf("not valid: %q", got.Bad)
			}
			// Without a boundary GEOS's skips are what the closing adds.
			rule.Field, rule.MinArea = nil, 0
			want := s.Covered().M2()
			for _, p := range geosSkips(t, quads, rule).Parts {
				want += p.AreaM2
			}
			if off := math.Abs(got.OutlineM2 - want); off > 0.0005*want+0.05*perimeterM(out) {
				t.Errorf("closing of %.2f m2, GEOS %.2f", got.OutlineM2, want)
			}
			t.Logf("%.2f m2, GEOS %.2f, %d corners of %d", got.OutlineM2, want, countCorners(out), countCorners(s.Outline(1)))
		})
	}
}

// A rectangle of passes with gaps, a hole wider than the bar, and a crumb far
// off: the rectangle with the hole.
func TestClosingMakesABoundary(t *testing.T) {
	t.Parallel()
	f := missField{turnDeg: 33}
	for i, x := range []float64{6, 18.4, 30.3, 42.3, 54.3} {
		f.sweep(straight(x, 0, x, 120, 0.5), sections(1, 12), func(_ int, p xy) bool { return i != 2 && i != 3 || p.y < 50 || p.y > 75 })
	}
	f.sweep(straight(200, 0, 200, 5, 0.5), sections(1, 12), nil)
	out := add(f.quads()).Closing(12*plane.UnitsPerM, plane.UnitsPerM/10)
	if len(out) != 1 || len(out[0]) != 2 {
		t.Fatalf("%d polygons, want one with one hole", len(out))
	}
	// The hole is 23.9 m by 25.5 m, its corners rounded by the disc of 12 m.
	want := 60.3*120 - (23.9*25.5 - (4-math.Pi)*36)
	if got := out[0].Area().M2(); math.Abs(got-want) > 3 {
		t.Errorf("closing of %.2f m2, want %.2f", got, want)
	}
	if n := countCorners(out); n > 60 {
		t.Errorf("%d corners for two rectangles", n)
	}
	if got := New().Closing(120_000, 1000); len(got) != 0 {
		t.Errorf("of no ground: %v", got)
	}
}
