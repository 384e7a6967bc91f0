package sim

import (
	"math"
	"testing"
	"time"
)

// quiet runs a scenario and throws its lines away.
func quiet(t testing.TB, sc Scenario) *Truth {
	t.Helper()
	tr, err := Run(sc, func(time.Time, string, []byte) error { return nil })
	if err != nil {
		t.Fatalf("run: %v", err)
	}
	return tr
}

// near checks got against want within a share of want.
func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if math.Abs(got-want) > share*math.Abs(want) || math.IsNaN(got) {
		t.Errorf("%s = %.9g, want %.9g within %g (off by %.3g)", what, got, want, share, got/want-1)
	}
}

// TestParallelPasses: four sections on for exactly the length of each pass.
// Closed form: n W L. With W 12, S 11.4, L 400, n 10 applied is 48 000 m2,
// ground covered 45 840, overlap 2 160; with S 12.5 the skip is 1 800.
// The times of switching are whole microseconds, 3 micrometres at this speed.
func TestParallelPasses(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(10, 400, 12, 11.4)
	tr := quiet(t, sc)
	near(t, "gross", tr.GrossM2, 48_000, 1e-7)
	near(t, "covered", *tr.CoveredM2, 45_840, 1e-12)
	near(t, "overlap", *tr.OverlapM2, 2_160, 1e-12)
	near(t, "applied", tr.Tanks[0].Applied, 48_000*0.0112, 1e-7)
	near(t, "working distance", tr.WorkingDistanceM, 4_000, 1e-7)
	if got, want := len(tr.Switches), 10*4*2; got != want {
		t.Errorf("%d switchings, want %d", got, want)
	}
	tr = quiet(t, ParallelPasses(10, 400, 12, 12.5))
	near(t, "gross", tr.GrossM2, 48_000, 1e-7)
	if tr.SkipM2 != nil {
		t.Errorf("skip %v stated for passes apart: whether 0.5 m counts as a skip is the reader's rule", *tr.SkipM2)
	}
}

// TestCircle: a full turn sweeps 2 pi R W (Pappus's theorem) while the bar does
// not reach the centre, and pi ((R+w)^2 + (w-R)^2) where it does.
func TestCircle(t *testing.T) {
	t.Parallel()
	tr := quiet(t, Circle(30, 24))
	near(t, "gross, R 30 W 24", tr.GrossM2, 2*math.Pi*30*24, 1e-7)
	near(t, "closed form", tr.Closed.GrossM2, 2*math.Pi*30*24, 1e-12)
	// R 6, w 12: a quarter turn touches 282.743 m2; four of them.
	tr = quiet(t, Circle(6, 24))
	near(t, "gross, R 6 W 24", tr.GrossM2, 4*282.743339, 1e-7)
	near(t, "closed form", tr.Closed.GrossM2, 4*282.743339, 1e-8)
}

// TestPointedRows: W^2 / (2 n tan theta) beyond the edge; W 24 at 45 degrees:
// 288 m2 with one section, 36 with eight.
func TestPointedRows(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		deg, width float64
		n          int
		triangle   float64
	}{
		{45, 24, 1, 288}, {45, 24, 8, 36}, {30, 12, 1, 124.707658}, {60, 12, 1, 41.569219}, {45, 12, 1, 72},
	} {
		sc := PointedRows(c.deg*math.Pi/180, c.width, c.n)
		field := sc.Field.outline().areaM2()
		near(t, "field", field, 4*c.width*150, 1e-9)
		near(t, "outside by closed form", *sc.Closed.OutsideM2, 8*c.triangle, 1e-7)
		tr := quiet(t, sc)
		near(t, "gross", tr.GrossM2, field+8*c.triangle, 1e-6)
	}
}
