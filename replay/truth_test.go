package replay

import (
	"fmt"
	"math"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/internal/sim"
)

// drive runs a scenario through a session as its lines would arrive, and returns
// the truth beside the session and its quads.
func drive(t *testing.T, sc sim.Scenario) (*sim.Truth, *Session, []coverage.Quad) {
	t.Helper()
	return driveSwaths(t, sc, nil)
}

// driveSwaths does the same and hands every swath on.
func driveSwaths(t *testing.T, sc sim.Scenario, onSwath func(coverage.Swath)) (*sim.Truth, *Session, []coverage.Quad) {
	t.Helper()
	setup := setupOf(sc)
	var quads []coverage.Quad
	setup.Coverage.OnSwath = onSwath
	setup.Coverage.OnQuad = func(q coverage.Quad) { quads = append(quads, q) }
	s, err := NewSession(setup)
	if err != nil {
		t.Fatal(err)
	}
	truth, err := sim.Run(sc, func(at time.Time, stream string, line []byte) error {
		s.Feed(Event{At: at, Stream: streamOf(stream), Line: line})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	s.Finish()
	return truth, s, quads
}

// setupOf is what a session of the scenario is told at its start.
func setupOf(sc sim.Scenario) Setup {
	setup := Setup{LatencyS: sc.Receiver.LatencyS + sc.Receiver.JitterS/2}
	setup.Coverage = coverage.Setup{
		Implement: &sc.Implement, Field: sc.Field.Name, StaleS: 2,
		ReportLagS: sc.Machine.LatencyS + sc.Machine.JitterS/2,
	}
	for _, tank := range sc.Tanks {
		setup.Coverage.Tanks = append(setup.Coverage.Tanks, tank.Tank)
	}
	return setup
}

// streamOf is the stream as the simulator names it.
func streamOf(name string) Stream {
	for _, s := range []Stream{StreamGNSS, StreamController} {
		if s.String() == name {
			return s
		}
	}
	return StreamOperator
}

// Fields whose figures are closed forms: parallel passes (overlap (n-1)(W-S)L),
// a full circle with the centre outside and inside the bar, and pointed rows
// (W²/(2 n tan θ) beyond the edge at each end). Positions are without error, so
// what is left is the distance between fixes at the ends of passes and, on
// curves, the chord for the arc.
func TestClosedForms(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		sc   sim.Scenario
		ppm  float64 // of gross
	}{
		{"passes overlapping 0.6 m", sim.ParallelPasses(10, 400, 12, 11.4), 20},
		{"passes 0.5 m apart", sim.ParallelPasses(10, 400, 12, 12.5), 20},
		{"circle", sim.Circle(30, 12), 400},
		{"circle round the bar's own end", sim.Circle(8, 24), 3000},
		{"pointed rows, one section", sim.PointedRows(math.Pi/4, 12, 1), 20},
		{"pointed rows, eight sections", sim.PointedRows(math.Pi/4, 24, 8), 20},
		{"pointed rows at 30 degrees", sim.PointedRows(math.Pi/6, 12, 4), 20},
	} {
		sc := c.sc
		sc.Receiver.HZ = 20
		truth, s, _ := drive(t, sc)
		area := s.Summary().Operations[0].Area
		tol := truth.Closed.GrossM2 * c.ppm * 1e-6
		near(t, c.name+": gross", area.GrossM2, truth.Closed.GrossM2, tol)
		near(t, c.name+": covered", area.CoveredM2, *truth.Closed.CoveredM2, tol)
		near(t, c.name+": overlap", area.OverlapM2, *truth.Closed.OverlapM2, tol)
	}
}

// Random jobs in random fields all over the world, any implement, mount, lag and
// section control: gross area and amount against the simulator's fine
// integration along the true path, and every switching on the ground within one
// report of its true moment. With a measured heading only the chords between
// fixes are left as error; without one, turns driven with sections on add that
// of the course.
func TestRandomJobs(t *testing.T) {
	t.Parallel()
	for seed := range uint64(12) {
		for _, measured := range []bool{false, true} {
			t.Run(fmt.Sprint(seed, measured), func(t *testing.T) {
				t.Parallel()
				sc := sim.RandomField(seed)
				share := 6e-4
				sc.Receiver.HZ = 10
				if measured {
					share = 2e-4
					sc.Receiver.HZ = 20
					sc.Receiver.Sentences = append(sc.Receiver.Sentences, sim.Sentence{Formatter: "HDT"})
				}
				truth, s, quads := drive(t, sc)
				sum := s.Summary()
				got := sum.Operations[0]
				near(t, "gross", got.Area.GrossM2, truth.GrossM2, truth.GrossM2*share)
				near(t, "applied", *got.Products[0].Applied, truth.Tanks[0].Applied, truth.Tanks[0].Applied*share)
				near(t, "distance", sum.DistanceM, truth.DistanceM, truth.DistanceM*1e-3)
				checkSwitches(t, truth, quads, time.Duration(float64(time.Second)/sc.Machine.HZ))
			})
		}
	}
}

// The noise of positions must not become ground: a 24 m sprayer by a receiver
// with satellite corrections, and one without any, for half an hour.
func TestWideBarUnderNoise(t *testing.T) {
	t.Parallel()
	for class, share := range map[sim.Class]float64{sim.ClassRTK: 1e-3, sim.ClassDGPS: 1.5e-3, sim.ClassAutonomous: 3e-3} {
		sc := sim.Meadow(2)
		sc.Receiver.Class = class
		truth, s, _ := drive(t, sc)
		got := s.Summary().Operations[0]
		near(t, fmt.Sprint("gross, class ", class), got.Area.GrossM2, truth.GrossM2, truth.GrossM2*share)
	}
}

// checkSwitches compares the first moment of work and every later switching of
// each section with the truth.
func checkSwitches(t *testing.T, truth *sim.Truth, quads []coverage.Quad, within time.Duration) {
	t.Helper()
	sections := 0
	for _, q := range quads {
		sections = max(sections, q.To)
	}
	worst := time.Duration(0)
	for section := 1; section <= sections; section++ {
		var own []coverage.Quad
		for _, q := range quads {
			if q.From <= section && section <= q.To {
				own = append(own, q)
			}
		}
		var got []time.Time
		for i, s := range own {
			if i == 0 || !own[i-1].End.Equal(s.Start) {
				got = append(got, s.Start)
			}
			if i+1 == len(own) || !own[i+1].Start.Equal(s.End) {
				got = append(got, s.End)
			}
		}
		for _, g := range got {
			best := time.Hour
			for _, sw := range truth.Switches {
				if sw.Section == section-1 {
					best = min(best, g.Sub(sw.At).Abs())
				}
			}
			worst = max(worst, best)
		}
	}
	if worst > within {
		t.Errorf("a switching is off by %s, more than one report (%s)", worst, within)
	}
}

// With noise switched off the amount is the integral of rate over area within
// 0.01 %, on straight passes.
func TestAmountsWithoutNoise(t *testing.T) {
	t.Parallel()
	sc := sim.ParallelPasses(6, 300, 12, 11.5)
	sc.Tanks[0].RateNoise = 0
	sc.Tanks[0].LagS = 3.7
	sc.Receiver.HZ, sc.Machine.HZ = 10, 5
	truth, s, quads := drive(t, sc)
	p := s.Summary().Operations[0].Products[0]
	near(t, "applied", *p.Applied, truth.Tanks[0].Applied, truth.Tanks[0].Applied*1e-4)
	checkSwitches(t, truth, quads, 200*time.Millisecond)
}
