package coverage

import (
	"math"
	"testing"

	"drawbar/controller"
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
	"drawbar/nmea"
)

// drive feeds fixes hz times a second along a path given by time, with the
// whole bar reported on all the while.
func (d *driver) drive(fromS, toS, hz float64, sections string, path func(s float64) (x, y float64)) {
	for i := 0; ; i++ {
		s := fromS + float64(i)/hz
		if s > toS+1e-9 {
			return
		}
		if i%2 == 0 {
			d.report(s, sections, 100)
		}
		x, y := path(s)
		d.fix(s, x, y)
	}
}

func straightNorth(s float64) (x, y float64) { return 0, 2.5 * s }

// Parallel passes: overlap (n-1)(W-S)L, covered L(W+(n-1)S). Closed form; the
// example W 12, S 11.4, L 400, n 10 gives 2160 m2 of 48 000.
func TestParallelPasses(t *testing.T) {
	t.Parallel()
	const n, w, s, l = 10, 12.0, 11.4, 400.0
	d := newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
	for k := range n {
		t0 := float64(k) * 1000 // the turns are holes in the record
		d.drive(t0, t0+l/2.5, 10, "1111", func(now float64) (float64, float64) {
			y := 2.5 * (now - t0)
			if k%2 == 1 {
				y = l - y
			}
			return float64(k) * s, y
		})
	}
	d.e.Finish()
	op := d.e.Operations()[0]
	near(t, "gross", op.Gross.M2(), n*w*l, n*w*l*2e-6)
	near(t, "overlap", op.Overlap().M2(), (n-1)*(w-s)*l, n*w*l*20e-6)
	near(t, "covered", op.Covered().M2(), l*(w+(n-1)*s), n*w*l*20e-6)
	if got := d.e.Totals().Gaps; got != n-1 {
		t.Errorf("got %d gaps, want %d", got, n-1)
	}
}

// A turning sweep by Pappus' theorem: 2 w R φ for R >= w, w half the width.
// With R < w the inner part sweeps backwards: φ/2 ((R+w)² + (w-R)²). Both are
// closed forms; R 30, w 12, φ π/2 gives 1130.973 m2, R 6 gives 282.743 m2.
func TestTurningSweep(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ r, want float64 }{{30, 1130.973}, {6, 282.743}} {
		d := newDriver(t, Setup{Implement: rigid(6, 6, 6, 6)})
		const steps = 2000
		for i := range steps + 1 {
			s := float64(i) / 50
			a := math.Pi / 2 * float64(i) / steps
			d.report(s, "1111", 100)
			lat, lon := d.plane.Inverse(c.r*math.Cos(a), c.r*math.Sin(a))
			// heading along the circle, counter-clockwise: north at the start
			heading := math.Mod(360-a*180/math.Pi, 360)
			d.e.Fix(nmea.Fix{Time: at(s), Arrival: at(s), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK, HeadingDeg: heading, Has: nmea.HasHeading})
		}
		d.e.Finish()
		op := d.e.Operations()[0]
		near(t, "gross", op.Gross.M2(), c.want, c.want*3e-4)
		near(t, "overlap", op.Overlap().M2(), 0, c.want*1e-3)
	}
}

// A steady circle: the wheels of a towed implement run on sqrt(R² - L²), H3 of
// the closed forms of off-tracking: R 12, L 5 gives 10.90871 m and an angle of
// asin(L/R) = 24.62432 degrees at the hitch.
func TestTowedSteadyCircle(t *testing.T) {
	t.Parallel()
	im := &Implement{Operation: "seeding", Mount: MountTowed, HitchToAxleM: 5, HitchToBarM: 5, SectionsM: []float64{1, 1}}
	d := newDriver(t, Setup{Implement: im})
	const r, v = 12.0, 2.0
	for i := range 3000 {
		s := float64(i) / 20
		a := v * s / r
		d.report(s, "11", 100)
		d.fix(s, r*math.Cos(a), r*math.Sin(a))
	}
	d.e.Finish()
	bar := middle(d.e.at.bar)
	x, y, _ := d.plane.Forward(d.e.plane.Inverse(bar.x, bar.y))
	near(t, "radius of the axle", xy{x, y}.length(), 10.90871, 2e-3)
	fold := plane.WrapPi(d.e.at.headingRad-d.e.at.implementRad) * 180 / math.Pi
	near(t, "angle at the hitch", math.Abs(fold), 24.62432, 0.01)
}

// A straight pull: tan(θ/2) = tan(θ0/2) exp(-s/L), in steps of any length.
// H1 of the closed forms: L 5, θ0 60°, s 1, 5, 10, 20 m.
func TestTrailStraightPull(t *testing.T) {
	t.Parallel()
	want := map[float64]float64{1: 50.59968, 5: 23.98232, 10: 8.93556, 20: 1.21177}
	for s, deg := range want {
		for _, steps := range []int{1, 7, 1000} {
			h := 60 * math.Pi / 180
			for i := range steps {
				h = trail(h, 5, xy{0, s * float64(i) / float64(steps)}, xy{0, s * float64(i+1) / float64(steps)})
			}
			near(t, "angle after the pull", h*180/math.Pi, deg, 1e-4)
		}
	}
}

// The meter's switch reaches the ground after the lag, between fixes: 12 m wide,
// 2.5 m/s; on at 10.03 s and off at 20.07 s with a lag of 4 s is 10.04 s of work.
func TestLag(t *testing.T) {
	t.Parallel()
	tank := Tank{Number: 1, LagS: 4, Product: Product{Name: "Spring oats", Kind: KindSeed}}
	d := newDriver(t, Setup{Implement: rigid(12), Tanks: []Tank{tank}})
	for i := range 400 {
		s := float64(i) / 10
		sections, rate := "0", 0.0
		if s > 10 && s < 20.05 {
			sections, rate = "1", 100
		}
		d.report(s+0.03+map[bool]float64{true: 0.04}[s >= 20], sections, rate)
		x, y := straightNorth(s)
		d.fix(s, x, y)
	}
	d.e.Finish()
	op := d.e.Operations()[0]
	// on: the report of 10.1 s arrives at 10.13; off: that of 20.1 s at 20.17.
	want := 12 * 2.5 * (20.17 - 10.13)
	near(t, "gross", op.Gross.M2(), want, want*1e-4)
	if got := op.Start; !got.Equal(at(14.13)) {
		t.Errorf("work begins at %s, want %s", got, at(14.13))
	}
}

// Without a report for longer than allowed nothing is painted, and the silence
// is counted from then until the next report.
func TestSilence(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(12)})
	for i := range 301 {
		s := float64(i) / 10
		if s <= 10 || s >= 18 {
			d.report(s, "1", 100)
		}
		x, y := straightNorth(s)
		d.fix(s, x, y)
	}
	d.e.Finish()
	near(t, "silent", float64(d.e.Totals().SilentNS)/1e9, 6, 1e-6)
	near(t, "gross", d.e.Operations()[0].Gross.M2(), 12*2.5*24, 0.01)
}

// A hole of more than max_gap_s is not bridged; one of exactly that is.
func TestGap(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ hole, want float64 }{{2.0, 12 * 2.5 * 22}, {2.1, 12 * 2.5 * 20}} {
		d := newDriver(t, Setup{Implement: rigid(12), StaleS: 60})
		d.drive(0, 10, 10, "1", straightNorth)
		d.drive(10+c.hole, 20+c.hole, 10, "1", straightNorth)
		d.e.Finish()
		near(t, "gross", d.e.Operations()[0].Gross.M2(), c.want, 0.01)
	}
}

// One fix 10 km off paints nothing, to it or from it, and what follows is as if
// it had not been: also the way a towed implement trails.
func TestJump(t *testing.T) {
	t.Parallel()
	im := &Implement{Operation: "seeding", Mount: MountTowed, HitchToAxleM: 5, HitchToBarM: 6, SectionsM: []float64{6, 6}}
	run := func(outlier bool) (*Engine, *station) {
		d := newDriver(t, Setup{Implement: im})
		d.drive(0, 60, 10, "11", func(s float64) (float64, float64) {
			a := s * 2.5 / 20
			if outlier && s == 30 {
				return 10_000, 0
			}
			return 20 * math.Cos(a), 20 * math.Sin(a)
		})
		d.e.Finish()
		return d.e, &d.e.at
	}
	clean, want := run(false)
	spoilt, got := run(true)
	near(t, "implement heading", got.implementRad, want.implementRad, 1e-3)
	near(t, "gross", spoilt.Operations()[0].Gross.M2(), clean.Operations()[0].Gross.M2(), 12*2.5*0.2+0.1)
	if j := spoilt.Totals().Jumps; j != 2 {
		t.Errorf("got %d jumps, want 2", j)
	}
	if n := len(spoilt.Operations()); n != 1 {
		t.Errorf("got %d operations, want 1", n)
	}
}

// Driving on the road at 20 m/s is no jump when the receiver says the same, but
// nothing is painted at that speed.
func TestOnTheRoad(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(12), AlwaysOn: true})
	for i := range 101 {
		s := float64(i) / 10
		lat, lon := d.plane.Inverse(0, 20*s)
		d.e.Fix(nmea.Fix{Time: at(s), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK, SpeedMPS: 19.8, Has: nmea.HasSpeed})
	}
	d.e.Finish()
	got := d.e.Totals()
	near(t, "distance", got.DistanceM, 200, 0.01)
	if got.Jumps != 0 || got.Fast != 100 || d.e.Operations()[0].Worked() {
		t.Errorf("got %d jumps, %d fast, worked %v; want 0, 100, false", got.Jumps, got.Fast, d.e.Operations()[0].Worked())
	}
}

// Fixes that repeat or go back paint nothing.
func TestBackInTime(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(12)})
	for i := range 101 {
		s := float64(i) / 10
		d.report(s, "1", 100)
		d.fix(s, 0, 2.5*s)
		if i%10 == 5 {
			d.fix(s, 300, 2.5*s)
			d.fix(s-0.3, 0, 2.5*s-500)
		}
	}
	d.e.Finish()
	near(t, "gross", d.e.Operations()[0].Gross.M2(), 12*25, 0.01)
	if got := d.e.Totals().OutOfOrder; got != 20 {
		t.Errorf("got %d fixes out of order, want 20", got)
	}
}

// A receiver whose clock is set back and goes on is followed again after 3 s:
// what is reported and said from then on acts at its moment, not when the clock
// has come to where it was.
func TestReceiverSetBack(t *testing.T) {
	t.Parallel()
	for _, back := range []float64{4, 18, 1000, 619_315_200} { // 1024 weeks: the roll-over of the week number
		d := newDriver(t, Setup{Implement: rigid(12)})
		d.drive(back, back+10, 10, "1", func(s float64) (float64, float64) { return 0, 2.5 * (s - back) })
		name := "spraying"
		d.e.Say(Statement{At: at(back + 10.05), Operation: &name})
		d.drive(0.1, 20, 10, "1", func(s float64) (float64, float64) { return 0, 25 + 2.5*s })
		d.report(20, "0", 0)
		d.drive(20.1, 30, 10, "0", func(s float64) (float64, float64) { return 0, 25 + 2.5*s })
		d.e.Finish()
		got := d.e.Totals()
		if got.SetBack != 1 || got.OutOfOrder < 29 || got.OutOfOrder > 32 {
			t.Errorf("back by %g s: got set back %d times, %d fixes out of order; want 1, about 30", back, got.SetBack, got.OutOfOrder)
		}
		ops := d.e.Operations()
		if len(ops) != 2 {
			t.Fatalf("back by %g s: got %d operations, want 2", back, len(ops))
		}
		near(t, "gross before", ops[0].Gross.M2(), 12*25, 0.01)
		near(t, "gross after", ops[1].Gross.M2(), 12*2.5*(20-3.1), 8) // 3 s until it is taken as set, and the next course
	}
}

// Standing with the sections on paints nothing, however the position jitters.
func TestStanding(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(12)})
	d.drive(0, 10, 10, "1", straightNorth)
	for i := range 600 {
		s := 10.1 + float64(i)/10
		d.report(s, "1", 100)
		d.fix(s, 0.005*math.Sin(float64(i)), 25+0.005*math.Cos(float64(i)*1.7))
	}
	d.e.Finish()
	near(t, "gross", d.e.Operations()[0].Gross.M2(), 12*25, 0.2)
	near(t, "distance", d.e.Totals().DistanceM, 25, 0.02)
}

// Creeping at 5 cm/s, as a transplanter does, is work all the same.
func TestCreeping(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(4)})
	d.drive(0, 400, 10, "1", func(s float64) (float64, float64) { return 0, 0.05 * s })
	d.e.Finish()
	near(t, "gross", d.e.Operations()[0].Gross.M2(), 4*20, 4*0.11)
}

// Backing up keeps the heading: the bar stays behind the tractor.
func TestReversing(t *testing.T) {
	t.Parallel()
	im := &Implement{Operation: "seeding", HitchToBarM: 3, SectionsM: []float64{6}}
	d := newDriver(t, Setup{Implement: im})
	d.drive(0, 20, 10, "1", func(s float64) (float64, float64) {
		if s <= 10 {
			return 0, s
		}
		return 0, 10 - (s - 10)
	})
	d.e.Finish()
	bar := middle(d.e.at.bar)
	near(t, "bar behind the tractor", bar.y-d.e.at.at.y, -3, 0.01)
	op := d.e.Operations()[0]
	near(t, "covered", op.Covered().M2(), 6*10, 0.1)
	near(t, "overlap", op.Overlap().M2(), 6*10, 0.1)
}

// One fix a second with the receiver's own speed: from 1 m/s astern a tractor is
// past 1.5 m/s ahead within two fixes, and its bar is behind it all the same.
func TestForwardAgain(t *testing.T) {
	t.Parallel()
	for _, accel := range []float64{0.5, 0.83, 1.5, 3} {
		d := newDriver(t, Setup{Implement: &Implement{Operation: "seeding", HitchToBarM: 3, SectionsM: []float64{6}}, StaleS: 5})
		y, v, s := 0.0, 2.5, 0.0
		drive := func(seconds, a, until float64) {
			for end := s + seconds; s < end; s++ {
				d.report(s, "1", 100)
				lat, lon := d.plane.Inverse(0, y)
				d.e.Fix(nmea.Fix{Time: at(s), Arrival: at(s), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK,
					SpeedMPS: math.Abs(v), Has: nmea.HasSpeed})
				for range 1000 {
					if a > 0 {
						v = min(until, v+a/1000)
					} else {
						v = max(until, v+a/1000)
					}
					y += v / 1000
				}
			}
		}
		drive(20, 0, 2.5)
		drive(5, -1, 0)
		drive(15, -0.5, -1)
		drive(4, 0.5, 0)
		drive(20, accel, 2.5)
		d.e.Finish()
		bar := middle(d.e.at.bar)
		near(t, "bar behind the tractor", bar.y-d.e.at.at.y, -3, 0.01)
	}
}

// A flow becomes a rate by speed times the width that is on: 24 litre/min at
// 12 km/h and 12 m is 100 litre/ha, a worked example of the course page
// "Useful tools" of Countryco Training, Queensland.
func TestFlow(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(6, 6)})
	for i := range 101 {
		s := float64(i) / 10
		d.e.Report(at(s), controller.Report{
			Has: controller.HasWork, Work: true,
			Tanks: []controller.Reading{{Tank: 2, Has: controller.HasFlow, Flow: controller.Quantity{SI: 24.0 / 60, Dim: controller.DimVolumePerTime}}},
		})
		d.fix(s, 0, 12/3.6*s)
	}
	d.e.Finish()
	use := d.e.Operations()[0].Products[0]
	litres, ok := use.Applied()
	near(t, "applied", litres, 4, 1e-4) // 10 s of 24 litre/min
	mean, _ := use.MeanRatePerM2()
	near(t, "rate", mean, 100e-4, 100e-4*1e-5)
	if !ok || use.Unit != controller.DimVolume || use.Tank != 2 {
		t.Errorf("got unit %v, tank %d, known %v", use.Unit, use.Tank, ok)
	}
}

// Two tanks with lags of their own: each amount is its own integral.
func TestTwoTanksTwoLags(t *testing.T) {
	t.Parallel()
	tanks := []Tank{{Number: 1, LagS: 2}, {Number: 2, LagS: 5}}
	d := newDriver(t, Setup{Implement: rigid(12), Tanks: tanks})
	for i := range 601 {
		s := float64(i) / 10
		r := controller.Report{Has: controller.HasWork, Work: s < 50}
		for n, kg := range []float64{100, 50} {
			rate := kg / 1e4
			if s >= 20 {
				rate *= 2
			}
			r.Tanks = append(r.Tanks, controller.Reading{Tank: n + 1, Has: controller.HasRate, Rate: controller.Quantity{SI: rate, Dim: controller.DimMassPerArea}})
		}
		d.e.Report(at(s), r)
		d.fix(s, 0, 2*s)
	}
	d.e.Finish()
	// Ground is worked from 2 s (the sections' lag) to 52 s. Tank 1 doubles at
	// 22 s; tank 2 begins at 5 s and doubles at 25 s.
	op := d.e.Operations()[0]
	one, _ := op.Products[0].Applied()
	two, _ := op.Products[1].Applied()
	near(t, "tank 1", one, 24*0.01*(20+2*30), 1e-4)
	near(t, "tank 2", two, 24*0.005*(20+2*27), 1e-4)
	near(t, "gross", op.Gross.M2(), 24*50, 0.01)
	near(t, "ground of tank 2", op.GroundOf(1).Covered().M2(), 24*47, 0.05)
}

// A tank reported at rate 0 all the while is known to have laid nothing; one
// that reports no rate laid nobody knows how much.
func TestNothingIsKnown(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(12), Tanks: []Tank{{Number: 1}, {Number: 2}, {Number: 3, Target: controller.Quantity{SI: 0.01, Dim: controller.DimMassPerArea}}}})
	for i := range 101 {
		s := float64(i) / 10
		kg := func(tank int, has controller.Has, perM2 float64) controller.Reading {
			q := controller.Quantity{SI: perM2, Dim: controller.DimMassPerArea}
			return controller.Reading{Tank: tank, Has: has, Rate: q, Target: q}
		}
		d.e.Report(at(s), controller.Report{Has: controller.HasWork, Work: true, Tanks: []controller.Reading{
			kg(1, controller.HasRate, 0.01), kg(2, controller.HasRate, 0), kg(3, controller.HasTarget, 0.01)}})
		d.fix(s, 0, 2*s)
	}
	d.e.Finish()
	for i, want := range []struct {
		kg    float64
		known bool
	}{{2.4, true}, {0, true}, {0, false}} {
		u := d.e.Operations()[0].Products[i]
		if got, known := u.Applied(); math.Abs(got-want.kg) > 1e-3 || known != want.known {
			t.Errorf("tank %d: got %g kg, known %v; want %g, %v", u.Tank, got, known, want.kg, want.known)
		}
		if _, known := u.MeanRatePerM2(); known != (i == 0) {
			t.Errorf("tank %d: mean rate known %v, want %v", u.Tank, known, i == 0)
		}
	}
}

// A report_lag_s longer than the lag still places the switch at its moment.
func TestReportLag(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(12), ReportLagS: 0.7})
	for i := range 301 {
		s := float64(i) / 10
		sections := "0"
		if s >= 10 && s < 20 {
			sections = "1"
		}
		d.report(s, sections, 100)
		d.fix(s, 0, 2.5*s)
	}
	d.e.Finish()
	op := d.e.Operations()[0]
	near(t, "gross", op.Gross.M2(), 12*25, 0.01)
	if !op.Start.Equal(at(9.3)) || !op.End.Equal(at(19.3)) {
		t.Errorf("worked from %s to %s, want from 9.3 s to 19.3 s", op.Start, op.End)
	}
}

// What the operator says acts at its moment, between fixes: here a second
// operation and a wider implement.
func TestStatements(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(6), Field: "Mill Piece"})
	said := map[int]Statement{
		100: {At: at(10.04), Operation: ptr("spraying")},
		200: {At: at(20.06), Implement: &Implement{Operation: "spraying", SectionsM: []float64{5, 5}}},
		250: {At: at(25), Mark: &MarkWish{Kind: "stone"}},
		300: {At: at(30.02), Field: ptr("Long Meadow")},
	}
	for i := range 401 {
		s := float64(i) / 10
		d.e.Report(at(s), controller.Report{Has: controller.HasWork, Work: true})
		d.fix(s, 0, 2.5*s)
		if st, ok := said[i]; ok {
			d.e.Say(st)
		}
	}
	d.e.Finish()
	ops := d.e.Operations()
	if len(ops) != 3 {
		t.Fatalf("got %d operations, want 3", len(ops))
	}
	near(t, "first", ops[0].Gross.M2(), 6*2.5*10.04, 0.01)
	near(t, "second", ops[1].Gross.M2(), 6*2.5*(20.06-10.04)+10*2.5*(30.02-20.06), 0.01)
	near(t, "third", ops[2].Gross.M2(), 10*2.5*(40-30.02), 0.01)
	if ops[1].Name != "spraying" || ops[1].Field != "Mill Piece" || ops[2].Field != "Long Meadow" || ops[2].Name != "spraying" {
		t.Errorf("got %q in %q, then %q in %q", ops[1].Name, ops[1].Field, ops[2].Name, ops[2].Field)
	}
	m := d.e.Marks()[0]
	x, y, _ := d.plane.Forward(m.LatDeg, m.LonDeg)
	near(t, "mark x", x, 0, 0.001)
	near(t, "mark y", y, 62.5, 0.001)
}

func ptr[T any](v T) *T { return &v }

// The swaths hold the same ground as the quads, in outlines that are simple.
func TestSwathsHoldTheGround(t *testing.T) {
	t.Parallel()
	var swaths []Swath
	var quads ground.Area
	d := newDriver(t, Setup{
		Implement: rigid(3, 3, 3, 3),
		OnSwath:   func(s Swath) { swaths = append(swaths, s) },
		OnQuad:    func(q Quad) { quads += q.Area },
	})
	d.drive(0, 120, 10, "1011", func(s float64) (float64, float64) {
		a := s * 2 / 25
		return 25 * math.Cos(a), 40 * math.Sin(2*a)
	})
	d.e.Finish()
	op := d.e.Operations()[0]
	sum, sections := 0.0, map[int]bool{}
	for _, s := range swaths {
		sections[s.Section] = true
		for _, r := range s.Rings {
			sum += planeAreaM2(r)
		}
	}
	near(t, "swaths", sum, op.Gross.M2(), op.Gross.M2()*1e-6)
	near(t, "quads", quads.M2(), op.Gross.M2(), 1e-6)
	if sections[2] || !sections[1] || !sections[3] || !sections[4] {
		t.Errorf("sections with swaths: %v, want 1, 3 and 4", sections)
	}
}

// A measured heading that comes once a second is carried on by the course between:
// on a circle with a fix every tenth of a second it must not go in stairs.
func TestHeadingOnceASecond(t *testing.T) {
	t.Parallel()
	run := func(every int) float64 {
		d := newDriver(t, Setup{Implement: &Implement{Operation: "seeding", HitchToBarM: 3, SectionsM: []float64{6, 6}}})
		for i := range 601 {
			s := float64(i) / 10
			a := s * 2 / 20
			d.report(s, "11", 100)
			lat, lon := d.plane.Inverse(20*math.Cos(a), 20*math.Sin(a))
			f := nmea.Fix{Time: at(s), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK}
			if i%every == 0 {
				f.Has, f.HeadingDeg = nmea.HasHeading, math.Mod(360-a*180/math.Pi+3600, 360)
			}
			d.e.Fix(f)
		}
		d.e.Finish()
		return d.e.Operations()[0].Gross.M2()
	}
	always, seldom := run(1), run(10)
	near(t, "gross with a heading once a second", seldom, always, always*2e-3)
}

// A towed implement trails on across a short hole in the fixes.
func TestTowedAcrossAHole(t *testing.T) {
	t.Parallel()
	im := &Implement{Operation: "seeding", Mount: MountTowed, HitchToAxleM: 6, HitchToBarM: 7, SectionsM: []float64{6, 6}}
	run := func(hole bool) float64 {
		d := newDriver(t, Setup{Implement: im})
		d.drive(0, 30, 10, "11", func(s float64) (float64, float64) { a := s * 2 / 15; return 15 * math.Cos(a), 15 * math.Sin(a) })
		from := 30.1
		if hole {
			from = 33
		}
		d.drive(from, 33.5, 10, "11", func(s float64) (float64, float64) { a := s * 2 / 15; return 15 * math.Cos(a), 15 * math.Sin(a) })
		d.e.Finish()
		return d.e.at.implementRad
	}
	near(t, "implement heading", plane.WrapPi(run(true)-run(false)), 0, 0.12)
}

// A tank that is spoken of no more, while others are, is not known any more.
func TestTankFallsSilent(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(10)})
	for i := range 601 {
		s := float64(i) / 10
		r := controller.Report{Has: controller.HasWork, Work: true}
		tank := 1 + i%2
		if s > 20 {
			tank = 1
		}
		r.Tanks = []controller.Reading{{Tank: tank, Has: controller.HasRate, Rate: controller.Quantity{SI: 0.01, Dim: controller.DimMassPerArea}}}
		d.e.Report(at(s), r)
		d.fix(s, 0, 2*s)
	}
	d.e.Finish()
	op := d.e.Operations()[0]
	one, _ := op.Products[0].Applied()
	two, _ := op.Products[1].Applied()
	near(t, "tank 1", one, 20*60*0.01, 1e-3)
	near(t, "tank 2", two, 20*30*0.01, 0.1)
	if len(d.e.Warnings()) != 1 {
		t.Errorf("warnings: %q", d.e.Warnings())
	}
}
