package server

import (
	"time"

	"drawbar/coverage"
	"drawbar/internal/live"
	"drawbar/nmea"
)

// only is v where it is known, else nil.
func only[T any](v T, known bool) *T {
	if !known {
		return nil
	}
	return &v
}

func some(text string) *string { return only(text, text != "") }

// stamp is a time in UTC with milliseconds, nil for none.
func stamp(t time.Time) *string {
	return only(t.UTC().Format("2006-01-02T15:04:05.000Z"), !t.IsZero())
}

func wireSources(sources []live.SourceState) []sourceJSON {
	out := []sourceJSON{}
	for _, v := range sources {
		out = append(out, sourceJSON{
			Name: v.Name, Stream: v.Stream, Address: v.Address, Up: v.Up, Since: stamp(v.Since), Reconnects: v.Reconnects,
			Bytes: v.Bytes, Lines: v.Lines, Baud: only(v.Baud, v.Baud > 0), LastError: some(v.LastError),
		})
	}
	return out
}

func wireAlarm(a live.AlarmState) alarmJSON {
	return alarmJSON{Alarm: a.Alarm.String(), Subject: some(a.Subject), Severity: a.Severity.String(), Text: a.Text, Since: stamp(a.Since)}
}

func wireAlarms(alarms []live.AlarmState) []alarmJSON {
	out := []alarmJSON{}
	for _, a := range alarms {
		out = append(out, wireAlarm(a))
	}
	return out
}

func wireMark(m *coverage.Mark) markJSON {
	return markJSON{Kind: m.Kind, Note: m.Note, Time: stamp(m.Time), LonDeg: only(m.LonDeg, m.Known), LatDeg: only(m.LatDeg, m.Known)}
}

func wireSections(states []coverage.SectionState) []string {
	out := []string{}
	for _, s := range states {
		out = append(out, [...]string{"unknown", "off", "on"}[min(s, coverage.SectionOn)])
	}
	return out
}

func wireGNSS(s *live.State) gnssJSON {
	f := &s.Snapshot.Fix
	has := !f.Time.IsZero()
	is := func(h nmea.Has) bool { return has && f.Has&h != 0 }
	g := gnssJSON{
		AgeS: age(f.Arrival, s.Now), Time: stamp(f.Time), Quality: only(f.Quality.String(), has),
		LatDeg: only(f.LatDeg, has), LonDeg: only(f.LonDeg, has),
		SpeedMPS:   only(s.Snapshot.Work.SpeedMPS, s.Snapshot.Work.HasSpeed),
		Satellites: only(int(f.Satellites), is(nmea.HasSatellites)), HDOP: only(f.HDOP, is(nmea.HasHDOP)),
		CorrectionAgeS: only(f.CorrectionAgeS, is(nmea.HasCorrection)),
	}
	for _, n := range s.Snapshot.Fixes {
		g.Fixes += n
	}
	return g
}

// age is how old an arrival was when the state was published, seconds; nil when
// nothing arrived, never negative.
func age(arrival, published time.Time) *float64 {
	return only(max(0, published.Sub(arrival)).Seconds(), !arrival.IsZero())
}

func wireController(s *live.State) controllerJSON {
	t := &s.Snapshot.Controller
	c := controllerJSON{Lines: t.Lines, Reports: t.Reports, AgeS: age(s.Snapshot.ReportAt, s.Now)}
	for _, n := range t.Rejected {
		c.Rejected += n
	}
	return c
}

func wireMachine(w *coverage.Snapshot) machineJSON {
	m := machineJSON{
		HeadingDeg: only(w.HeadingDeg, w.Placed), ImplementHeadingDeg: only(w.ImplementDeg, w.Placed),
		Bar: w.Bar, Sections: wireSections(w.Sections), SectionsMetered: wireSections(w.Metered),
	}
	if m.Bar == nil {
		m.Bar = [][2]float64{}
	}
	return m
}

func wireTanks(tanks []coverage.TankNow) []tankJSON {
	out := []tankJSON{}
	for _, t := range tanks {
		out = append(out, tankJSON{
			Tank: t.Number, Product: t.Product, Unit: some(t.Unit),
			RatePerM2: only(t.RatePerM2, t.HasRate), TargetPerM2: only(t.TargetPerM2, t.HasTarget),
			Level: only(t.LevelAmount, t.HasLevel), Capacity: only(t.FullAmount, t.HasFull),
		})
	}
	return out
}

func wireOperation(s *live.State) *operationJSON {
	o := s.Snapshot.Work.Operation
	if o == nil {
		return nil
	}
	out := &operationJSON{Field: o.Field, Operation: o.Name, Area: areaJSON{GrossM2: o.GrossM2, CoveredM2: o.CoveredM2, OverlapM2: o.OverlapM2}, Products: []productJSON{}}
	if v := s.Survey; v != nil {
		out.Area.SkipM2, out.Area.RemainingM2, out.Area.OutsideM2 = v.SkipM2, v.RemainingM2, v.OutsideM2
	}
	for _, p := range o.Products {
		out.Products = append(out.Products, productJSON{Tank: p.Tank, Name: p.Product, Unit: p.Unit, Applied: only(p.AppliedAmount, p.HasApplied), AreaM2: p.AreaM2})
	}
	return out
}

func wireRecording(r *live.RecordingState) recordingJSON {
	return recordingJSON{Session: some(r.Session), Recording: r.Recording, Bytes: r.Bytes, FreeBytes: only(r.FreeBytes, r.HasFree), Error: some(r.Err)}
}

// wireState is the whole state; what depends on the person's choice is left to
// the caller.
func wireState(s *live.State) stateJSON {
	t := &s.Snapshot.Work.Totals
	return stateJSON{
		Version: s.Version, Started: stamp(s.Started), Time: stamp(s.Now), Events: s.Snapshot.Events,
		GNSS: wireGNSS(s), Controller: wireController(s), Machine: wireMachine(&s.Snapshot.Work),
		Tanks: wireTanks(s.Snapshot.Work.Tanks), Operation: wireOperation(s), Recording: wireRecording(&s.Recording),
		Totals: totalsJSON{
			WorkingS: float64(t.WorkingNS) / 1e9, DistanceM: t.DistanceM, WorkingDistanceM: t.WorkingDistanceM,
			Gaps: t.Gaps, GapS: float64(t.GapNS) / 1e9, Marks: s.Snapshot.Work.Marks, ClockSteps: s.Snapshot.ClockSteps,
		},
		Sources: wireSources(s.Sources), Alarms: wireAlarms(s.Alarms),
	}
}
