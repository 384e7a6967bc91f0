package coverage

import (
	"time"

	"drawbar/coverage/plane"
)

// Statement is what the operator said at a moment. A nil member was not said.
type Statement struct {
	At        time.Time
	Field     *string
	Boundary  *Boundary // pointing to nil: there is none
	Implement *Implement
	Operation *string // starts a new operation
	Tanks     []Tank  // replace those of the same number
	Mark      *MarkWish
}

// MarkPlace says where a mark lies.
type MarkPlace uint8

// The places of a mark.
const (
	AtBar      MarkPlace = iota // middle of the bar; of the antenna while no bar is known
	AtAntenna                   //
	AtPosition                  // as stated
)

// MarkWish is a mark as it was asked for.
type MarkWish struct {
	Kind, Note     string
	Place          MarkPlace
	LatDeg, LonDeg float64 // with AtPosition
}

// Mark is a point of interest left by the operator.
type Mark struct {
	Time           time.Time
	Kind, Note     string
	LatDeg, LonDeg float64
	Known          bool // false: left before there was a position
}

// obey acts on a statement, with the machine at here; nil when that is not
// known. It reports whether the implement changed.
func (e *Engine) obey(s Statement, here *station) (refit bool) {
	starts := e.startsOperation(s)
	name := ""
	if e.op != nil {
		name = e.op.Name
	}
	if s.Implement != nil {
		e.implement, refit = s.Implement, true
		if s.Implement.Operation != "" {
			name = s.Implement.Operation
		}
	}
	if s.Operation != nil {
		name = *s.Operation
	}
	if s.Field != nil && *s.Field != e.field {
		e.field, e.boundary = *s.Field, nil
	}
	if s.Boundary != nil {
		e.boundary = *s.Boundary
	}
	if starts {
		if here != nil && e.plane != nil && max(here.at.x, -here.at.x, here.at.y, -here.at.y) > newOperationM {
			e.layPlane(here.latDeg, here.lonDeg)
		}
		e.close(s.At)
		e.open(name, s.At)
	} else if e.op != nil {
		e.op.Name, e.op.Field, e.op.Boundary = name, e.field, e.boundary
	} else if s.Implement != nil || s.Field != nil {
		e.open(name, s.At)
	}
	if s.Tanks != nil {
		e.setTanks(s.Tanks)
	}
	if s.Mark != nil {
		e.marks = append(e.marks, e.mark(s, here))
	}
	return refit
}

// startsOperation tells whether coverage is counted anew: when the operator
// says so, when work moves to another field, or when an implement for another
// job is hitched on. Naming a field that had no name only names it.
func (e *Engine) startsOperation(s Statement) bool {
	if s.Operation != nil {
		return true
	}
	if s.Field != nil && e.field != "" && *s.Field != e.field {
		return true
	}
	return s.Implement != nil && e.op != nil && e.op.Name != "" &&
		s.Implement.Operation != "" && s.Implement.Operation != e.op.Name
}

func (e *Engine) open(name string, at time.Time) {
	e.op = &Operation{Field: e.field, Name: name, Plane: e.plane, Boundary: e.boundary, Start: at}
	e.ops = append(e.ops, e.op)
}

func (e *Engine) close(at time.Time) {
	e.painter.swaths.closeAll()
	if e.op != nil && !e.op.worked {
		e.op.End = at
	}
}

func (e *Engine) mark(s Statement, here *station) Mark {
	m := Mark{Time: s.At, Kind: s.Mark.Kind, Note: s.Mark.Note}
	switch {
	case s.Mark.Place == AtPosition:
		m.LatDeg, m.LonDeg, m.Known = s.Mark.LatDeg, s.Mark.LonDeg, true
	case here == nil:
	case s.Mark.Place == AtBar && len(here.bar) > 1:
		l, r := here.bar[0], here.bar[len(here.bar)-1]
		m.LatDeg, m.LonDeg = e.plane.InverseCoord(plane.Coord{X: (l.X + r.X) / 2, Y: (l.Y + r.Y) / 2})
		m.Known = true
	default:
		m.LatDeg, m.LonDeg, m.Known = here.latDeg, here.lonDeg, true
	}
	return m
}
