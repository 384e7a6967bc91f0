package sim

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// good counts by the rule that a sentence is what stands from the last $ to an
// end of * and two digits that fit.
func good(line string) bool {
	i := strings.LastIndexByte(line, '$')
	if i < 0 || len(line) < i+4 || line[len(line)-3] != '*' {
		return false
	}
	sum := byte(0)
	for _, c := range []byte(line[i+1 : len(line)-3]) {
		sum ^= c
	}
	return fmt.Sprintf("%02X", sum) == line[len(line)-2:]
}

// TestDamage: what the truth counts as good is what an independent count finds.
func TestDamage(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(2, 200, 12, 12)
	sc.Receiver.Damaged, sc.Machine.Damaged = 0.2, 0.2
	sc.Receiver.Repeated, sc.Receiver.Backward = 0.05, 0.05
	lines, tr := record(t, sc)
	all, whole, reports, sound := 0, 0, 0, 0
	for _, l := range lines {
		switch l.stream {
		case StreamGNSS:
			all++
			if good(l.line) {
				whole++
			}
		case StreamController:
			reports++
			if _, ok := readReport(l); ok {
				sound++
			}
		}
	}
	g, c := tr.GNSS, tr.Controller
	if all != g.Lines || whole != g.Good {
		t.Errorf("%d lines, %d good; truth %+v", all, whole, g)
	}
	if reports != c.Lines || sound != c.Good {
		t.Errorf("%d reports, %d good; truth %+v", reports, sound, c)
	}
	for what, n := range map[string]int{
		"flipped": g.Flipped, "cut": g.Cut, "noise": g.NoiseBefore, "repeated": g.Repeated, "backward": g.Backward, "damaged reports": c.Damaged,
	} {
		if n == 0 {
			t.Errorf("no line %s", what)
		}
	}
	if g.Good != g.Lines-g.Flipped-g.Cut {
		t.Errorf("counts do not add up: %+v", g)
	}
	near(t, "share of damaged sentences", float64(g.Flipped+g.Cut+g.NoiseBefore)/float64(g.Lines), 0.2, 0.15)
}

// TestOutagesAndSilence: no line while silent, empty sentences where asked for.
func TestOutagesAndSilence(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(2, 200, 12, 12)
	sc.Receiver.Outages = []Outage{{Span: Span{30, 4}}, {Span: Span{50, 3}, Empty: true}}
	sc.Machine.Stale = []Span{{70, 6}}
	lines, tr := record(t, sc)
	empty := 0
	for _, l := range lines {
		s := l.at.Sub(sc.Start).Seconds()
		switch {
		case l.stream == StreamGNSS && s >= 30 && s < 34:
			t.Fatalf("line in the outage: %s", l.line)
		case l.stream == StreamController && s >= 70 && s < 76:
			t.Fatalf("report while silent: %s", l.line)
		case l.stream == StreamGNSS && s >= 50 && s < 53:
			if !good(l.line) || strings.Contains(l.line, ",N,0") {
				t.Fatalf("not an empty sentence: %s", l.line)
			}
			empty++
		}
	}
	if empty != 3*5*3 {
		t.Errorf("%d empty sentences, want 45", empty)
	}
	end := tr.End.Sub(tr.Start).Seconds()
	if want := int(math.Floor(end*5)) + 1 - 7*5; tr.GNSS.Epochs != want {
		t.Errorf("%d epochs with a position, want %d", tr.GNSS.Epochs, want)
	}
	near(t, "gross", tr.GrossM2, 4800, 1e-7)
}

// TestClock: the session's clock is wrong by years, drifts and is stepped; GNSS time is
// not, and the lines stay in order of arrival.
func TestClock(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(1, 200, 12, 12)
	clean, _ := record(t, sc)
	sc.Clock = Clock{OffsetS: -9 * 365.25 * 86400, DriftPPM: 50, Steps: []Step{{AtS: 40, ByS: 3600}, {AtS: 60, ByS: -7}}}
	wrong, _ := record(t, sc)
	if len(clean) != len(wrong) {
		t.Fatalf("%d lines, %d with a wrong clock", len(clean), len(wrong))
	}
	for i := range clean {
		if clean[i].line != wrong[i].line {
			t.Fatalf("line %d differs: %s, %s", i, clean[i].line, wrong[i].line)
		}
		s := clean[i].at.Sub(sc.Start).Seconds()
		want := -9*365.25*86400 + s*50e-6
		if s >= 40 {
			want += 3600
		}
		if s >= 60 {
			want -= 7
		}
		if got := wrong[i].at.Sub(clean[i].at).Seconds(); math.Abs(got-want) > 2e-6 {
			t.Fatalf("at %.3f s the clock is off by %.6f s, want %.6f", s, got, want)
		}
	}
}

// TestMidnight: the date steps on with the time of day.
func TestMidnight(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(1, 200, 12, 12)
	sc.Start = time.Date(2026, 12, 31, 23, 59, 30, 0, time.UTC)
	lines, _ := record(t, sc)
	dates := map[string]bool{}
	for _, l := range lines {
		if strings.HasPrefix(l.line, "$GNRMC") {
			f := strings.Split(l.line, ",")
			dates[f[9]] = true
			if late := strings.HasPrefix(f[1], "235"); late != (f[9] == "311226") {
				t.Fatalf("time and date do not fit: %s", l.line)
			}
		}
	}
	if len(dates) != 2 || !dates["010127"] {
		t.Errorf("dates %v, want 311226 and 010127", dates)
	}
}

// TestArrival: with latency, jitter and a slow wire, each stream arrives in
// order and the first sentence of an epoch between latency and latency + jitter.
func TestArrival(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(1, 200, 12, 12)
	sc.Receiver.LatencyS, sc.Receiver.JitterS, sc.Receiver.Baud = 0.08, 0.04, 38400
	sc.Machine.LatencyS, sc.Machine.JitterS = 0.05, 0.05
	lines, _ := record(t, sc)
	var before time.Time
	for _, l := range lines {
		if l.at.Before(before) {
			t.Fatalf("%v after %v", l.at, before)
		}
		before = l.at
		if !strings.HasPrefix(l.line, "$GNGGA") {
			continue
		}
		clock, err := time.Parse("150405.00", strings.Split(l.line, ",")[1])
		if err != nil {
			t.Fatal(err)
		}
		late := l.at.Sub(time.Date(2026, 5, 14, clock.Hour(), clock.Minute(), clock.Second(), clock.Nanosecond(), time.UTC)).Seconds()
		if late < 0.0795 || late > 0.1205 {
			t.Fatalf("%s arrived %.4f s late, want 0.08 to 0.12", l.line, late)
		}
	}
}

// TestJumps: one epoch 10 km off and the next one back.
func TestJumps(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(1, 200, 12, 12)
	sc.Receiver.Jumps = []Jump{{AtS: 20, EastM: 10_000}, {AtS: 30, NorthM: -10_000}}
	sc.Receiver.Sentences = []Sentence{{Formatter: "GGA"}}
	lines, tr := record(t, sc)
	off := 0
	for _, l := range lines {
		if l.stream == StreamGNSS && (!strings.Contains(l.line, ",5318.") || !strings.Contains(l.line, ",00000.")) {
			off++
		}
	}
	if off != 2 || tr.GNSS.Jumps != 2 {
		t.Errorf("%d positions far off, truth %d, want 2", off, tr.GNSS.Jumps)
	}
}

// TestErrorClasses: the spread of standing positions grows from class to class
// and the quality digit tells it.
func TestErrorClasses(t *testing.T) {
	t.Parallel()
	last := 0.0
	for _, c := range []struct {
		class Class
		digit string
	}{{ClassPerfect, "4"}, {ClassRTK, "4"}, {ClassFloat, "5"}, {ClassDGPS, "2"}, {ClassAutonomous, "1"}} {
		sc := ParallelPasses(1, 20, 12, 12)
		sc.Receiver.Class = c.class
		sc.Receiver.Sentences = []Sentence{{Formatter: "GGA"}, {Formatter: "GST"}}
		sc.Drive.StandS = 600
		lines, _ := record(t, sc)
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, l := range lines {
			f := strings.Split(l.line, ",")
			if l.stream != StreamGNSS || !strings.HasSuffix(f[0], "GGA") || l.at.Sub(sc.Start) > 590*time.Second {
				continue
			}
			if f[6] != c.digit {
				t.Fatalf("class %d: quality %s, want %s", c.class, f[6], c.digit)
			}
			var m float64
			fmt.Sscanf(f[2][2:], "%f", &m)
			lo, hi = min(lo, m*1852), max(hi, m*1852)
		}
		if spread := hi - lo; spread < last*1.5 || c.class != ClassPerfect && spread == 0 {
			t.Errorf("class %d spreads %.4f m, the one before %.4f", c.class, spread, last)
		} else {
			last = spread
		}
	}
}

func TestSinkEndsRun(t *testing.T) {
	t.Parallel()
	full := errors.New("disk full")
	n := 0
	_, err := Run(Default(), func(time.Time, string, []byte) error {
		if n++; n == 10 {
			return full
		}
		return nil
	})
	if !errors.Is(err, full) || n != 10 {
		t.Errorf("got %v after %d lines, want the sink's error after 10", err, n)
	}
}

func TestRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		change func(*Scenario)
		want   string
	}{
		{"no section", func(s *Scenario) { s.Implement.SectionsM = nil }, "number of sections 0"},
		{"not a number", func(s *Scenario) { s.Drive.HeadingDeg = math.NaN() }, "heading NaN"},
		{"infinite", func(s *Scenario) { s.Drive.WorkMPS = math.Inf(1) }, "working speed +Inf"},
		{"tight turn", func(s *Scenario) {
			s.Implement, s.Tanks = trailedDrill()
			s.Drive.RadiusM = 5
		}, "folds up an implement"},
		{"towed in reverse", func(s *Scenario) {
			s.Implement, s.Tanks = trailedDrill()
			s.Drive.Turn = TurnFishtail
		}, "choose the bulb turn"},
		{"field too narrow", func(s *Scenario) { s.Drive.HeadlandPasses = 9 }, "too narrow"},
		{"corner too short", func(s *Scenario) { s.Drive.HeadlandPasses, s.Drive.RadiusM = 6, 100 }, "too short to turn"},
		{"sentence", func(s *Scenario) { s.Receiver.Sentences = []Sentence{{Formatter: "XYZ"}} }, `sentence "XYZ"`},
		{"tank twice", func(s *Scenario) { s.Tanks = append(s.Tanks, s.Tanks[0]) }, "given twice"},
		{"operator line", func(s *Scenario) { s.Orders = []Order{{JSON: "{"}} }, "operator line {"},
	} {
		sc := Default()
		c.change(&sc)
		_, err := Run(sc, func(time.Time, string, []byte) error { return nil })
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want an error with %q", c.name, err, c.want)
		}
	}
}

// BenchmarkDay is an hour of the long day: how much faster than life.
func BenchmarkDay(b *testing.B) {
	b.ReportAllocs()
	sc := Day(1)
	sc.Drive.HeadlandPasses, sc.Drive.Passes = 0, 6
	simulated, lines := 0.0, 0
	for b.Loop() {
		tr, err := Run(sc, func(time.Time, string, []byte) error { lines++; return nil })
		if err != nil {
			b.Fatal(err)
		}
		simulated += tr.End.Sub(tr.Start).Seconds()
	}
	b.ReportMetric(simulated/b.Elapsed().Seconds(), "x-real-time")
	b.ReportMetric(float64(lines)/b.Elapsed().Seconds(), "lines/s")
}
