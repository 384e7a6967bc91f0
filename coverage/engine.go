package coverage

import (
	"math"
	"slices"
	"time"

	"drawbar/controller"
	"drawbar/coverage/plane"
	"drawbar/nmea"
)

// Engine turns fixes, reports and statements into coverage. Inputs come in
// order; a report or a statement must come before the first fix whose time is
// later than its own, else it acts from the last fix on.
type Engine struct {
	setup Setup
	said  state // by the operator
	force state // the same as corrected

	plane    *plane.Plane
	head     heading
	noise    noise
	last     station // the last fix used, by time; bar unused
	hasLast  bool    // last is set
	speedMPS float64 // over ground at last; with hasSpeed
	hasSpeed bool
	saved    beforeJump  // what to go back to when a single fix was far off
	pending  []station   // fixes whose heading is not known yet
	dated    bool        // a date has come from the receiver
	late     int         // fixes in a row that lie before last
	lateAt   [2]int64    // first and last of those
	queue    []station   // fixes with a heading that wait for reports
	nowNS    int64       // the latest moment heard of
	waitNS   int64       // how long a fix waits for the reports that describe it
	unheard  []Statement // statements not yet acted on, in order

	corrections []correction
	corrected   []correctedOperation

	at      station // where painting has come to
	placed  bool    // at is set
	aside   station // at before the jump
	hasSide bool
	next    station
	mid     station

	meter     meter
	painter   painter
	ops       []*Operation // as they were opened
	worked    int          // how many of them have ground
	marks     []Mark
	withdrawn []int // numbers of marks
	journal   []Entry
	stores    []store    // of the tanks that were filled or looked into
	weighings []Weighing // as they began
	driven    *driven    // nil: no boundary is being driven
	totals    Totals
	notes     notes
	blank     Tank // one that is not set up, for tank
}

// beforeJump is the state that a fix far off the track would spoil.
type beforeJump struct {
	last station
	head heading
	ok   bool
}

// Bounds of what waits.
const (
	maxPending     = 256
	dateErrorNS    = 12 * 3600e9 // a day that the arrival gave may be wrong by more than this
	lateSettlesNS  = 3e9         // a receiver whose time goes on behind the old one for this long has been set
	trailGapNS     = 5e9         // across a shorter hole a towed implement is taken to trail along the straight line
	recentreM      = 20_000
	newOperationM  = 2_000
	standingM      = 0.10
	nanosPerSecond = 1e9
)

// NewEngine returns an engine in the given state.
func NewEngine(s Setup) *Engine {
	e := &Engine{setup: s}
	e.said = state{field: s.Field, boundary: s.Boundary, implement: s.Implement, tanks: ReplaceTanks(nil, s.Tanks)}
	for _, c := range s.Corrections {
		e.corrections = append(e.corrections, correction{Correction: c})
	}
	e.meter.staleNS = seconds(s.StaleS)
	e.meter.sectionCursor = -1
	e.painter.swaths.emit = s.OnSwath
	if s.Implement != nil || s.Field != "" {
		name := ""
		if s.Implement != nil {
			name = s.Implement.Operation
		}
		e.said.op = e.open(name, s.Field, time.Time{})
	}
	e.settle(time.Time{})
	return e
}

// seconds is a span in ns, cut off where no drive is that long.
func seconds(s float64) int64 {
	const longest = 1e9
	return int64(math.Round(max(-longest, min(longest, s)) * nanosPerSecond))
}

// bringTanks brings the lags of the tanks into force; a tank that is not set up
// has none.
func (e *Engine) bringTanks() {
	shortest, sections := int64(0), int64(0)
	first := true
	for i := range e.force.tanks {
		t := &e.force.tanks[i]
		e.meter.addTank(t.Number)
		if t.Untimed {
			continue
		}
		lag := seconds(t.LagS)
		if first {
			first, sections, shortest = false, lag, lag
		}
		shortest = min(shortest, lag)
	}
	for i, number := range e.meter.numbers {
		e.meter.setLag(i, seconds(e.tank(number).LagS))
	}
	e.meter.setSectionLag(sections)
	e.waitNS = max(0, seconds(e.setup.ReportLagS)-shortest)
}

// Report takes a report that arrived at the moment at.
func (e *Engine) Report(at time.Time, r controller.Report) {
	t := at.UnixNano()
	e.meter.push(t-seconds(e.setup.ReportLagS), r)
	e.nowNS = max(e.nowNS, t)
	e.paintDue()
}

// Say takes a statement of the operator.
func (e *Engine) Say(s Statement) {
	e.unheard = append(e.unheard, s)
}

// Fix takes the next fix.
func (e *Engine) Fix(f nmea.Fix) {
	t := f.Time.UnixNano()
	e.totals.Fixes++
	if e.backInTime(f, t) {
		return
	}
	s, ok := e.place(f, t)
	if !ok {
		e.totals.Unplaced++
		return
	}
	speed := e.follow(&s, f)
	e.speedMPS, e.hasSpeed = speed, s.joined || f.Has&nmea.HasSpeed != 0
	e.last, e.hasLast = s, true
	if e.totals.FirstNS == 0 {
		e.totals.FirstNS = t
	}
	e.totals.LastNS = max(e.totals.LastNS, t)
	e.track(&s, f)
	e.point(s, f, speed)
	e.nowNS = max(e.nowNS, t)
	e.paintDue()
}

// paintDue paints up to the fixes whose reports have all come in.
func (e *Engine) paintDue() {
	n := 0
	for n < len(e.queue) && e.queue[n].tNS+e.waitNS <= e.nowNS {
		e.reach(&e.queue[n])
		n++
	}
	e.queue = append(e.queue[:0], e.queue[n:]...)
}

// Flush paints everything that was waiting: at the end of the input, or where
// it breaks off.
func (e *Engine) Flush() {
	for i := range e.queue {
		e.reach(&e.queue[i])
	}
	e.queue = e.queue[:0]
	e.painter.swaths.closeAll()
}

// Finish ends the session: what was said after the last fix is obeyed, and the
// operation in hand is closed.
func (e *Engine) Finish() {
	e.Flush()
	var here *station
	if e.placed {
		here = &e.at
	} else if e.hasLast {
		here = &e.last
	}
	for _, st := range e.unheard {
		e.obey(st, here)
	}
	e.unheard = nil
	for i := range e.corrections {
		if e.corrections[i].active() {
			e.stopWeighing(i)
		}
	}
}

// Totals are the sums so far.
func (e *Engine) Totals() Totals { return e.totals }

// Operations are the operations so far, by number. One without ground comes last
// and counts only while it is in hand.
func (e *Engine) Operations() []*Operation {
	var out []*Operation
	for _, o := range e.ops {
		if o.worked || o == e.force.op {
			out = append(out, o)
		}
	}
	slices.SortStableFunc(out, func(a, b *Operation) int {
		if a.worked && b.worked {
			return a.Number - b.Number
		}
		return b.Number - a.Number
	})
	return out
}

// Operation is the one in hand, nil before there is one.
func (e *Engine) Operation() *Operation { return e.force.op }

// Marks are the marks so far, in order of time.
func (e *Engine) Marks() []Mark { return e.marks }

// Warnings says in words what a person should know of the session.
func (e *Engine) Warnings() []string { return e.notes.list(e.totals) }

func (e *Engine) track(s *station, f nmea.Fix) {
	if e.setup.OnTrack == nil {
		return
	}
	e.setup.OnTrack(TrackPoint{
		Time: f.Time, LatDeg: f.LatDeg, LonDeg: f.LonDeg, Quality: f.Quality,
		SpeedMPS: f.SpeedMPS, HasSpeed: f.Has&nmea.HasSpeed != 0,
		HeadingDeg: f.HeadingDeg, HasHeading: f.Has&nmea.HasHeading != 0,
		Broken: !s.joined,
	})
}
