package coverage

import (
	"fmt"
	"math"
	"testing"
	"time"

	"drawbar/coverage/ground"
)

// Defaults: the smaller of half the bar and 1.4 times the widest section, 1 m at
// least; a twelfth of its square, 1 m2 at least.
func TestSkipRule(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		limits         Limits
		sections       []float64
		width, leastM2 float64
	}{
		{Limits{}, []float64{3, 3, 3, 3}, 4.2, 1.47},
		{Limits{}, []float64{12}, 6, 3},
		{Limits{}, []float64{0.5, 0.5, 0.5, 0.5}, 1, 1},
		{Limits{}, []float64{0.5, 0.5}, 0.5, 1},
		{Limits{}, []float64{4, 2, 2, 8}, 8, 64.0 / 12},
		{Limits{SkipWidthM: 2.5}, []float64{3, 3, 3, 3}, 2.5, 1},
		{Limits{SkipWidthM: 12, SkipMinAreaM2: 0.5}, []float64{3, 3}, 12, 0.5},
	} {
		got := c.limits.skipRule(rigid(c.sections...))
		near(t, fmt.Sprintf("width of %+v", c), got.widthM, c.width, 1e-9)
		near(t, fmt.Sprintf("least area of %+v", c), got.leastM2, c.leastM2, 1e-9)
	}
}

// missing drives two passes of 12 m and 200 m with 1 m between them, then one far
// off, then over the gap, and calls look at every second.
func missing(d *driver, look func(s float64)) {
	pass := func(t0, x float64, north bool) {
		for i := range 801 {
			s := t0 + float64(i)/10
			y := float64(i) * 0.25
			if !north {
				y = 200 - y
			}
			if i%2 == 0 {
				d.report(s, "1111", 100)
			}
			d.fix(s, x, y)
			if i%10 == 0 {
				look(s)
			}
		}
	}
	pass(0, 0, true)
	pass(100, 13, false)
	pass(200, 40, true)
	pass(300, 6.5, false)
}

// A gap of 1 m by 200 m: provisional while the bar is near, then open, closed when
// it is driven over; rounded off at both ends by a disc of 4.2 m, which takes
// r² asin(0.5/r) - 0.5 sqrt(r² - 0.25) of each, 0.04 m2.
func TestSkipArisesAndCloses(t *testing.T) {
	t.Parallel()
	for _, boundary := range []bool{false, true} {
		d := newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
		if boundary {
			var ring [][2]float64
			for _, p := range [][2]float64{{-6, 0}, {60, 0}, {60, 200}, {-6, 200}, {-6, 0}} {
				lat, lon := d.plane.Inverse(p[0], p[1])
				ring = append(ring, [2]float64{lon, lat})
			}
			b := Boundary{{ring}}
			d.e.Say(Statement{At: at(-1), Boundary: &b})
		}
		seen := map[float64]Skip{}
		areas := map[float64]float64{}
		missing(d, func(s float64) {
			op := d.e.Operations()[0]
			for _, k := range op.Skips() {
				seen[s] = k
			}
			areas[s], _ = op.SkipM2()
		})
		d.e.Finish()
		op := d.e.Operations()[0]
		name := fmt.Sprintf("boundary %v: ", boundary)
		near(t, name+"skip half way along", areas[140], 100, 8)
		near(t, name+"skip once made", areas[180], 200, 0.7)
		near(t, name+"skip once half closed", areas[340], 100, 3)
		near(t, name+"skip once closed", areas[380], 0, 1e-9)
		for _, c := range []struct {
			s     float64
			state SkipState
		}{{130, SkipProvisional}, {180, SkipProvisional}, {203, SkipOpen}, {260, SkipOpen}, {330, SkipProvisional}, {380, SkipClosed}} {
			if got, ok := seen[c.s]; !ok || got.State != c.state {
				t.Errorf("%sat %g s: got %v (there %v), want %v", name, c.s, got.State, ok, c.state)
			}
		}
		skips := op.Skips()
		if len(skips) != 1 {
			t.Fatalf("%sgot %d skips, want 1: %+v", name, len(skips), skips)
		}
		k := skips[0]
		near(t, name+"area of the closed one, at its largest", k.AreaM2, 200, 0.7)
		near(t, name+"width", k.WidthM, 1, 0.1)
		near(t, name+"length", k.LengthM, 200, 1)
		x, y, _ := d.plane.Forward(k.LatDeg, k.LonDeg)
		near(t, name+"position across", x, 6.5, 0.5)
		near(t, name+"position along", y, 100, 1)
		if off := k.Since.Sub(at(100)).Seconds(); off < 0 || off > 5 {
			t.Errorf("%ssince %v, want within 5 s of %v", name, k.Since, at(100))
		}
		if off := k.Closed.Sub(at(380)).Seconds(); math.Abs(off) > 2 {
			t.Errorf("%sclosed %v, want within 2 s of %v", name, k.Closed, at(380))
		}
		var area ground.Area
		for _, p := range k.Outline() {
			area += p.Area()
		}
		near(t, name+"area of the outline", area.M2(), k.AreaM2, 0.02)
		remaining, ok := op.RemainingM2()
		if ok != boundary {
			t.Errorf("%sremaining known %v", name, ok)
		}
		if boundary {
			// 19 to 34 m and 46 to 60 m east were never worked; the gap is gone.
			near(t, name+"remaining", remaining, 200*(15+14), 0.5)
		}
	}
}

// Whoever watches, and however often, the skips that are remembered are the same.
func TestSkipsOfAWatchedRun(t *testing.T) {
	t.Parallel()
	run := func(look func(d *driver, s float64)) string {
		d := newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
		missing(d, func(s float64) { look(d, s) })
		d.e.Finish()
		op := d.e.Operations()[0]
		area, _ := op.SkipM2()
		return fmt.Sprintf("%.4f %v", area, describe(op.Skips()))
	}
	want := run(func(*driver, float64) {})
	for _, every := range []float64{1, 7} {
		got := run(func(d *driver, s float64) {
			if math.Mod(s, every) != 0 {
				return
			}
			n := d.e.Snapshot()
			if s == 180 && (!n.Operation.HasSkip || math.Abs(n.Operation.SkipM2-200) > 0.7) {
				t.Errorf("snapshot at 180 s: %+v, want a skip of 200 m2", n.Operation)
			}
			d.e.Operations()[0].Skips()
		})
		if got != want {
			t.Errorf("looked at every %g s:\ngot  %s\nwant %s", every, got, want)
		}
	}
}

func describe(skips []Skip) (out []string) {
	for _, s := range skips {
		out = append(out, fmt.Sprintf("%s %.4f m2, %.3f x %.3f m at %.9f %.9f, %s to %s", s.State, s.AreaM2, s.WidthM, s.LengthM, s.LatDeg, s.LonDeg,
			s.Since.Format(time.RFC3339Nano), s.Closed.Format(time.RFC3339Nano)))
	}
	return out
}

// Without an implement nothing is known of skips; with one and a boundary, all of
// the field remains before work begins.
func TestSkipsBeforeWork(t *testing.T) {
	t.Parallel()
	op := &Operation{}
	if _, ok := op.SkipM2(); ok {
		t.Error("no implement: skip is known")
	}
	ring := [][2]float64{{0, 53.3}, {0.003, 53.3}, {0.003, 53.302}, {0, 53.302}, {0, 53.3}}
	op = &Operation{Boundary: Boundary{{ring}}}
	op.workWith(rigid(3, 3, 3, 3), Limits{})
	skip, ok := op.SkipM2()
	field, _ := op.FieldAreaM2()
	remaining, left := op.RemainingM2()
	if !ok || !left || skip != 0 || math.Abs(remaining-field) > 20e-6*field {
		t.Errorf("before work: skip %g (known %v), remaining %g (known %v), field %g", skip, ok, remaining, left, field)
	}
}
