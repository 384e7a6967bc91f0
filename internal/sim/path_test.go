package sim

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func drawPose(t *rapid.T, name string) pose {
	f := func(lo, hi float64, what string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name+what) }
	return pose{Point{f(-60, 60, "x"), f(-60, 60, "y")}, f(-7, 7, "theta")}
}

// drive follows legs from a pose.
func drive(from pose, legs []leg) (to pose, length float64) {
	b := builder{here: from, started: true}
	for _, l := range legs {
		b.add(l.lengthM, l.curve, 1, -1)
	}
	return b.here, b.lengthM
}

// TestShortestTurn: the path ends where it should, is no shorter than the
// straight line, and as long as the way back with both poses turned round.
func TestShortestTurn(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		from, to := drawPose(t, "from "), drawPose(t, "to ")
		radius := rapid.Float64Range(1, 25).Draw(t, "radius")
		end, length := drive(from, shortestTurn(from, to, radius))
		if d := end.at.sub(to.at).len(); d > 1e-5 {
			t.Fatalf("ends %g m off", d)
		}
		if d := math.Remainder(end.theta-to.theta, 2*math.Pi); math.Abs(d) > 1e-6 {
			t.Fatalf("ends %g rad off", d)
		}
		if straight := to.at.sub(from.at).len(); length < straight-1e-6 {
			t.Fatalf("%g m, shorter than the straight line of %g", length, straight)
		}
		turned := func(p pose) pose { return pose{p.at, p.theta + math.Pi} }
		_, back := drive(turned(to), shortestTurn(turned(to), turned(from), radius))
		if math.Abs(back-length) > 1e-4 {
			t.Fatalf("%g m there, %g m back", length, back)
		}
	})
}

// TestKnownTurns: lengths by plane geometry. A half turn of spacing 2R is half a
// circle; spaced wider it has a straight piece; straight on is straight on.
func TestKnownTurns(t *testing.T) {
	t.Parallel()
	half := func(spacing float64) (float64, int) {
		legs := shortestTurn(pose{}, pose{Point{0, spacing}, math.Pi}, 8)
		_, l := drive(pose{}, legs)
		arcs := 0
		for _, g := range legs {
			if g.curve != 0 && g.lengthM > 1e-6 {
				arcs++
			}
		}
		return l, arcs
	}
	if got, _ := half(16); math.Abs(got-8*math.Pi) > 1e-9 {
		t.Errorf("half turn of spacing 2R: %.9f m, want %.9f", got, 8*math.Pi)
	}
	if got, _ := half(30); math.Abs(got-8*math.Pi-14) > 1e-9 {
		t.Errorf("half turn of spacing 30: %.9f m, want %.9f", got, 8*math.Pi+14)
	}
	// Bulb: arcs of α, π+2α and α with cos α = (1 + S/(2R))/2.
	alpha := math.Acos((1 + 12.0/16) / 2)
	if got, arcs := half(12); math.Abs(got-8*(math.Pi+4*alpha)) > 1e-9 || arcs != 3 {
		t.Errorf("bulb turn of spacing 12: %.9f m in %d arcs, want %.9f in 3", got, arcs, 8*(math.Pi+4*alpha))
	}
	if _, got := drive(pose{}, shortestTurn(pose{}, pose{Point{50, 0}, 0}, 8)); math.Abs(got-50) > 1e-9 {
		t.Errorf("straight on: %.9f m, want 50", got)
	}
}

func TestFishtail(t *testing.T) {
	t.Parallel()
	b := builder{started: true}
	to := pose{Point{3, -6}, math.Pi}
	if !b.fishtail(to, 8, 2) {
		t.Fatal("refused a turn closer than the turning circle")
	}
	reversed := 0.0
	end := b.segs[len(b.segs)-1].end()
	for _, s := range b.segs {
		if s.Reverse {
			reversed += s.LengthM
		}
	}
	if d := end.at.sub(to.at).len(); d > 1e-9 {
		t.Errorf("ends %g m off, at %v", d, end.at)
	}
	if math.Abs(reversed-10) > 1e-9 {
		t.Errorf("%g m in reverse, want 2R - 6 = 10", reversed)
	}
	if (&builder{started: true}).fishtail(pose{Point{0, 20}, math.Pi}, 8, 2) {
		t.Error("took a turn wider than the turning circle")
	}
}

// TestInset: a rectangle inset by h on every side leaves (a-2h)(b-2h); the ring
// 24 m wide round 800 x 400 has 55 296 m2 (plane geometry).
func TestInset(t *testing.T) {
	t.Parallel()
	pg := polygon(rectangle(800, 400))
	in, err := pg.turned(0.4).inset(24)
	if err != nil {
		t.Fatal(err)
	}
	if got := pg.areaM2() - in.areaM2(); math.Abs(got-55_296) > 1e-6 {
		t.Errorf("ring of %.6f m2, want 55296", got)
	}
	if _, err := polygon(rectangle(100, 40)).inset(21); err == nil {
		t.Error("inset 21 m into a field 40 m wide was not refused")
	}
	if _, err := polygon(rectangle(100, 40)).inset(19); err != nil {
		t.Errorf("inset 19 m into a field 40 m wide: %v", err)
	}
}

// TestMotion: speed is continuous but for stops, never above what is wanted,
// acceleration bounded; place and time are inverse to each other.
func TestMotion(t *testing.T) {
	t.Parallel()
	sc := Demo(3)
	pl, err := NewPlan(&sc)
	if err != nil {
		t.Fatal(err)
	}
	m := newMotion(pl, sc.Drive, 6)
	k := seeker{m: m}
	const dt = 0.01
	_, before, _ := k.at(0)
	s0 := 0.0
	for x := dt; x < m.endS; x += dt {
		s, v, seg := k.at(x)
		if v > m.segs[seg].SpeedMPS+1e-9 {
			t.Fatalf("at %.2f s: %g m/s, wanted %g", x, v, m.segs[seg].SpeedMPS)
		}
		if a := math.Abs(v-before) / dt; a > sc.Drive.AccelMPS2+1e-6 {
			t.Fatalf("at %.2f s: %g m/s2, want at most %g", x, a, sc.Drive.AccelMPS2)
		}
		if d := s - s0 - (v+before)/2*dt; math.Abs(d) > 1e-4 {
			t.Fatalf("at %.2f s: moved %g m more than the speed says", x, d)
		}
		if v > 0.1 {
			if back := m.timeAt(s); math.Abs(back-x) > 1e-6 {
				t.Fatalf("at %.2f s: timeAt gives %.6f", x, back)
			}
		}
		before, s0 = v, s
	}
	if s, v, _ := k.at(m.endS + 10); math.Abs(s-pl.LengthM) > 1e-6 || v != 0 {
		t.Errorf("after the end: %g m at %g m/s, want %g at 0", s, v, pl.LengthM)
	}
}
