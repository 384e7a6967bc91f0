package statement

import (
	"errors"
	"time"

	"drawbar/coverage"

	"github.com/paulmach/orb"
)

// Operator is what one operator line states. A nil member was not stated, or
// was at fault and does not act.
type Operator struct {
	Field       *string
	Implement   *coverage.Implement // whole: it replaces the one before
	Operation   *string             // a new operation begins
	Mark        *Mark
	Person      *string // may be empty: nobody is named any more
	Note        *string
	Weather     *Weather
	From        *time.Time // with To and Why: a correction, UTC
	To          *time.Time
	Why         *string
	By          *string           // who made the correction
	Made        *time.Time        // when, UTC
	Tanks       []coverage.Tank   // replace those of the same number
	Adjust      []coverage.Adjust // in ascending order of tank; the rest of each tank stays
	Refill      *coverage.Refill
	Weighed     *coverage.Weighed // in a correction only
	Crop        *string           // what grows or will grow there; may be empty: not known
	GrowthStage *int              // BBCH scale, 0 to 99
	Boundary    orb.MultiPolygon  // with HasBoundary; nil = the boundary is taken away
	// HasBoundary tells that a boundary, or its end by null, was stated.
	HasBoundary bool
}

// Correction tells whether this is a later statement about a recorded session:
// it acts as if said at *From and undone at *To. From, To and Why are then all
// there and *From lies before *To.
func (op Operator) Correction() bool { return op.From != nil }

func operatorKeys() []string {
	return []string{
		"field", "boundary", "implement", "operation", "tanks", "mark",
		"person", "note", "weather", "crop", "growth_stage", "adjust", "refill", "weighed",
		"from", "to", "why", "by", "made",
	}
}

// ParseLine reads one operator line: one JSON object. A line that is no such
// object states nothing, and the only fault says why.
func ParseLine(line []byte) (Operator, []Fault) {
	n, err := FromJSON(line)
	if err != nil {
		var fault Fault
		errors.As(err, &fault)
		return Operator{}, []Fault{fault}
	}
	var faults Faults
	op := Line(n, &faults)
	return op, faults.List()
}

// Line reads an operator line or a correction from its tree. A member that is
// unknown or at fault is noted and does not act, the others do. Of a
// correction whose from, to or why is at fault nothing acts: it must not be
// taken for something said now.
func Line(n *Node, faults *Faults) Operator {
	o, ok := Open(n, "", faults, operatorKeys())
	if !ok {
		return Operator{}
	}
	if len(n.Members) == 0 {
		faults.Add(n, "", "an empty object", "something stated, such as {\"field\":\"Mill Piece\"}")
		return Operator{}
	}
	var op Operator
	op.Field = pointer(o.Name("field", "the field's name"))
	op.Operation = pointer(o.Name("operation", "an operation such as seeding"))
	op.Person = pointer(o.text("person", "a person's name or role", MaxName, false))
	op.Note = pointer(o.Note("note", "a note"))
	if b := o.Get("boundary"); b != nil && b.Kind == KindNull {
		op.HasBoundary = true
	} else if b != nil {
		op.Boundary, op.HasBoundary = Boundary(b, "boundary", faults)
	}
	if im := o.Get("implement"); im != nil {
		op.Implement = pointer(Implement(im, "implement", faults))
	}
	if tanks := o.Get("tanks"); tanks != nil {
		op.Tanks = Tanks(tanks, "tanks", faults)
	}
	if m := o.Get("mark"); m != nil {
		op.Mark = pointer(mark(m, "mark", faults))
	}
	if w := o.Get("weather"); w != nil {
		op.Weather = pointer(weather(w, "weather", faults))
	}
	op.Crop = pointer(o.text("crop", "the crop", MaxName, false))
	op.GrowthStage = pointer(o.Int("growth_stage", 0, 99))
	if list := o.Get("adjust"); list != nil {
		op.Adjust = adjusts(list, "adjust", faults)
	}
	if r := o.Get("refill"); r != nil {
		op.Refill = pointer(refill(r, "refill", faults))
	}
	if w := o.Get("weighed"); w != nil {
		op.Weighed = pointer(weighed(w, "weighed", faults))
	}
	later := false
	for _, key := range []string{"from", "to", "why", "by", "made"} {
		later = later || o.Get(key) != nil
	}
	if !later {
		if o.Get("weighed") != nil {
			o.Fault("weighed", "it without a time", "it in a correction, with the from and to between which it was laid")
			op.Weighed = nil
		}
		return op
	}
	if !o.correction(&op) {
		return Operator{}
	}
	return op
}

// correction reads the three members that make a line a correction.
func (o Object) correction(op *Operator) bool {
	for _, key := range []string{"from", "to", "why"} {
		if o.Get(key) == nil {
			o.Missing(key, "from, to and why together in a correction")
		}
	}
	op.From = pointer(o.time("from"))
	op.To = pointer(o.time("to"))
	o.author(op)
	if op.From == nil || op.To == nil || op.Why == nil {
		return false
	}
	if !op.From.Before(*op.To) {
		o.Fault("to", value(o.Get("to")), "a time after from, "+value(o.Get("from")))
		return false
	}
	return true
}

// author reads why something was said later, by whom and when.
func (o Object) author(op *Operator) {
	op.Why = pointer(o.Name("why", "why it is corrected"))
	op.By = pointer(o.Name("by", "who says so, a name or a role"))
	op.Made = pointer(o.time("made"))
}

// time reads a time as RFC 3339 has it.
func (o Object) time(key string) (t time.Time, ok bool) {
	n := o.Get(key)
	if n == nil {
		return t, false
	}
	if n.Kind == KindText && t.UnmarshalText([]byte(n.Text)) == nil {
		return t.UTC(), true
	}
	o.Fault(key, value(n), "a time such as 2026-05-14T13:05:10Z")
	return time.Time{}, false
}

// pointer is the address of v, nil where v does not hold.
func pointer[T any](v T, ok bool) *T {
	if !ok {
		return nil
	}
	return &v
}
