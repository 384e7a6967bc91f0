package catalog

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"time"
)

// SessionMarks is what a session says of marks.
type SessionMarks struct {
	Session string
	// Marks are those of it that stand, each with its Origin.
	Marks []Mark
	// Settled are the marks of any session that it said to be done or open again, in
	// order.
	Settled []Settlement
	// Whole tells that the session has ended and nothing of it is left out, with this
	// many bytes of corrections: it needs no looking at until there are others.
	Whole       bool
	Corrections int64
}

// Settlement says that a mark is done, or open again.
type Settlement struct {
	Origin string // of the mark
	Done   bool
	At     time.Time
	By     string // "" = not known
	// Now tells that it is said now and so counts, also by a clock that was set back
	// since the word before; else the later one counts.
	Now bool
}

// Kept counts what KeepMarks did.
type Kept struct{ Added, Moved, Withdrawn, Settled int }

// Any tells whether anything was changed.
func (k Kept) Any() bool { return k != Kept{} }

// KeepMarks brings the marks of a session in, in one transaction: what is missing is
// added, what was withdrawn is archived, what lies elsewhere since a correction is
// moved. Kind, note and state of a mark that is there stay as they are, unless
// something later settled it. The same a second time changes nothing.
func (c *Catalog) KeepMarks(ctx context.Context, of SessionMarks) (did Kept, err error) {
	err = c.write(ctx, "keep the marks of "+of.Session, func(tx *sql.Tx) error {
		did = Kept{}
		if err := c.keepStanding(ctx, tx, of, &did); err != nil {
			return err
		}
		for _, s := range of.Settled {
			ok, err := c.settle(ctx, tx, s)
			if err != nil {
				return err
			}
			if ok {
				did.Settled++
			}
		}
		if !of.Whole {
			return nil
		}
		return markKept(ctx, tx, of.Session, of.Corrections)
	})
	return did, err
}

// MarkKept notes that everything that a session says of marks is here, with this many
// bytes of corrections.
func (c *Catalog) MarkKept(ctx context.Context, session string, corrections int64) error {
	return c.write(ctx, "note that the marks of "+session+" are kept", func(tx *sql.Tx) error {
		return markKept(ctx, tx, session, corrections)
	})
}

func markKept(ctx context.Context, tx *sql.Tx, session string, corrections int64) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO mark_session (session, corrections) VALUES (?, ?) ON CONFLICT (session) DO UPDATE SET corrections = excluded.corrections", session, corrections)
	return err
}

func (c *Catalog) keepStanding(ctx context.Context, tx *sql.Tx, of SessionMarks, did *Kept) error {
	t := c.Marks.table
	there, err := t.all(ctx, tx, "origin >= ? AND origin < ?", of.Session+"#", of.Session+"$") // $ follows #
	if err != nil {
		return err
	}
	there = slices.DeleteFunc(there, func(m Mark) bool { session, _ := m.from(); return session != of.Session })
	was := make(map[string]*Mark, len(there))
	for i := range there {
		was[there[i].Origin] = &there[i]
	}
	for _, m := range of.Marks {
		old := was[m.Origin]
		delete(was, m.Origin)
		if old == nil {
			m.ID, m.Revision = NewID(), 1
			if err := t.valid(ctx, tx, &m); err != nil {
				return err
			}
			if err := t.insert(ctx, tx, &m); err != nil {
				return err
			}
			did.Added++
			continue
		}
		if old.Archived == m.Archived && old.HasPlace == m.HasPlace && old.LonDeg == m.LonDeg && old.LatDeg == m.LatDeg {
			continue
		}
		old.Archived, old.HasPlace, old.LonDeg, old.LatDeg = m.Archived, m.HasPlace, m.LonDeg, m.LatDeg
		old.Field, old.FieldName = m.Field, m.FieldName
		if err := t.valid(ctx, tx, old); err != nil {
			return err
		}
		if err := t.update(ctx, tx, old); err != nil {
			return err
		}
		did.Moved++
	}
	for i := range there {
		old := &there[i]
		if was[old.Origin] == nil || old.Archived {
			continue
		}
		old.Archived = true
		if err := t.update(ctx, tx, old); err != nil {
			return err
		}
		did.Withdrawn++
	}
	return nil
}

// settle says of a mark what a settlement does, unless something later was said or
// there is no such mark.
func (c *Catalog) settle(ctx context.Context, tx *sql.Tx, s Settlement) (did bool, err error) {
	found, err := c.Marks.table.all(ctx, tx, "origin = ?", s.Origin)
	if err != nil || len(found) == 0 || s.Origin == "" {
		return false, err
	}
	m := &found[0]
	at := plainTime(s.At)
	switch {
	case m.Settled.Before(at):
	case !s.Now || m.Done == s.Done:
		return false, nil
	default:
		at = m.Settled.Add(time.Microsecond)
	}
	m.Done, m.Settled, m.SettledBy = s.Done, at, s.By
	return true, c.Marks.table.update(ctx, tx, m)
}

// Settle is what one settlement does to the mark of its origin.
func (c *Catalog) Settle(ctx context.Context, s Settlement) (did bool, err error) {
	err = c.write(ctx, "settle the mark "+s.Origin, func(tx *sql.Tx) error {
		did, err = c.settle(ctx, tx, s)
		return err
	})
	return did, err
}

// MarkOf is the mark of an origin; ErrNotFound where there is none.
func (c *Catalog) MarkOf(ctx context.Context, origin string) (m Mark, err error) {
	err = c.read(ctx, "find the mark", func(tx *sql.Tx) error {
		found, err := c.Marks.table.all(ctx, tx, "origin = ?", origin)
		if err == nil && len(found) == 0 {
			err = ErrNotFound
		}
		if err == nil {
			m = found[0]
		}
		return err
	})
	return m, err
}

// FieldNames are the names of all fields, archived ones too.
func (c *Catalog) FieldNames(ctx context.Context) (names map[ID]string, err error) {
	err = c.read(ctx, "list the names of fields", func(tx *sql.Tx) error {
		names = map[ID]string{}
		rows, err := tx.QueryContext(ctx, "SELECT id, name FROM field")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var id ID
			var name string
			if err := rows.Scan(&id, &name); err != nil {
				return err
			}
			names[id] = name
		}
		return rows.Err()
	})
	return names, err
}

// MarksDone lists the marks that stand and are done, or those that are open.
func (c *Catalog) MarksDone(ctx context.Context, done bool) (out []Mark, err error) {
	err = c.read(ctx, "list the marks", func(tx *sql.Tx) error {
		out, err = c.Marks.table.all(ctx, tx, "archived = 0 AND done = ?", done)
		return err
	})
	return out, err
}

// MarksKept tells whether everything that a session says of marks is here, with this
// many bytes of corrections.
func (c *Catalog) MarksKept(ctx context.Context, session string, corrections int64) (kept bool, err error) {
	err = c.read(ctx, "look for a session's marks", func(tx *sql.Tx) error {
		var was int64
		err := tx.QueryRowContext(ctx, "SELECT corrections FROM mark_session WHERE session = ?", session).Scan(&was)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		kept = err == nil && was == corrections
		return err
	})
	return kept, err
}
