package coverage

// reach moves painting on to the next fix: the implement follows, what the
// operator said on the way is obeyed at its moment, and the ground in between
// is painted.
func (e *Engine) reach(s *station) {
	if s.back && e.hasSide {
		e.at.copyFrom(&e.aside)
	}
	e.hasSide = false
	if s.restart && e.placed {
		e.aside.copyFrom(&e.at)
		e.hasSide = true
	}
	next := &e.next
	next.copyFrom(s)
	joined := e.placed && s.joined
	e.follows(&e.at, next, e.placed && !s.restart)
	for {
		act, atNS := e.nextAct(next.tNS)
		if act == nil {
			break
		}
		if !joined {
			if act(e.nearest(next, atNS)) {
				e.follows(&e.at, next, false)
			}
			continue
		}
		e.mid.between(&e.at, next, max(atNS, e.at.tNS))
		e.paint(&e.at, &e.mid)
		if act(&e.mid) {
			e.fitTo(&e.mid)
			e.follows(&e.mid, next, true)
		}
		e.at.copyFrom(&e.mid)
	}
	if joined {
		e.paint(&e.at, next)
	} else {
		e.meter.seek(next.tNS)
		e.painter.swaths.closeAll()
	}
	e.at.copyFrom(next)
	e.placed = true
	if e.driven != nil {
		e.driven.follow(e.plane, &e.at)
	}
	if op := e.force.op; op != nil {
		op.skips.passed(op, next.bar, next.tNS)
	}
}

// nextAct is the next thing to act on up to tNS, with its moment: a statement,
// or the beginning or end of a correction. Nil when there is none.
func (e *Engine) nextAct(tNS int64) (act func(here *station) (refit bool), atNS int64) {
	if len(e.unheard) == 0 && len(e.corrections) == 0 {
		return nil, 0
	}
	index, edgeNS, edge := e.nextEdge(tNS)
	if len(e.unheard) > 0 {
		if s := e.unheard[0]; s.At.UnixNano() <= tNS && (!edge || s.At.UnixNano() <= edgeNS) {
			e.unheard = e.unheard[1:]
			return func(here *station) bool { return e.obey(s, here) }, s.At.UnixNano()
		}
	}
	if !edge {
		return nil, 0
	}
	return func(here *station) bool { return e.turn(index, edgeNS, here) }, edgeNS
}

// nearest is the known place that is closest in time to t.
func (e *Engine) nearest(next *station, t int64) *station {
	if e.placed && t-e.at.tNS < next.tNS-t {
		return &e.at
	}
	return next
}

// follows couples the implement to the tractor at next, trailing from where it
// was; known false puts it straight behind.
func (e *Engine) follows(from, next *station, known bool) {
	next.hitch, next.implementRad = next.at, next.headingRad
	if e.force.implement != nil {
		next.hitch = e.force.implement.hitch(next.at, next.headingRad)
		next.implementRad = e.force.implement.steer(from.implementRad, known, from.hitch, next.hitch, next.headingRad)
	}
	e.fitBar(next)
}

// fitTo hitches a changed implement on at s, straight behind the tractor.
func (e *Engine) fitTo(s *station) { e.follows(s, s, false) }

// fitBar places the section ends from the headings that s already has.
func (e *Engine) fitBar(s *station) {
	s.bar = s.bar[:0]
	if e.force.implement == nil {
		s.hitch = s.at
		return
	}
	s.hitch = e.force.implement.hitch(s.at, s.headingRad)
	s.bar = e.force.implement.bar(s.bar, s.hitch, s.implementRad)
}
