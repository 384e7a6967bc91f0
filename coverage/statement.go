package coverage

import (
	"slices"
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
	Adjust    []Adjust
	Mark      *MarkWish

	Person      *string // who works from now on; empty: nobody is named
	Crop        *string // what grows or will grow in the field; empty: not known
	GrowthStage *int    // BBCH, 0 to 99
	Refill      *Refill
	Weighed     *Weighed // of a correction: what went out of a tank between its From and To
	Note        *string
	Weather     *Weather
	Settled     *MarkSettled
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
	Number         int     // of the mark, from 1 in the order in which they were said; 0: none
	Undo           int     // not 0: nothing is marked, the mark of this number is withdrawn
}

// Mark is a point of interest left by the operator.
type Mark struct {
	Time           time.Time
	Kind, Note     string
	LatDeg, LonDeg float64
	Number         int    // from 1 in the order in which they were said; 0: added by a correction
	Known          bool   // false: left before there was a position
	Field          string // in force when it was left; empty: none was
}

// state is what is in force: as the operator said it, or as corrected.
type state struct {
	field     string
	boundary  Boundary
	implement *Implement
	tanks     []Tank
	op        *Operation
	person    string
	crop      string
	stage     int
	hasStage  bool
}

// obey acts on a statement, with the machine at here; nil when that is not
// known. It reports whether the implement changed.
func (e *Engine) obey(s Statement, here *station) (refit bool) {
	starts := e.startsOperation(s)
	name := ""
	if e.said.op != nil {
		name = e.said.op.Name
	}
	if s.Implement != nil {
		e.said.implement = s.Implement
		if s.Implement.Operation != "" {
			name = s.Implement.Operation
		}
	}
	if s.Operation != nil {
		name = *s.Operation
	}
	if s.Field != nil && *s.Field != e.said.field {
		if e.said.field != "" {
			e.said.grows("", nil)
		}
		e.said.field, e.said.boundary = *s.Field, nil
	}
	if s.Boundary != nil {
		e.said.boundary = *s.Boundary
	}
	e.said.people(s)
	if s.Tanks != nil || s.Adjust != nil {
		e.changeTanks(AdjustTanks(ReplaceTanks(e.said.tanks, s.Tanks), s.Adjust))
	}
	if starts && here != nil && e.plane != nil && max(here.at.x, -here.at.x, here.at.y, -here.at.y) > newOperationM {
		e.layPlane(here.latDeg, here.lonDeg)
	}
	switch {
	case starts || e.said.op == nil && (s.Implement != nil || s.Field != nil):
		e.close(s.At)
		e.said.op = e.open(name, e.said.field, s.At)
	case e.said.op != nil:
		e.said.op.Name, e.said.op.Field = name, e.said.field
	}
	refit = e.settle(s.At)
	e.leaveMark(s, here)
	e.write(s)
	return refit
}

// people takes over what a statement says of who works and of the crop.
func (v *state) people(s Statement) {
	if s.Person != nil {
		v.person = *s.Person
	}
	if s.Crop != nil && *s.Crop != v.crop {
		v.grows(*s.Crop, nil)
	}
	if s.GrowthStage != nil {
		v.grows(v.crop, s.GrowthStage)
	}
}

// grows says what grows in the field. A stage is that of its crop alone.
func (v *state) grows(crop string, stage *int) {
	v.crop, v.stage, v.hasStage = crop, 0, false
	if stage != nil {
		v.stage, v.hasStage = *stage, true
	}
}

// startsOperation tells whether coverage is counted anew: when the operator
// says so, when work moves to another field, or when an implement for another
// job is hitched on. Naming a field that had no name only names it.
func (e *Engine) startsOperation(s Statement) bool {
	if s.Operation != nil {
		return true
	}
	if s.Field != nil && e.said.field != "" && *s.Field != e.said.field {
		return true
	}
	return s.Implement != nil && e.said.op != nil && e.said.op.Name != "" &&
		s.Implement.Operation != "" && s.Implement.Operation != e.said.op.Name
}

// open begins an operation.
func (e *Engine) open(name, field string, at time.Time) *Operation {
	op := &Operation{Field: field, Name: name, Plane: e.plane, Start: at}
	op.skips.watch = e.setup.WatchSkips
	e.ops = append(e.ops, op)
	return op
}

// close ends the operation that was said last.
func (e *Engine) close(at time.Time) {
	if op := e.said.op; op != nil && !op.worked {
		op.End = at
	}
}

// leaveMark does what a statement says of marks. A mark may be withdrawn by a
// correction that acts before the mark was left.
func (e *Engine) leaveMark(s Statement, here *station) {
	switch m := s.Mark; {
	case m == nil:
	case m.Undo != 0:
		e.withdrawn = append(e.withdrawn, m.Undo)
		e.marks = slices.DeleteFunc(e.marks, func(left Mark) bool { return left.Number == m.Undo })
	case m.Number == 0 || !slices.Contains(e.withdrawn, m.Number):
		e.marks = append(e.marks, e.mark(s, here))
	}
}

func (e *Engine) mark(s Statement, here *station) Mark {
	m := Mark{Time: s.At, Kind: s.Mark.Kind, Note: s.Mark.Note, Number: s.Mark.Number, Field: e.force.field}
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
