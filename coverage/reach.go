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
	for len(e.said) > 0 && e.said[0].At.UnixNano() <= next.tNS {
		st := e.said[0]
		e.said = e.said[1:]
		if !joined {
			if e.obey(st, e.nearest(next, st)) {
				e.follows(&e.at, next, false)
			}
			continue
		}
		e.mid.between(&e.at, next, max(st.At.UnixNano(), e.at.tNS))
		e.paint(&e.at, &e.mid)
		refit := e.obey(st, &e.mid)
		if refit {
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
}

// nearest is the known place that is closest in time to what was said.
func (e *Engine) nearest(next *station, st Statement) *station {
	t := st.At.UnixNano()
	if e.placed && t-e.at.tNS < next.tNS-t {
		return &e.at
	}
	return next
}

// follows couples the implement to the tractor at next, trailing from where it
// was; known false puts it straight behind.
func (e *Engine) follows(from, next *station, known bool) {
	next.hitch, next.implementRad = next.at, next.headingRad
	if e.implement != nil {
		next.hitch = e.implement.hitch(next.at, next.headingRad)
		next.implementRad = e.implement.steer(from.implementRad, known, from.hitch, next.hitch, next.headingRad)
	}
	e.fitBar(next)
}

// fitTo hitches a changed implement on at s, straight behind the tractor.
func (e *Engine) fitTo(s *station) { e.follows(s, s, false) }

// fitBar places the section ends from the headings that s already has.
func (e *Engine) fitBar(s *station) {
	s.bar = s.bar[:0]
	if e.implement == nil {
		s.hitch = s.at
		return
	}
	s.hitch = e.implement.hitch(s.at, s.headingRad)
	s.bar = e.implement.bar(s.bar, s.hitch, s.implementRad)
}
