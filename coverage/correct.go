package coverage

import "time"

// Correction is a later statement about recorded work: it acts as if it had
// been said at From and undone at To, both by receiver time. Of several that
// overlap in time the later in the list wins.
type Correction struct {
	From, To  time.Time
	Statement Statement // its At is not used
}

// correction is a Correction with its state.
type correction struct {
	Correction
	begun, ended bool
}

func (c *correction) active() bool { return c.begun && !c.ended }

// correctedOperation is the operation that work under a correction goes to.
type correctedOperation struct {
	base  *Operation
	by    int // index of the correction
	stand *Operation
}

// nextEdge is the earliest moment, up to tNS, at which a correction begins or
// ends; ok false when there is none.
func (e *Engine) nextEdge(tNS int64) (index int, atNS int64, ok bool) {
	atNS = tNS
	for i := range e.corrections {
		c := &e.corrections[i]
		edge := c.From.UnixNano()
		if c.begun {
			edge = c.To.UnixNano()
		}
		if !c.ended && (edge < atNS || edge == atNS && !ok) {
			index, atNS, ok = i, edge, true
		}
	}
	return index, atNS, ok
}

// turn begins or ends a correction, with the machine at here.
func (e *Engine) turn(index int, atNS int64, here *station) (refit bool) {
	c := &e.corrections[index]
	if c.begun {
		c.ended = true
		e.stopWeighing(index)
		return e.settle(utc(atNS))
	}
	c.begun = true
	refit = e.settle(utc(atNS))
	s := c.Statement
	s.At = utc(atNS)
	e.leaveMark(s, here)
	e.write(s)
	if s.Weighed != nil {
		e.startWeighing(index)
	}
	return refit
}

// settle brings into force what was said, as corrected, and reports whether the
// implement changed.
func (e *Engine) settle(at time.Time) (refit bool) {
	now := e.said
	for i := range e.corrections {
		if c := &e.corrections[i]; c.active() {
			e.correct(&now, i, at)
		}
	}
	refit = now.implement != e.force.implement
	if now.op != e.force.op {
		e.painter.swaths.closeAll()
		if e.force.op != nil {
			e.force.op.skips.left()
		}
	}
	e.force = now
	if now.op != nil && !now.op.worked {
		now.op.Boundary = now.boundary
		now.op.workWith(now.implement, e.setup.Limits)
	}
	if now.op != nil {
		now.op.staff(now.person)
		if !now.op.worked || now.op.Crop == "" {
			now.op.growsAs(&now)
		}
	}
	e.bringTanks()
	return refit
}

// correct lays one correction over a state. Work that it moves to another field
// or operation goes to an operation of its own, that of the state stays as if
// the work had not been done in it.
func (e *Engine) correct(now *state, index int, at time.Time) {
	s := e.corrections[index].Statement
	field, name := now.field, ""
	if now.op != nil {
		name = now.op.Name
	}
	if s.Field != nil && *s.Field != field {
		if field != "" {
			now.grows("", nil)
		}
		field, now.boundary = *s.Field, nil
	}
	now.people(s)
	if s.Boundary != nil {
		now.boundary = *s.Boundary
	}
	if s.Implement != nil {
		now.implement = s.Implement
		if s.Implement.Operation != "" {
			name = s.Implement.Operation
		}
	}
	if s.Tanks != nil || s.Adjust != nil {
		now.tanks = AdjustTanks(ReplaceTanks(now.tanks, s.Tanks), s.Adjust)
	}
	if s.Operation != nil {
		name = *s.Operation
	}
	moved := s.Operation != nil || field != now.field || now.op != nil && name != now.op.Name || now.op == nil && s.Implement != nil
	now.field = field
	if moved {
		now.op = e.standIn(now.op, index, name, field, at)
	}
}

// standIn finds or opens the operation for work that a correction moved.
func (e *Engine) standIn(base *Operation, index int, name, field string, at time.Time) *Operation {
	for _, c := range e.corrected {
		if c.base == base && (c.by == index || c.stand.Name == name && c.stand.Field == field && e.corrections[index].Statement.Operation == nil) {
			return c.stand
		}
	}
	op := e.open(name, field, at)
	e.corrected = append(e.corrected, correctedOperation{base: base, by: index, stand: op})
	return op
}
