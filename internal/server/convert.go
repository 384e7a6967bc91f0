package server

import (
	"math"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/supply"
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
	return alarmJSON{Alarm: a.Alarm.String(), Subject: some(a.Subject), Severity: a.Severity.String(), Text: a.Text, Since: stamp(a.Since), Seen: a.Seen}
}

func wireAlarms(alarms []live.AlarmState) []alarmJSON {
	out := []alarmJSON{}
	for _, a := range alarms {
		out = append(out, wireAlarm(a))
	}
	return out
}

func wireMark(m *coverage.Mark) markJSON {
	return markJSON{Number: only(m.Number, m.Number > 0), Kind: m.Kind, Note: m.Note, Time: stamp(m.Time), LonDeg: only(m.LonDeg, m.Known), LatDeg: only(m.LatDeg, m.Known)}
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
		Antenna: only([2]float64{w.LonDeg, w.LatDeg}, w.Placed),
		Bar:     listed(w.Bar), Sections: wireSections(w.Sections), SectionsMetered: wireSections(w.Metered),
		SectionsM: listed(w.SectionsM),
	}
	width := 0.0
	for _, v := range w.SectionsM {
		width += v
	}
	m.OperationWidthM = only(width, len(w.SectionsM) > 0)
	return m
}

// listed is a list that is never null.
func listed[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func wireTanks(tanks []coverage.TankNow, f *supply.Forecast) []tankJSON {
	out := []tankJSON{}
	for _, t := range tanks {
		left := 0.0
		if drain := t.DrainPerM2(); drain > 0 {
			left = max(0, t.LevelAmount) / drain
		}
		out = append(out, tankJSON{
			Tank: t.Number, Product: t.Product, Unit: some(t.Unit),
			RatePerM2: only(t.RatePerM2, t.HasRate), TargetPerM2: only(t.TargetPerM2, t.HasTarget),
			Level: only(t.LevelAmount, t.HasLevel), Capacity: only(t.FullAmount, t.HasFull),
			AreaLeftM2: only(left, t.HasLevel && t.HasRate && t.RatePerM2 > 0 && !math.IsInf(left, 0)),
			LevelFrom:  only(t.LevelFrom.String(), t.LevelFrom != coverage.LevelUnknown),
		})
		wireOutlook(&out[len(out)-1], f)
	}
	return out
}

func wireOperation(s *live.State) *operationJSON {
	o := s.Snapshot.Work.Operation
	if o == nil {
		return nil
	}
	out := &operationJSON{
		Number: max(1, o.Number), Field: o.Field, Operation: o.Name, HasBoundary: o.HasBoundary,
		Area:      areaJSON{FieldM2: only(o.FieldM2, o.HasField), GrossM2: o.GrossM2, CoveredM2: o.CoveredM2, OverlapM2: o.OverlapM2},
		OverlapBy: overlapByJSON{HeadlandM2: o.OverlapBy.HeadlandM2, BetweenPassesM2: o.OverlapBy.BetweenPassesM2, SectionsM2: o.OverlapBy.SectionsM2},
		Skips:     wireSkips(o), Products: []productJSON{},
	}
	if v := s.Survey; v != nil {
		out.Area.SkipM2, out.Area.RemainingM2, out.Area.OutsideM2 = v.SkipM2, v.RemainingM2, v.OutsideM2
	}
	for _, p := range o.Products {
		out.Products = append(out.Products, productJSON{
			Tank: p.Tank, Name: p.Product, Unit: p.Unit, Applied: only(p.AppliedAmount, p.HasApplied), AreaM2: p.AreaM2,
			MeanRatePerM2: only(p.MeanPerM2, p.HasMean), MeanTargetPerM2: only(p.MeanTarget, p.HasMeanTarget),
		})
	}
	return out
}

func wireSkips(o *coverage.OperationNow) *skipsJSON {
	if !o.HasSkip {
		return nil
	}
	out := &skipsJSON{Open: o.OpenSkips, Largest: []skipJSON{}}
	for _, s := range o.Skips[:min(5, len(o.Skips))] {
		out.Largest = append(out.Largest, skipJSON{LonDeg: s.LonDeg, LatDeg: s.LatDeg, AreaM2: s.AreaM2, WidthM: s.WidthM, LengthM: s.LengthM, State: s.State.String()})
	}
	return out
}

func wirePlace(p *live.Place) placeJSON {
	out := placeJSON{Field: some(p.Field)}
	if o := p.Offer; o != nil {
		out.Offer = &offerJSON{Field: o.Field, Inside: o.Inside, InS: only(max(0, o.InS), o.HasInS)}
	}
	return out
}

func wireReplay(r *live.Replay) *replayJSON {
	if r == nil {
		return nil
	}
	return &replayJSON{Start: stamp(r.Start), End: stamp(r.End), At: stamp(r.At), Speed: r.Speed, Playing: r.Playing}
}

func wireRecording(r *live.RecordingState) recordingJSON {
	return recordingJSON{Session: some(r.Session), Recording: r.Recording, Bytes: r.Bytes, FreeBytes: only(r.FreeBytes, r.HasFree), Error: some(r.Err)}
}

// wireState is the whole state.
func (s *Server) wireState(of *live.State) stateJSON {
	t := &of.Snapshot.Work.Totals
	return stateJSON{
		Version: of.Version, Started: stamp(of.Started), Time: stamp(of.Now), Timezone: s.c.Timezone.String(), Units: s.c.Units.String(),
		Events: of.Snapshot.Events, GNSS: wireGNSS(of), Controller: wireController(of), Machine: wireMachine(&of.Snapshot.Work),
		Tanks: wireTanks(of.Snapshot.Work.Tanks, &of.Outlook), Operation: wireOperation(of), Recording: wireRecording(&of.Recording),
		Totals: totalsJSON{
			WorkingS: float64(t.WorkingNS) / 1e9, DistanceM: t.DistanceM, WorkingDistanceM: t.WorkingDistanceM,
			Gaps: t.Gaps, GapS: float64(t.GapNS) / 1e9, Marks: of.Snapshot.Work.Marks, ClockSteps: of.Snapshot.ClockSteps,
		},
		Sources: wireSources(of.Sources), Alarms: wireAlarms(of.Alarms),
		Tiles: tilesJSON{Revision: of.Tiles.Revision, Work: s.firstWork + of.Tiles.Work}, Place: wirePlace(&of.Place), Replay: wireReplay(of.Replay), Marks: of.Marks,
	}
}
