package marks

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"drawbar/internal/boundary"
	"drawbar/internal/catalog"
	"drawbar/internal/handover"
	"drawbar/replay/statement"
)

// State picks marks by what became of them.
type State uint8

// The states.
const (
	Open State = iota
	Done
	All // but for those that were withdrawn
)

// ParseState reads open, done or all.
func ParseState(s string) (State, bool) {
	i := slices.Index([]string{"open", "done", "all"}, s)
	return State(max(i, 0)), i >= 0
}

// Filter picks marks.
type Filter struct {
	State State
	Field string // name or id of a field; "" = all
}

// Listed is a mark with the name of its field.
type Listed struct {
	catalog.Mark
	FieldCalled string // "" = in none that is known
}

// List lists marks of the catalogue in the order in which they were left.
func List(ctx context.Context, c *catalog.Catalog, f Filter) (out []Listed, err error) {
	var found []catalog.Mark
	switch f.State {
	case All:
		found, err = c.Marks.List(ctx, catalog.Which{})
	default:
		found, err = c.MarksDone(ctx, f.State == Done)
	}
	if err != nil {
		return nil, err
	}
	names, err := c.FieldNames(ctx)
	if err != nil {
		return nil, err
	}
	for _, m := range found {
		l := Listed{Mark: m, FieldCalled: m.FieldName}
		if m.Field != "" {
			l.FieldCalled = names[m.Field]
		}
		out = append(out, l)
	}
	return Picked(out, f), nil
}

// Picked are those that a filter picks, in their order.
func Picked(all []Listed, f Filter) (out []Listed) {
	for _, l := range all {
		state := f.State == All || l.Done == (f.State == Done)
		if state && (f.Field == "" || string(l.Field) == f.Field || l.FieldCalled != "" && boundary.Same(l.FieldCalled, f.Field)) {
			out = append(out, l)
		}
	}
	return out
}

// Places are the marks that have a place, to be handed over.
func Places(all []Listed) (out []handover.Place) {
	for i, l := range all {
		if l.HasPlace {
			out = append(out, handover.Place{
				Name: fmt.Sprintf("%s %d", l.Kind, i+1), Kind: l.Kind, Note: l.Note, Field: l.FieldCalled,
				LonDeg: l.LonDeg, LatDeg: l.LatDeg, Left: l.Left, Done: l.Done,
			})
		}
	}
	return out
}

// From is how far a mark is from a place and in which direction; ok is false where
// that is not known.
func (l Listed) From(lonDeg, latDeg float64) (distanceM, bearingDeg float64, ok bool) {
	if !l.HasPlace {
		return 0, 0, false
	}
	return Inverse(lonDeg, latDeg, l.LonDeg, l.LatDeg)
}

// SortNear puts marks in the order of their distance from a place, those of which it
// is not known last.
func SortNear(all []Listed, lonDeg, latDeg float64) {
	far := make(map[catalog.ID]float64, len(all))
	for _, l := range all {
		far[l.ID] = math.Inf(1)
		if d, _, ok := l.From(lonDeg, latDeg); ok {
			far[l.ID] = d
		}
	}
	slices.SortStableFunc(all, func(a, b Listed) int { return cmp.Compare(far[a.ID], far[b.ID]) })
}

// Change is a change of a mark; nil leaves a member as it is.
type Change struct {
	Revision *int64 // that the mark must be at; nil: whichever
	Kind     *string
	Note     *string
	Done     *bool
	By       string // who says that it is done, or open again
}

// ErrNotSaid is wrapped where what was said of a mark could not be recorded; the mark
// is as it was.
var ErrNotSaid = errors.New("it could not be recorded")

// List is List of the keeper's catalogue.
func (k *Keeper) List(ctx context.Context, f Filter) ([]Listed, error) {
	return List(ctx, k.c.Catalog, f)
}

// Change changes a mark. That it is done or open again is an operator line of the
// session in hand first, where the mark is of a session. Errors are those of
// catalog.Items, and ErrNotSaid.
func (k *Keeper) Change(ctx context.Context, id catalog.ID, c Change) (m catalog.Mark, err error) {
	k.change.Lock()
	defer k.change.Unlock()
	if m, err = k.c.Catalog.Marks.Get(ctx, id); err != nil {
		return m, err
	}
	switch {
	case m.Archived:
		return m, &catalog.NotFoundError{Kind: catalog.KindMark, ID: id}
	case c.Revision != nil && *c.Revision != m.Revision:
		return m, &catalog.ConflictError{Kind: catalog.KindMark, ID: id, Stated: *c.Revision, Current: m.Revision}
	}
	if k.c.Changed != nil {
		was := m.Revision
		defer func() {
			if m.Revision != was {
				k.c.Changed(ctx)
			}
		}()
	}
	if words := m; c.Kind != nil && *c.Kind != m.Kind || c.Note != nil && *c.Note != m.Note {
		if c.Kind != nil {
			words.Kind = strings.TrimSpace(*c.Kind)
		}
		if c.Note != nil {
			words.Note = *c.Note
		}
		if words, err = k.c.Catalog.Marks.Update(ctx, words); err != nil {
			return m, err
		}
		m = words
	}
	if c.Done == nil || *c.Done == m.Done && !k.behind.Load() {
		return m, nil
	}
	return k.settleNow(ctx, m, *c.Done, c.By)
}

func (k *Keeper) settleNow(ctx context.Context, m catalog.Mark, done bool, by string) (catalog.Mark, error) {
	if m.Origin == "" { // nothing in a recording could be meant
		m.Done, m.Settled, m.SettledBy = done, k.c.Now(), by
		return k.c.Catalog.Marks.Update(ctx, m)
	}
	line, err := json.Marshal(statement.Operator{Mark: &statement.Mark{Of: m.Origin, Done: done, By: by}})
	if err != nil {
		return m, fmt.Errorf("write the operator line: %w", err)
	}
	at, err := k.c.Say(ctx, line)
	if err != nil {
		return m, fmt.Errorf("%w: %w", ErrNotSaid, err)
	}
	if _, err := k.c.Catalog.Settle(ctx, catalog.Settlement{Origin: m.Origin, Done: done, At: at, By: by, Now: true}); err != nil {
		return m, err
	}
	return k.c.Catalog.Marks.Get(ctx, m.ID)
}
