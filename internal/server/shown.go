package server

import (
	"fmt"
	"time"

	"drawbar/coverage"
	"drawbar/internal/live"
	"drawbar/internal/units"
)

// unknown is what stands for a figure that is not known.
const unknown = "unknown"

// fixIsOld is from when on a fix is shown as old and its speed not at all.
const fixIsOld = 3 * time.Second

// shown is the state as text, group by group, in the units and the time zone
// that the person chose.
func (s *Server) shown(of *live.State) []shownJSON {
	l := list{of: s.c.Units}
	work := &of.Snapshot.Work
	l.group = "Position"
	recent := false
	if f := &of.Snapshot.Fix; f.Time.IsZero() {
		l.add("Fix", "none yet")
	} else {
		old := max(0, of.Now.Sub(f.Arrival))
		recent = old < fixIsOld
		if recent {
			l.add("Fix", f.Quality.String())
		} else {
			l.add("Fix", fmt.Sprintf("%s, %.0f s old", f.Quality, old.Seconds()))
		}
		l.add("Time", f.Time.In(s.c.Timezone).Format("2006-01-02 15:04:05 MST"))
	}
	l.figure("Speed", units.Speed, work.SpeedMPS, recent && work.HasSpeed)
	if work.Placed {
		l.add("Heading", fmt.Sprintf("%.0f°", work.HeadingDeg))
	}
	l.work(of)
	l.tanks(work)
	t := &work.Totals
	l.group = "Totals"
	l.figure("Working distance", units.Distance, t.WorkingDistanceM, true)
	l.figure("Distance", units.Distance, t.DistanceM, true)
	l.add("Working time", hoursMinutes(time.Duration(t.WorkingNS)))
	l.add("Marks", fmt.Sprint(work.Marks))
	l.group = "Recording"
	l.recording(&of.Recording)
	return l.rows
}

// list collects rows of one group after another.
type list struct {
	of    units.System
	group string
	rows  []shownJSON
}

func (l *list) add(name, value string) {
	l.rows = append(l.rows, shownJSON{Group: l.group, Name: name, Value: value})
}

func (l *list) figure(name string, q units.Quantity, si float64, known bool) {
	if !known {
		l.add(name, unknown)
		return
	}
	l.add(name, l.of.Show(q, si))
}

func (l *list) work(of *live.State) {
	w := &of.Snapshot.Work
	l.group = "Operation"
	if o := w.Operation; o == nil {
		l.add("Operation", "none yet")
	} else {
		l.add("Operation", orUnknown(o.Name))
		l.add("Field", orUnknown(o.Field))
		l.figure("Covered", units.Area, o.CoveredM2, true)
		l.figure("Overlap", units.Area, o.OverlapM2, true)
		if v := of.Survey; v != nil {
			l.optional("Skips", units.Area, v.SkipM2)
			l.optional("Remaining", units.Area, v.RemainingM2)
			l.optional("Outside the field", units.Area, v.OutsideM2)
		}
	}
	if n := len(w.Sections); n > 0 {
		on, known := 0, false
		for _, s := range w.Sections {
			known = known || s != coverage.SectionUnknown
			if s == coverage.SectionOn {
				on++
			}
		}
		if known {
			l.add("Sections on", fmt.Sprintf("%d of %d", on, n))
		} else {
			l.add("Sections on", fmt.Sprintf("unknown, of %d", n))
		}
	}
}

func (l *list) optional(name string, q units.Quantity, si *float64) {
	if si != nil {
		l.figure(name, q, *si, true)
	}
}

func (l *list) tanks(w *coverage.Snapshot) {
	for _, t := range w.Tanks {
		l.group = fmt.Sprintf("Tank %d", t.Number)
		if t.Product != "" {
			l.group += ": " + t.Product
		}
		amount, rate, ok := units.AmountOf(t.Unit)
		l.figure("Rate", rate, t.RatePerM2, ok && t.HasRate)
		l.figure("Target", rate, t.TargetPerM2, ok && t.HasTarget)
		if ok && t.HasLevel {
			l.figure("Left", amount, t.LevelAmount, true)
		}
		if w.Operation == nil {
			continue
		}
		for _, p := range w.Operation.Products {
			if q, _, ok := units.AmountOf(p.Unit); ok && p.Tank == t.Number && p.Product == t.Product {
				l.figure("Put down", q, p.AppliedAmount, p.HasApplied)
			}
		}
	}
}

func (l *list) recording(r *live.RecordingState) {
	switch {
	case r.Err != "":
		l.add("State", "NOT recording: "+r.Err)
	case r.Recording:
		l.add("State", "recording")
	default:
		l.add("State", "not recording")
	}
	if r.Session != "" {
		l.add("Session", r.Session)
		l.add("Size", fmt.Sprintf("%.1f MB", float64(r.Bytes)/1e6))
	}
	if r.HasFree {
		l.add("Free on disk", fmt.Sprintf("%.1f GB", float64(r.FreeBytes)/1e9))
	}
}

func orUnknown(text string) string {
	if text == "" {
		return unknown
	}
	return text
}

func hoursMinutes(d time.Duration) string {
	return fmt.Sprintf("%d h %02d min", int(d.Hours()), int(d.Minutes())%60)
}
