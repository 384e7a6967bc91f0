package sim

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestTruthAddsUp: working time is the union of the sections' times; switchings
// alternate; operations add up to the session.
func TestTruthAddsUp(t *testing.T) {
	t.Parallel()
	for seed := range uint64(8) {
		sc := RandomField(seed)
		sc.Orders = []Order{{AfterPass: 2, JSON: `{"operation":"rolling"}`}}
		tr := quiet(t, sc)
		on := map[int]bool{}
		working := 0.0
		var since time.Time
		var before time.Time
		for _, s := range tr.Switches {
			if s.At.Before(before) {
				t.Fatalf("seed %d: switchings out of order at %v", seed, s.At)
			}
			before = s.At
			if on[s.Section] == s.On {
				t.Fatalf("seed %d: section %d switched twice the same way at %v", seed, s.Section, s.At)
			}
			count := len(on)
			if s.On {
				on[s.Section] = true
			} else {
				delete(on, s.Section)
			}
			switch {
			case count == 0 && len(on) == 1:
				since = s.At
			case count == 1 && len(on) == 0:
				working += s.At.Sub(since).Seconds()
			}
		}
		if len(on) != 0 {
			t.Errorf("seed %d: sections %v still on at the end", seed, on)
		}
		if math.Abs(working-tr.WorkingS) > 1e-4 {
			t.Errorf("seed %d: working %.6f s, union of switchings %.6f", seed, tr.WorkingS, working)
		}
		gross, amount := 0.0, 0.0
		for _, o := range tr.Operations {
			gross += o.GrossM2
			amount += o.Tanks[0].Applied
		}
		near(t, "sum of operations", gross, tr.GrossM2, 1e-9)
		near(t, "amount of operations", amount, tr.Tanks[0].Applied, 1e-9)
		if len(tr.Operations) != 2 || tr.Operations[1].Operation != "rolling" {
			t.Errorf("seed %d: operations %+v", seed, tr.Operations)
		}
		if tr.GrossM2 < 0.3**tr.FieldM2 || tr.GrossM2 > 1.6**tr.FieldM2 {
			t.Errorf("seed %d: gross %.0f of a field of %.0f m2", seed, tr.GrossM2, *tr.FieldM2)
		}
		// The mean rate is the target but for the meter's noise.
		near(t, "mean rate", tr.Tanks[0].Applied/tr.GrossM2, 0.0112, 0.01)
	}
}

// TestDrivenTwice: everything once more doubles gross and adds nothing else.
func TestDrivenTwice(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(4, 100, 12, 12)
	once := quiet(t, sc)
	sc.Drive.Repeats = 1
	twice := quiet(t, sc)
	near(t, "gross", twice.GrossM2, 2*once.GrossM2, 1e-7)
	if twice.Passes != 2*once.Passes {
		t.Errorf("%d passes, want %d", twice.Passes, 2*once.Passes)
	}
}

// TestLateSwitching: on late and off late by t at speed v moves a pass by v t;
// off late alone lengthens it: W v t a pass, 12 m x 3 m/s x 1.5 s = 54 m2
// (plane geometry).
func TestLateSwitching(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(3, 200, 12, 12)
	exact := quiet(t, sc).GrossM2
	sc.Control.OffLateS, sc.Drive.RunOutM = 1.5, 25
	near(t, "off late", quiet(t, sc).GrossM2, exact+3*54, 1e-7)
	sc.Control.OffLateS = -1.5
	near(t, "off early", quiet(t, sc).GrossM2, exact-3*54, 1e-7)
	sc.Control.OffLateS, sc.Control.OnLateS, sc.Drive.RunInM = 0, -1.5, 25
	near(t, "on early", quiet(t, sc).GrossM2, exact+3*54, 1e-7)
}

// TestLagLandsRight: whatever the lag, look-ahead puts the product in place.
func TestLagLandsRight(t *testing.T) {
	t.Parallel()
	for _, lag := range []float64{0, 0.7, 4} {
		sc := ParallelPasses(3, 200, 12, 12)
		sc.Tanks[0].LagS = lag
		tr := quiet(t, sc)
		near(t, fmt.Sprintf("gross with lag %g", lag), tr.GrossM2, 7200, 1e-7)
		near(t, fmt.Sprintf("applied with lag %g", lag), tr.Tanks[0].Applied, 7200*0.0112, 1e-7)
	}
}

// TestFlow: a flow of rate x width x speed gives the rate's amount while the
// speed is steady.
func TestFlow(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(3, 200, 12, 12)
	sc.Tanks[0].PlainFlow, sc.Tanks[0].LagS = true, 1.5
	sc.Drive.RunInM, sc.Drive.RunOutM = 25, 25
	lines, tr := record(t, sc)
	near(t, "applied", tr.Tanks[0].Applied, 7200*0.0112, 1e-5)
	// 112 kg/ha x 12 m x 3 m/s x 60 s = 24.192 kg/min.
	seen := false
	for _, r := range reports(t, lines) {
		if v := r.value["tank.1.flow"]; v != 0 {
			seen = true
			near(t, "flow", v, 24.192, 1e-9)
		}
	}
	if !seen {
		t.Error("no flow was reported")
	}
}

// TestPlugged: a plugged section is reported on and its ground is bare.
func TestPlugged(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(1, 400, 12, 12)
	sc.Machine.Plugs = []Plug{{Section: 2, Span: Span{FromS: 40, ForS: 20}}}
	tr := quiet(t, sc)
	near(t, "gross", tr.GrossM2, 4800, 1e-7)
	near(t, "bare", tr.Plugged[0].BareM2, 3*3*20, 1e-6)
}

// TestAlwaysOn: on from the first movement to the last.
func TestAlwaysOn(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(2, 100, 12, 12)
	sc.Control.Mode = ControlAlwaysOn
	tr := quiet(t, sc)
	near(t, "working distance", tr.WorkingDistanceM, tr.DistanceM, 1e-6)
}

// TestReversing: a fishtail's course turns round while the heading does not.
func TestReversing(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(2, 100, 12, 12)
	sc.Drive.Turn = TurnFishtail
	sc.Receiver.Sentences = append(sc.Receiver.Sentences, Sentence{Formatter: "HDT"})
	lines, tr := record(t, sc)
	near(t, "gross", tr.GrossM2, 2400, 1e-7)
	course, backwards := -1.0, 0
	for _, l := range lines {
		if l.stream != StreamGNSS {
			continue
		}
		f := strings.Split(l.line, ",")
		switch {
		case strings.HasSuffix(f[0], "VTG"):
			if course = -1; f[1] != "" {
				course, _ = strconv.ParseFloat(f[1], 64)
			}
		case strings.HasSuffix(f[0], "HDT") && course >= 0:
			h, _ := strconv.ParseFloat(f[1], 64)
			switch d := math.Abs(math.Remainder(h-course, 360)); {
			case d > 179.9:
				backwards++
			case d > 0.1:
				t.Fatalf("heading %g, course %g", h, course)
			}
		}
	}
	if backwards < 5 {
		t.Errorf("%d epochs in reverse", backwards)
	}
}
