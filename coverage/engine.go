package coverage

import (
	"time"

	"drawbar/controller"
	"drawbar/coverage/plane"
	"drawbar/nmea"
)

// Setup is what an Engine is told at the start. The zero value of Implement,
// Tanks and Field means that nothing is set up yet: positions and distance are
// still counted.
type Setup struct {
	Implement  *Implement
	Tanks      []Tank
	Field      string
	Boundary   Boundary
	Limits     Limits
	MinQuality nmea.Quality // below it nothing is painted
	StaleS     float64      // no report for this long: state unknown
	ReportLagS float64      // a report describes the meter this long before it arrives
	AlwaysOn   bool         // no controller: the whole bar is on

	Corrections []Correction

	OnSwath func(Swath)      // nil: swaths are not built
	OnQuad  func(Quad)       // nil: quads are not handed out
	OnTrack func(TrackPoint) // nil: the track is not handed out
}

// TrackPoint is a fix as it was used: where the antenna was, and whether the
// way to it was worked.
type TrackPoint struct {
	Time           time.Time
	LatDeg, LonDeg float64
	SpeedMPS       float64
	HeadingDeg     float64 // true, of the tractor; valid with HasHeading
	Quality        nmea.Quality
	HasHeading     bool
	HasSpeed       bool
	Broken         bool // nothing joins it to the point before: gap or jump
}

// Totals are the counts and sums of a whole session.
type Totals struct {
	Fixes            int
	Gaps             int // holes between fixes longer than max_gap_s
	GapNS            int64
	Jumps            int // pairs of fixes farther apart than max_speed_mps allows
	Fast             int // such pairs that the receiver's own speed bears out: no jump, but too fast for work
	OutOfOrder       int // fixes that repeat or go back in time
	Unplaced         int // fixes that no plane reaches
	SilentNS         int64
	WorkingNS        int64
	DistanceM        float64
	WorkingDistanceM float64
	FirstNS, LastNS  int64 // of the fixes used; both 0 without any
}

// Engine turns fixes, reports and statements into coverage. Inputs come in
// order; a report or a statement must come before the first fix whose time is
// later than its own, else it acts from the last fix on.
type Engine struct {
	setup Setup
	said  state // by the operator
	force state // the same as corrected

	plane   *plane.Plane
	head    heading
	noise   noise
	last    station     // the last fix used, by time; bar unused
	hasLast bool        // last is set
	saved   beforeJump  // what to go back to when a single fix was far off
	pending []station   // fixes whose heading is not known yet
	late    int         // fixes in a row that lie before last
	lateAt  [2]int64    // first and last of those
	queue   []station   // fixes with a heading that wait for reports
	nowNS   int64       // the latest moment heard of
	waitNS  int64       // how long a fix waits for the reports that describe it
	unheard []Statement // statements not yet acted on, in order

	corrections []correction
	corrected   []correctedOperation

	at      station // where painting has come to
	placed  bool    // at is set
	aside   station // at before the jump
	hasSide bool
	next    station
	mid     station

	meter   meter
	painter painter
	ops     []*Operation
	marks   []Mark
	totals  Totals
	notes   notes
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
	lateSettlesNS  = 3e9 // a receiver whose time goes on behind the old one for this long has been set
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

func seconds(s float64) int64 { return int64(float64(s * nanosPerSecond)) }

// bringTanks brings the lags of the tanks into force.
func (e *Engine) bringTanks() {
	shortest := int64(0)
	for i, t := range e.force.tanks {
		lag := seconds(t.LagS)
		e.meter.setLag(e.meter.addTank(t.Number), lag)
		if i == 0 {
			e.meter.setSectionLag(lag)
			shortest = lag
		}
		shortest = min(shortest, lag)
	}
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
	if e.backInTime(t) {
		return
	}
	s, ok := e.place(f, t)
	if !ok {
		e.totals.Unplaced++
		return
	}
	speed := e.follow(&s, f)
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

// backInTime counts fixes that repeat or go back. They paint nothing; a
// receiver that goes on steadily behind its old time has been set anew, and is
// then followed.
func (e *Engine) backInTime(tNS int64) bool {
	if !e.hasLast || tNS > e.last.tNS {
		e.late = 0
		return false
	}
	e.totals.OutOfOrder++
	if e.late == 0 || tNS <= e.lateAt[1] {
		e.late, e.lateAt[0] = 0, tNS
	}
	e.late++
	e.lateAt[1] = tNS
	if e.late < 3 || tNS-e.lateAt[0] < lateSettlesNS {
		return true
	}
	e.Flush()
	e.late, e.hasLast, e.placed, e.nowNS = 0, false, false, tNS
	e.head = heading{}
	return false
}

// place projects the fix. Far from the origin a new plane is laid, unless the
// operation in hand already has ground on this one.
func (e *Engine) place(f nmea.Fix, tNS int64) (station, bool) {
	s := station{tNS: tNS, latDeg: f.LatDeg, lonDeg: f.LonDeg, good: f.Quality >= e.setup.MinQuality && f.Quality > nmea.QualityNone}
	if e.plane == nil {
		e.layPlane(f.LatDeg, f.LonDeg)
	}
	x, y, ok := e.plane.Forward(f.LatDeg, f.LonDeg)
	if (!ok || max(x, -x, y, -y) > recentreM) && (e.force.op == nil || !e.force.op.worked) {
		e.layPlane(f.LatDeg, f.LonDeg)
		x, y, ok = e.plane.Forward(f.LatDeg, f.LonDeg)
	}
	s.at = xy{x, y}
	return s, ok
}

// layPlane centres the plane and carries over every place that is still in use.
func (e *Engine) layPlane(latDeg, lonDeg float64) {
	old := e.plane
	e.plane = plane.New(latDeg, lonDeg)
	if old == nil {
		return
	}
	e.painter.swaths.closeAll()
	e.head.forgetTrail()
	e.saved.ok, e.hasSide = false, false
	for _, s := range []*station{&e.last, &e.at, &e.next, &e.mid} {
		e.carryOver(s, old)
	}
	for i := range e.queue {
		e.carryOver(&e.queue[i], old)
	}
	for i := range e.pending {
		e.carryOver(&e.pending[i], old)
	}
}

// carryOver brings a station from an old plane onto the present one.
func (e *Engine) carryOver(s *station, old *plane.Plane) {
	x, y, _ := e.plane.Forward(s.latDeg, s.lonDeg)
	s.at = xy{x, y}
	turn := old.Convergence(s.latDeg, s.lonDeg) - e.plane.Convergence(s.latDeg, s.lonDeg)
	s.headingRad = plane.WrapPi(s.headingRad + turn)
	s.implementRad = plane.WrapPi(s.implementRad + turn)
	e.fitBar(s)
}

// follow joins the fix to the one before, or says why not, and returns the
// speed over ground.
func (e *Engine) follow(s *station, f nmea.Fix) (speedMPS float64) {
	if !e.hasLast {
		s.restart = true
		return f.SpeedMPS
	}
	dt := s.tNS - e.last.tNS
	way := e.last.at.to(s.at)
	implied := way / (float64(dt) / nanosPerSecond)
	speedMPS = implied
	if f.Has&nmea.HasSpeed != 0 {
		speedMPS = f.SpeedMPS
	}
	switch {
	case dt > seconds(e.setup.Limits.MaxGapS):
		e.totals.Gaps++
		e.totals.GapNS += dt
		e.breakOff(s)
	case implied > e.setup.Limits.MaxSpeedMPS && f.Has&nmea.HasSpeed != 0 && implied <= float64(f.SpeedMPS*1.5)+2:
		e.totals.Fast++ // the receiver says so too: on the road
		e.totals.DistanceM += way
		e.saved.ok = false
	case implied > e.setup.Limits.MaxSpeedMPS:
		e.totals.Jumps++
		e.jump(s)
	default:
		s.joined = true
		e.saved.ok = false
		if min(speedMPS, implied) < holdBelowMPS && way < standingM {
			s.at = e.last.at // standing: its noise is no movement
			break
		}
		e.totals.DistanceM += way
	}
	return speedMPS
}

// breakOff starts a new stretch: what pointed where before says nothing now.
func (e *Engine) breakOff(s *station) {
	s.restart = true
	e.pending = e.pending[:0]
	e.head = heading{}
	e.saved.ok = false
}

// jump starts a new stretch too, unless this fix comes back to where the
// machine was before the last one, which then was the one far off.
func (e *Engine) jump(s *station) {
	if b := &e.saved; b.ok {
		dt := s.tNS - b.last.tNS
		v := b.last.at.to(s.at) / (float64(dt) / nanosPerSecond)
		if dt <= seconds(e.setup.Limits.MaxGapS) && v <= e.setup.Limits.MaxSpeedMPS {
			e.head, s.back = b.head, true
			e.pending = e.pending[:0]
			b.ok = false
			return
		}
	}
	b := beforeJump{last: e.last, head: e.head, ok: e.head.known}
	e.breakOff(s)
	e.saved = b
}

// point gives the fix its heading and puts it in the queue. Until the first
// course is known fixes are held, then take that course.
func (e *Engine) point(s station, f nmea.Fix, speedMPS float64) {
	measured := 0.0
	has := f.Has&nmea.HasHeading != 0
	if has {
		measured = plane.WrapPi(float64(f.HeadingDeg*plane.Pi)/180 - e.plane.Convergence(f.LatDeg, f.LonDeg))
	}
	if s.joined {
		e.noise.add(s.tNS, s.at)
	} else {
		e.noise = e.noise.afterBreak()
	}
	e.head.step(s.tNS, s.at, e.noise.courseBase(e.force.implement), speedMPS, measured, has)
	if !e.head.known {
		if len(e.pending) == maxPending {
			copy(e.pending[1:], e.pending[2:])
			e.pending = e.pending[:maxPending-1]
		}
		e.pending = append(e.pending, s)
		return
	}
	for _, p := range e.pending {
		p.headingRad = e.head.rad
		e.queue = append(e.queue, p)
	}
	e.pending = e.pending[:0]
	s.headingRad = e.head.rad
	e.queue = append(e.queue, s)
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
}

// Totals are the sums so far.
func (e *Engine) Totals() Totals { return e.totals }

// Operations are the operations so far. One without ground counts only while it
// is in hand.
func (e *Engine) Operations() []*Operation {
	var out []*Operation
	for _, o := range e.ops {
		if o.worked || o == e.force.op {
			out = append(out, o)
		}
	}
	return out
}

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
