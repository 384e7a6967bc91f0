package supply

import (
	"fmt"
	"math"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/nmea"
)

// rig drives a real engine: a drill of 12 m in four sections at 2.5 m/s, 100 kg/ha,
// ten fixes and five reports a second, from a tank whose level its controller reports.
type rig struct {
	t       *testing.T
	e       *coverage.Engine
	passes  Passes
	n       int // fixes so far
	kg      float64
	x, y    float64
	emptyAt [2]float64 // where the tank ran out
	ran     bool
	seen    func(x, y float64, on bool, f Forecast)
}

func newRig(t *testing.T, boundary coverage.Boundary, kg float64) *rig {
	return &rig{t: t, kg: kg, e: coverage.NewEngine(coverage.Setup{
		Implement: &coverage.Implement{Operation: "seeding", SectionsM: []float64{3, 3, 3, 3}},
		Tanks:     []coverage.Tank{{Number: 1, Product: coverage.Product{Name: "Spring oats", Kind: coverage.KindSeed}, Target: controller.Quantity{SI: 0.01, Dim: controller.DimMassPerArea}}},
		Boundary:  boundary, Field: "Mill Piece", Limits: coverage.DefaultLimits(), StaleS: 2,
	})}
}

// to moves on to a place a quarter of a metre away at most, the sections on or off.
func (r *rig) to(x, y float64, on bool) {
	if on && r.n > 0 {
		r.kg -= 0.01 * 12 * math.Hypot(x-r.x, y-r.y)
		if r.kg <= 0 && !r.ran {
			r.ran, r.emptyAt = true, [2]float64{x, y}
		}
	}
	r.x, r.y = x, y
	at := time.Date(2026, 5, 14, 13, 0, 0, 0, time.UTC).Add(time.Duration(r.n) * 100 * time.Millisecond)
	rate := 0.0
	if on {
		rate = 0.01
	}
	r.e.Report(at, controller.Report{Has: controller.HasWork, Work: on, Tanks: []controller.Reading{{
		Tank: 1, Has: controller.HasRate | controller.HasLevel,
		Rate:  controller.Quantity{SI: rate, Dim: controller.DimMassPerArea},
		Level: controller.Quantity{SI: max(0, r.kg), Dim: controller.DimMass},
	}}})
	lat, lon := wolds.Inverse(x, y)
	r.e.Fix(nmea.Fix{Time: at, Arrival: at, LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK})
	if r.n++; r.n%5 == 0 {
		s := r.e.Snapshot()
		if f := r.passes.Step(&s); r.seen != nil {
			r.seen(x, y, on, f)
		}
	}
}

// line drives straight on to a place.
func (r *rig) line(x, y float64, on bool) {
	x0, y0 := r.x, r.y
	n := int(math.Ceil(math.Hypot(x-x0, y-y0) / 0.25))
	for i := 1; i <= n; i++ {
		f := float64(i) / float64(n)
		r.to(x0+f*(x-x0), y0+f*(y-y0), on)
	}
}

// turn drives half a circle of 6 m, sections off, to the next pass on the east.
func (r *rig) turn(north bool) {
	x0, y0, n := r.x+6, r.y, 76
	for i := 1; i <= n; i++ {
		sin, cos := math.Sincos(math.Pi * float64(i) / float64(n))
		if !north {
			sin = -sin
		}
		r.to(x0-6*cos, y0+6*sin, false)
	}
}

// back and forth drives passes of 300 m, 12 m apart.
func (r *rig) backAndForth(passes int) {
	r.x, r.y = 6, -10
	for k := range passes {
		if k%2 == 0 {
			r.line(r.x, 0, false)
			r.line(r.x, 300, true)
			r.line(r.x, 310, false)
		} else {
			r.line(r.x, 300, false)
			r.line(r.x, 0, true)
			r.line(r.x, -10, false)
		}
		r.turn(k%2 == 0)
	}
}

// 100 kg at 36 kg a pass: enough for two and 233 m of the third. Before the second
// pass begins nothing is short; from its first metres on it is said that the third
// cannot be finished; on the third, where it runs out. With the boundary, and by the
// passes before without one.
func TestDriveUntilItRunsOut(t *testing.T) {
	t.Parallel()
	for _, bounded := range []bool{true, false} {
		t.Run(fmt.Sprint("boundary=", bounded), func(t *testing.T) {
			t.Parallel()
			var boundary coverage.Boundary
			if bounded {
				boundary = field([][][2]float64{box(0, 0, 400, 300)})
			}
			r := newRig(t, boundary, 100)
			steps := map[string]int{}
			var foretold [][2]float64
			r.seen = func(x, y float64, on bool, f Forecast) {
				if len(f.Tanks) != 1 || r.ran {
					return
				}
				o := f.Tanks[0]
				// 3 m for what is between two steps
				inside, pass := on && y > 3 && y < 297, 1+int(math.Round((x-6)/12))
				key := fmt.Sprintf("pass %d: %v, next %v", pass, o.ThisPass, o.NextPass)
				if !inside {
					if on || math.Abs(math.Mod(x, 12)-6) > 1 { // within the turn
						return
					}
					key = fmt.Sprintf("south of %d: %v", pass, o.NextPass)
					if y > 300 {
						key = fmt.Sprintf("north of %d: %v", pass, o.NextPass)
					} else if y > 0 {
						return
					}
				}
				steps[key]++
				if inside && o.ThisPass == No {
					px, py, _ := wolds.Forward(o.RunsOut.LatDeg, o.RunsOut.LonDeg)
					foretold = append(foretold, [2]float64{px, py})
				}
			}
			r.backAndForth(3)
			want := map[string]bool{"pass 1: yes, next yes": bounded, "pass 1: unknown, next unknown": !bounded, "pass 2: yes, next no": true, "pass 3: no, next no": true, "south of 1: unknown": true, "north of 1: yes": bounded, "north of 1: unknown": !bounded, // it may go on behind a hole
				"north of 2: yes": true, "south of 2: no": true, "south of 3: no": true}
			for key, n := range steps {
				if !want[key] && n > 8 {
					t.Errorf("got %q in %d steps", key, n)
				}
			}
			for key, must := range want {
				if must && steps[key] < 3 {
					t.Errorf("got %q in %d steps only: %v", key, steps[key], steps)
				}
			}
			if !r.ran || len(foretold) < 100 {
				t.Fatalf("ran out %v, foretold %d times", r.ran, len(foretold))
			}
			near(t, "ran out at", r.emptyAt[1], 100/36.0*300-600, 0.5)
			for i, p := range foretold {
				if math.Hypot(p[0]-r.emptyAt[0], p[1]-r.emptyAt[1]) > 1.5 {
					t.Errorf("step %d foretold %.1f, %.1f; it ran out at %.1f, %.1f", i, p[0], p[1], r.emptyAt[0], r.emptyAt[1])
				}
			}
		})
	}
}

// A headland of 24 m is left at both ends: passes end 24 m before the border, and from
// the second on the forecast knows it.
func TestHeadlandIsLearned(t *testing.T) {
	t.Parallel()
	r := newRig(t, field([][][2]float64{box(0, -24, 400, 324)}), 1000)
	errors := map[int]float64{}
	r.seen = func(x, y float64, on bool, f Forecast) {
		pass := 1 + int(math.Round((x-6)/12))
		end := 300.0
		if pass%2 == 0 {
			end = 0
		}
		if on && y > 3 && y < 297 && f.HasPassLeft {
			errors[pass] = max(errors[pass], math.Abs(f.PassLeftM-math.Abs(end-y)))
		}
	}
	r.backAndForth(3)
	near(t, "first pass: to the border", errors[1], 24, 1.5)
	near(t, "second pass: to the headland", errors[2], 0, 1.5)
	near(t, "third pass", errors[3], 0, 1.5)
	near(t, "length of the last pass", r.passes.Pass().LastM, 300, 1.5)
}

// A bend of 300 m radius: the forecast goes straight on, so it is off by the bend:
// by no more than way² / 2R, and right in the end.
func TestBend(t *testing.T) {
	t.Parallel()
	r := newRig(t, field([][][2]float64{box(-500, -500, 500, 500)}), 12*150*0.01)
	type said struct{ x, y, inM float64 }
	var all []said
	r.seen = func(_, _ float64, on bool, f Forecast) {
		if on && !r.ran && len(f.Tanks) == 1 && f.Tanks[0].ThisPass == No {
			at := f.Tanks[0].RunsOut
			px, py, _ := wolds.Forward(at.LatDeg, at.LonDeg)
			all = append(all, said{px, py, at.InM})
		}
	}
	r.x, r.y = 300, 0
	for a := 0.0; !r.ran; a += 0.25 / 300 {
		r.to(300*math.Cos(a), 300*math.Sin(a), true)
	}
	if len(all) < 50 {
		t.Fatalf("foretold %d times", len(all))
	}
	for _, s := range all {
		off, bend := math.Hypot(s.x-r.emptyAt[0], s.y-r.emptyAt[1]), s.inM*s.inM/600
		if off > 1.1*bend+2 || s.inM > 60 && off < 0.5*bend {
			t.Errorf("%.0f m before: %.2f m off; the bend is %.2f", s.inM, off, bend)
		}
	}
}

// A pond of 40 m on the way, the sections off over it: still the same pass.
func TestPassGoesOnBehindAPond(t *testing.T) {
	t.Parallel()
	r := newRig(t, field([][][2]float64{box(0, 0, 400, 300), box(-6, 120, 60, 160)}), 1000)
	r.x, r.y = 6, -10
	r.line(6, 0, false)
	r.line(6, 120, true)
	r.line(6, 160, false)
	if p := r.passes.Pass(); !p.Working {
		t.Errorf("over the pond: got %+v, want the pass to go on", p)
	}
	r.line(6, 300, true)
	near(t, "worked", r.passes.Pass().DoneM, 260, 2)
	r.line(6, 306, false)
	r.turn(true)
	if p := r.passes.Pass(); p.Working {
		t.Errorf("turned: got %+v, want the pass to be over", p)
	}
	near(t, "last pass", r.passes.Pass().LastM, 260, 2)
}

// Turning round without switching off is a new pass, too; a new operation knows
// nothing of the passes before, nor does one after a leap.
func TestPassesEnd(t *testing.T) {
	t.Parallel()
	r := newRig(t, nil, 1e6)
	r.line(0, 200, true)
	for i := 1; i <= 75; i++ { // half a circle, at work
		sin, cos := math.Sincos(math.Pi * float64(i) / 75)
		r.to(6-6*cos, 200+6*sin, true)
	}
	r.line(12, 150, true)
	if p := r.passes.Pass(); math.Abs(p.LastM-210) > 15 || math.Abs(p.DoneM-60) > 15 {
		t.Errorf("turned at work: got %+v, want a last pass of some 210 m and 60 m done", p)
	}
	again := "seeding again"
	r.e.Say(coverage.Statement{At: time.Date(2026, 5, 14, 13, 0, 0, 0, time.UTC).Add(time.Duration(r.n) * 100 * time.Millisecond), Operation: &again})
	r.line(12, 140, true)
	if p := r.passes.Pass(); p.LastM != 0 || p.DoneM > 15 {
		t.Errorf("a new operation: got %+v", p)
	}
	r.line(12, 100, true)
	r.to(12, 700, true) // a jump
	r.line(12, 690, true)
	if p := r.passes.Pass(); p.DoneM > 12 {
		t.Errorf("after a jump: got %+v", p)
	}
	// A snapshot without an implement changes nothing and does no harm.
	if f := r.passes.Step(&coverage.Snapshot{}); f.HasPassLeft || f.HasNextPass {
		t.Errorf("nothing set up: got %+v", f)
	}
}

// A headland lap of 200 m by 150 m with corners of 10 m radius, at work all the way:
// each side is a pass.
func TestCornersEndAPass(t *testing.T) {
	t.Parallel()
	r := newRig(t, nil, 1e6)
	var lengths []float64
	r.seen = func(_, _ float64, _ bool, _ Forecast) {
		if l := r.passes.Pass().LastM; len(lengths) == 0 || l != lengths[len(lengths)-1] {
			lengths = append(lengths, l)
		}
	}
	corner := func(x, y, from float64) { // clockwise, from this bearing of the centre
		for i := 1; i <= 63; i++ {
			sin, cos := math.Sincos(from + math.Pi/2*float64(i)/63)
			r.to(x+10*sin, y+10*cos, true)
		}
	}
	r.y = 10
	r.line(0, 140, true)
	corner(10, 140, -math.Pi/2)
	r.line(190, 150, true)
	corner(190, 140, 0)
	r.line(200, 10, true)
	corner(190, 10, math.Pi/2)
	r.line(10, 0, true)
	if want := []float64{0, 140, 196, 146}; len(lengths) != len(want) {
		t.Errorf("got passes of %.0f m, want some %v", lengths, want)
	} else {
		for i := range want {
			near(t, fmt.Sprint("side ", i), lengths[i], want[i], 15)
		}
	}
}
