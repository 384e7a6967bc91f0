package metrics

import (
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/live"
	"drawbar/nmea"
)

// recent is how old a fix may be for speed and heading to be shown: a gauge
// that stands still does not look old.
const recent = 5 * time.Second

func (e emit) state(s *live.State, age time.Duration) {
	snap := &s.Snapshot
	for _, c := range snap.Sentences {
		e.counter(e.sentences, float64(c.N), c.Formatter, c.Result.String())
	}
	for q := nmea.QualitySimulated; q <= nmea.QualityRTK; q++ {
		e.counter(e.fixes, float64(snap.Fixes[q]), q.String())
	}
	fixAge, hasFix := ageOf(snap.Fix.Arrival, s.Now, age)
	if hasFix {
		e.gauge(e.fixAge, fixAge.Seconds())
	}
	e.controller(s, age)
	for _, src := range s.Sources {
		name := clean(src.Name)
		e.gauge(e.sourceUp, truth(src.Up), name)
		e.counter(e.sourceReconnects, float64(src.Reconnects), name)
		e.counter(e.sourceBytes, float64(src.Bytes), name)
	}
	if hasFix && fixAge <= recent {
		if snap.Work.HasSpeed {
			e.gauge(e.speed, snap.Work.SpeedMPS)
		}
		if snap.Work.Placed {
			e.gauge(e.heading, snap.Work.HeadingDeg)
		}
	}
	e.operation(s)
	e.tanks(snap.Work.Tanks)
	e.sections(snap.Work.Sections)
	e.counter(e.sessionBytes, float64(s.Recording.Bytes))
	var stands [live.AlarmCount]bool
	for _, a := range s.Alarms {
		if a.Alarm < live.AlarmCount {
			stands[a.Alarm] = true
		}
	}
	for a, is := range stands {
		e.gauge(e.alarm, truth(is), live.Alarm(a).String())
	}
}

// ageOf is how long ago something arrived, false if it never did: its age when
// the state was published and the time since. Where the session's clock was set
// back in between, only the latter is known.
func ageOf(arrival, published time.Time, since time.Duration) (time.Duration, bool) {
	if arrival.IsZero() {
		return 0, false
	}
	return max(0, published.Sub(arrival)) + max(0, since), true
}

func (e emit) controller(s *live.State, since time.Duration) {
	tally := &s.Snapshot.Controller
	ignored := tally.Lines - tally.Reports
	e.counter(e.lines, float64(tally.Reports), "report")
	for r, n := range tally.Rejected {
		if reason := controller.Reason(r); reason.Rejected() {
			e.counter(e.lines, float64(n), reason.String())
			ignored -= n
		}
	}
	e.counter(e.lines, float64(max(0, ignored)), "ignored")
	if age, ok := ageOf(s.Snapshot.ReportAt, s.Now, since); ok {
		e.gauge(e.reportAge, age.Seconds())
	}
}

func (e emit) operation(s *live.State) {
	op := s.Snapshot.Work.Operation
	if op == nil {
		return
	}
	e.gauge(e.area, op.GrossM2, "gross")
	e.gauge(e.area, op.CoveredM2, "covered")
	e.gauge(e.area, op.OverlapM2, "overlap")
	if v := s.Survey; v != nil {
		for _, k := range []struct {
			kind string
			m2   *float64
		}{{"skip", v.SkipM2}, {"remaining", v.RemainingM2}, {"outside", v.OutsideM2}} {
			if k.m2 != nil {
				e.gauge(e.area, *k.m2, k.kind)
			}
		}
	}
	for _, a := range sumApplied(op.Products) {
		e.counter(e.applied, a.amount, a.tank, a.product, a.unit)
	}
}

func (e emit) tanks(tanks []coverage.TankNow) {
	for _, t := range tanks {
		if t.Unit == "" {
			continue
		}
		tank, product := tankLabel(t.Number), clean(t.Product)
		if t.HasRate {
			e.gauge(e.rate, t.RatePerM2, tank, product, t.Unit, "actual")
		}
		if t.HasTarget {
			e.gauge(e.rate, t.TargetPerM2, tank, product, t.Unit, "target")
		}
		if t.HasLevel {
			e.gauge(e.level, t.LevelAmount, tank, t.Unit)
		}
	}
}

func (e emit) sections(states []coverage.SectionState) {
	if len(states) == 0 {
		return
	}
	on, known := 0, false
	for _, s := range states {
		known = known || s != coverage.SectionUnknown
		if s == coverage.SectionOn {
			on++
		}
	}
	e.untyped(e.sectionCount, float64(len(states)))
	if known {
		e.gauge(e.sectionsOn, float64(on))
	}
}

func truth(is bool) float64 {
	if is {
		return 1
	}
	return 0
}
