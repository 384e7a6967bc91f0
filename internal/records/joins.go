package records

import (
	"fmt"
	"time"

	"drawbar/internal/store"
)

// Join is one line of the joins of a folder and what became of it.
type Join struct {
	store.Join
	State State  // of one that acts; "": it takes another back, or was taken back
	Err   string // of one that failed
	Ref   Ref    // of the operation that it made, where it is current

	made   *Operation
	result string // name of what was worked out
}

// Acts tells whether it joins and was not taken back.
func (j *Join) Acts() bool { return len(j.Join.Join) > 0 && j.Undone == 0 }

// readJoins are the joins of a folder. Lines that say nothing are left out.
func readJoins(dir string) ([]Join, error) {
	lines, _, err := store.Joins(dir)
	if err != nil {
		return nil, err
	}
	out := make([]Join, len(lines))
	for i, l := range lines {
		out[i].Join = l
		if out[i].Acts() {
			out[i].State = Working
		}
	}
	return out, nil
}

// CheckJoin tells why operations could not be joined: one is not there, is named twice,
// is of another field, or is joined already. Ask before the line is written.
func (x *Index) CheckJoin(l store.Join) error {
	joins, err := readJoins(x.c.Dir)
	if err != nil {
		return err
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	by := map[Ref]int{}
	for i := range joins {
		if !joins[i].Acts() {
			continue
		}
		for _, m := range joins[i].Join.Join {
			if o, err := x.partAt(m); err == nil {
				by[o.Ref()] = joins[i].Number
			}
		}
	}
	field := ""
	for i, m := range l.Join {
		o, err := x.partAt(m)
		if err != nil {
			return fmt.Errorf("join[%d]: %w", i, err)
		}
		switch line := by[o.Ref()]; {
		case line < 0:
			return fmt.Errorf("join[%d]: operation %s a second time: name each once", i, o.Ref())
		case line > 0:
			return fmt.Errorf("join[%d]: operation %s is joined already, by line %d: take that back first", i, o.Ref(), line)
		case field != "" && o.Field != "" && o.Field != field:
			return fmt.Errorf("join[%d]: it is of the field %q, those before are of %q: correct the field of one of them first", i, o.Field, field)
		}
		by[o.Ref()] = -1
		if o.Field != "" {
			field = o.Field
		}
	}
	return nil
}

// partAt is the operation of a session at a moment: the one that is told to begin
// then, else of several the shortest, which is the most particular. x.mu is held.
func (x *Index) partAt(m store.JoinedOperation) (*Operation, error) {
	e := x.entries[m.Session]
	if e == nil {
		return nil, fmt.Errorf("there is no session %s", m.Session)
	}
	var found *Operation
	for i := range e.ops {
		o := &e.ops[i]
		start := o.OperationRecord.Start.Truncate(time.Millisecond) // as it is told
		if m.At.Equal(start) {
			return o, nil
		}
		if m.At.Before(start) || m.At.After(o.OperationRecord.End) {
			continue
		}
		if found == nil || o.FieldS < found.FieldS {
			found = o
		}
	}
	if found == nil {
		return nil, fmt.Errorf("session %s has no operation at %s", m.Session, m.At.UTC().Format(time.RFC3339))
	}
	return found, nil
}

// Joins are all lines of the joins and what became of them.
func (x *Index) Joins() []Join { return x.view.Load().joins }
