package catalog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Items are all items of one kind. What they give is the caller's own.
type Items[T any] struct {
	catalog *Catalog
	table   *table[T]
}

// Which picks items for a list.
type Which struct {
	Archived bool // the archived ones too
	Of       ID   // of seasons and marks those of a field, of plans those of a season; "" = all
	Brief    bool // of fields without their outlines; AreaM2 tells whether there is one
}

// List lists items, by name, seasons by their begin, plans by their order, marks by
// when they were left.
func (x Items[T]) List(ctx context.Context, which Which) (out []T, err error) {
	where, args := "1", []any(nil)
	if !which.Archived {
		where = "archived = 0"
	}
	if which.Of != "" {
		if x.table.parent == "" {
			return nil, fmt.Errorf("list: a %s belongs to nothing, so there are none of %s", x.table.kind, which.Of)
		}
		where, args = where+" AND "+x.table.parent+" = ?", append(args, which.Of)
	}
	err = x.catalog.read(ctx, "list "+x.table.name, func(tx *sql.Tx) error {
		t := *x.table
		if which.Brief && t.brief != nil {
			t.columns = t.brief
		}
		out, err = t.all(ctx, tx, where, args...)
		return err
	})
	return out, err
}

// Get is the item of an id, ErrNotFound where there is none.
func (x Items[T]) Get(ctx context.Context, id ID) (item T, err error) {
	err = x.catalog.read(ctx, "read "+x.table.name, func(tx *sql.Tx) error {
		item, err = x.table.get(ctx, tx, id)
		return err
	})
	return item, err
}

// Named is the item with a name, whatever the case of its letters, that is not
// archived; ErrNotFound where there is none. Seasons and plans have no names.
func (x Items[T]) Named(ctx context.Context, name string) (item T, err error) {
	if !x.table.named {
		return item, fmt.Errorf("find: a %s has no name", x.table.kind)
	}
	err = x.catalog.read(ctx, "find "+x.table.name, func(tx *sql.Tx) error {
		found, err := x.table.all(ctx, tx, "archived = 0 AND name_key = ?", nameKey(name))
		if err == nil && len(found) == 0 {
			err = fmt.Errorf("%s: %w", shown(name), ErrNotFound)
		}
		if err == nil {
			item = found[0]
		}
		return err
	})
	return item, err
}

// Add adds an item, with a new id where it has none, and gives it as it stands
// then, at revision 1. What is wrong with it is an *InvalidError.
func (x Items[T]) Add(ctx context.Context, item T) (T, error) {
	m := x.table.meta(&item)
	if m.ID == "" {
		m.ID = NewID()
	}
	m.Revision = 1
	err := x.catalog.write(ctx, "add "+x.table.name, func(tx *sql.Tx) error {
		if err := x.unused(ctx, tx, m.ID); err != nil {
			return err
		}
		if err := x.table.valid(ctx, tx, &item); err != nil {
			return err
		}
		return x.table.insert(ctx, tx, &item)
	})
	return item, err
}

// unused tells of an id that was given to an item already.
func (x Items[T]) unused(ctx context.Context, tx *sql.Tx, id ID) error {
	var is problems
	is.id("id", id, "the item")
	used, err := goneRevision(ctx, tx, id)
	if err == nil && used == 0 {
		err = tx.QueryRowContext(ctx, idTaken, id).Scan(&used)
	}
	if err != nil {
		return err
	}
	if used > 0 {
		is.add("id", string(id)+", which an item has or had", "a new one, or none")
	}
	return invalid(x.table.kind, is)
}

// idTaken counts the items of an id, whatever their kind.
const idTaken = `SELECT count(*) FROM (SELECT id FROM field UNION ALL SELECT id FROM season UNION ALL SELECT id FROM plan
	UNION ALL SELECT id FROM implement UNION ALL SELECT id FROM tractor UNION ALL SELECT id FROM product UNION ALL SELECT id FROM person UNION ALL SELECT id FROM mark)
	WHERE id = ?`

// Update changes the item of that id, which must be at that revision: ErrConflict
// where another was faster, ErrNotFound where it is gone. It gives the item as it
// stands then.
func (x Items[T]) Update(ctx context.Context, item T) (T, error) {
	err := x.catalog.write(ctx, "change "+x.table.name, func(tx *sql.Tx) error {
		m := x.table.meta(&item)
		if err := x.current(ctx, tx, m.ID, m.Revision); err != nil {
			return err
		}
		if err := x.table.valid(ctx, tx, &item); err != nil {
			return err
		}
		return x.table.update(ctx, tx, &item)
	})
	return item, err
}

func (x Items[T]) current(ctx context.Context, tx *sql.Tx, id ID, revision int64) error {
	var found int
	err := tx.QueryRowContext(ctx, "SELECT count(*) FROM "+x.table.name+" WHERE id = ? AND revision = ?", id, revision).Scan(&found)
	if err == nil && found == 0 {
		err = x.table.conflict(ctx, tx, id, revision)
	}
	return err
}

// Removed says what became of an item.
type Removed bool

// What becomes of an item.
const (
	Deleted  Removed = false
	Archived Removed = true // something refers to it
)

// Remove deletes the item of an id and revision, or archives it where others
// refer to it. Errors are those of Update.
func (x Items[T]) Remove(ctx context.Context, id ID, revision int64) (did Removed, err error) {
	err = x.catalog.write(ctx, "remove "+x.table.name, func(tx *sql.Tx) error {
		if err := x.current(ctx, tx, id, revision); err != nil {
			return err
		}
		// A refused DELETE changes nothing, and the transaction goes on.
		err := x.table.remove(ctx, tx, id, revision)
		if !refused(err) {
			return err
		}
		did = Archived
		_, err = tx.ExecContext(ctx, "UPDATE "+x.table.name+" SET archived = 1, revision = revision + 1 WHERE id = ?", id)
		return err
	})
	return did, err
}

// refused tells whether a foreign key kept a row.
func refused(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code() == sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY
}

// Archive takes an item out of use, or with archived false back into it, where its
// name is free. Errors are those of Update.
func (x Items[T]) Archive(ctx context.Context, id ID, revision int64, archived bool) (item T, err error) {
	item, err = x.Get(ctx, id)
	if err != nil {
		return item, err
	}
	m := x.table.meta(&item)
	m.Revision, m.Archived = revision, archived
	return x.Update(ctx, item)
}
