package coverage

import (
	"drawbar/coverage/plane"
	"drawbar/nmea"
)

// backInTime counts fixes that repeat or go back. They paint nothing; a
// receiver that goes on steadily behind its old time has been set anew, and is
// then followed.
func (e *Engine) backInTime(f nmea.Fix, tNS int64) bool {
	dated := f.Has&nmea.HasDate != 0
	if e.hasLast && dated && !e.dated && max(tNS-e.last.tNS, e.last.tNS-tNS) > dateErrorNS {
		e.startAt(tNS) // its day was a guess until now
		e.totals.FirstNS, e.totals.LastNS = 0, 0
	}
	e.dated = e.dated || dated
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
	e.setBack(tNS)
	return false
}

// setBack follows a receiver that was set to an earlier time.
func (e *Engine) setBack(tNS int64) {
	e.startAt(tNS)
	e.totals.SetBack++
}

// startAt starts anew at another time: everything known by the time that went
// before is settled or forgotten, or it would be waited for.
func (e *Engine) startAt(tNS int64) {
	e.Flush()
	here := &e.last
	if e.placed {
		here = &e.at
	}
	later := e.unheard[:0]
	for _, st := range e.unheard {
		if st.At.UnixNano() <= tNS {
			later = append(later, st)
			continue
		}
		e.obey(st, here)
	}
	e.unheard = later
	e.meter.rewind(tNS)
	e.late, e.hasLast, e.placed, e.nowNS = 0, false, false, tNS
	e.head = heading{}
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
		s.restart = dt > trailGapNS
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
