package catalog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
)

// table says how items of one kind are kept.
type table[T any] struct {
	kind    Kind
	name    string
	order   string   // of a list: columns that, with the id, put it in one order
	parent  string   // the column with what the item belongs to, "" = nothing
	columns []string // beside id, revision and archived
	brief   []string // the same, but for what is long; nil = all is short
	named   bool     // has name_key as well, which is not in columns

	file file[T]
	meta func(*T) *Meta
	// cells are the values of columns; scan gives the places for them, and what is
	// to be done once they are filled.
	cells func(*T) []any
	scan  func(*T) (to []any, done func() error)
	check func(*T) problems
	title func(*T) string // of one that is named

	// children are rows in other tables; each of these may be nil.
	loadChildren func(ctx context.Context, q querier, where string, args []any, of []T) error
	saveChildren func(ctx context.Context, tx *sql.Tx, item *T) error
	// context is what is wrong with an item beside the others in the catalogue.
	context func(ctx context.Context, q querier, item *T) (problems, error)
}

type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func (t *table[T]) key(item *T) string { return nameKey(t.title(item)) }

// all are the rows that a condition picks, in the table's order.
func (t *table[T]) all(ctx context.Context, q querier, where string, args ...any) (out []T, err error) {
	if where == "" {
		where = "1"
	}
	query := "SELECT id, revision, archived, " + strings.Join(t.columns, ", ") + " FROM " + t.name +
		" WHERE " + where + " ORDER BY " + t.order + ", id"
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var item T
		m := t.meta(&item)
		to, done := t.scan(&item)
		if err := rows.Scan(append([]any{&m.ID, &m.Revision, &m.Archived}, to...)...); err != nil {
			return nil, err
		}
		if done != nil {
			if err := done(); err != nil {
				return nil, fmt.Errorf("%s %s: %w", t.kind, m.ID, err)
			}
		}
		out = append(out, item)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	if t.loadChildren != nil && len(out) > 0 {
		if err := t.loadChildren(ctx, q, where, args, out); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (t *table[T]) get(ctx context.Context, q querier, id ID) (T, error) {
	found, err := t.all(ctx, q, "id = ?", id)
	if err != nil || len(found) == 0 {
		var none T
		if err == nil {
			err = &NotFoundError{t.kind, id}
		}
		return none, err
	}
	return found[0], nil
}

// valid finds what is wrong with an item, in itself and beside the others.
func (t *table[T]) valid(ctx context.Context, q querier, item *T) error {
	is := t.check(item)
	if len(is) == 0 && t.named && !t.meta(item).Archived {
		var other ID
		err := q.QueryRowContext(ctx, "SELECT id FROM "+t.name+" WHERE name_key = ? AND archived = 0 AND id <> ?", t.key(item), t.meta(item).ID).Scan(&other)
		switch {
		case err == nil:
			is.add("name", shown(t.title(item))+", the name of another "+t.kind.String(), "a name of its own")
		case !errors.Is(err, sql.ErrNoRows):
			return err
		}
	}
	if len(is) == 0 && t.context != nil {
		more, err := t.context(ctx, q, item)
		if err != nil {
			return err
		}
		is = append(is, more...)
	}
	return invalid(t.kind, is)
}

// insert writes a row with the revision it has.
func (t *table[T]) insert(ctx context.Context, tx *sql.Tx, item *T) error {
	m := t.meta(item)
	columns, cells := t.row(item)
	columns = append([]string{"id", "revision", "archived"}, columns...)
	cells = append([]any{m.ID, m.Revision, m.Archived}, cells...)
	query := "INSERT INTO " + t.name + " (" + strings.Join(columns, ", ") + ") VALUES (?" + strings.Repeat(", ?", len(cells)-1) + ")"
	if _, err := tx.ExecContext(ctx, query, cells...); err != nil {
		return err
	}
	return t.children(ctx, tx, item)
}

func (t *table[T]) row(item *T) (columns []string, cells []any) {
	columns, cells = append(columns, t.columns...), t.cells(item)
	if t.named {
		columns, cells = append(columns, "name_key"), append(cells, t.key(item))
	}
	return columns, cells
}

func (t *table[T]) children(ctx context.Context, tx *sql.Tx, item *T) error {
	if t.saveChildren == nil {
		return nil
	}
	return t.saveChildren(ctx, tx, item)
}

// update writes a row over the one of the revision before.
func (t *table[T]) update(ctx context.Context, tx *sql.Tx, item *T) error {
	m := t.meta(item)
	columns, cells := t.row(item)
	query := "UPDATE " + t.name + " SET revision = revision + 1, archived = ?, " + strings.Join(columns, " = ?, ") + " = ? WHERE id = ? AND revision = ?"
	cells = append(append([]any{m.Archived}, cells...), m.ID, m.Revision)
	result, err := tx.ExecContext(ctx, query, cells...)
	if err != nil {
		return err
	}
	if n, err := result.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, t.conflict(ctx, tx, m.ID, m.Revision))
	}
	m.Revision++
	return t.children(ctx, tx, item)
}

// conflict says why there is no row of that id and revision.
func (t *table[T]) conflict(ctx context.Context, q querier, id ID, stated int64) error {
	var current int64
	err := q.QueryRowContext(ctx, "SELECT revision FROM "+t.name+" WHERE id = ?", id).Scan(&current)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return &NotFoundError{t.kind, id}
	case err != nil:
		return err
	default:
		return &ConflictError{Kind: t.kind, ID: id, Stated: stated, Current: current}
	}
}

// goneRevision is the last revision of what was removed, 0 of what never was.
func goneRevision(ctx context.Context, q querier, id ID) (revision int64, err error) {
	err = q.QueryRowContext(ctx, "SELECT revision FROM gone WHERE id = ?", id).Scan(&revision)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, nil
	}
	return revision, err
}

// remove deletes a row and keeps its id from being given away again.
func (t *table[T]) remove(ctx context.Context, tx *sql.Tx, id ID, revision int64) error {
	if _, err := tx.ExecContext(ctx, "DELETE FROM "+t.name+" WHERE id = ?", id); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO gone (id, revision) VALUES (?, ?) ON CONFLICT (id) DO UPDATE SET revision = excluded.revision", id, revision)
	return err
}
