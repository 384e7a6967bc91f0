package catalog

import (
	"context"
	"database/sql"
	"reflect"
)

// Schema is the first member of a file, and the version of its layout.
const Schema = "drawbar.catalog.1"

// Document is a whole catalogue in memory, archived items too, each list in the
// order of the catalogue's lists.
type Document struct {
	Fields     []Field
	Seasons    []Season
	Plans      []Plan
	Implements []Implement
	Tractors   []Tractor
	Products   []Product
	People     []Person
	Marks      []Mark
}

// Export is the catalogue as it stands.
func (c *Catalog) Export(ctx context.Context) (d Document, err error) {
	err = c.read(ctx, "read the catalogue", func(tx *sql.Tx) error {
		d, err = c.document(ctx, tx)
		return err
	})
	return d, err
}

func (c *Catalog) document(ctx context.Context, q querier) (d Document, err error) {
	for _, read := range []func() error{
		func() error { d.Fields, err = c.Fields.table.all(ctx, q, ""); return err },
		func() error { d.Seasons, err = c.Seasons.table.all(ctx, q, ""); return err },
		func() error { d.Plans, err = c.Plans.table.all(ctx, q, ""); return err },
		func() error { d.Implements, err = c.Implements.table.all(ctx, q, ""); return err },
		func() error { d.Tractors, err = c.Tractors.table.all(ctx, q, ""); return err },
		func() error { d.Products, err = c.Products.table.all(ctx, q, ""); return err },
		func() error { d.People, err = c.People.table.all(ctx, q, ""); return err },
		func() error { d.Marks, err = c.Marks.table.all(ctx, q, ""); return err },
	} {
		if err := read(); err != nil {
			return Document{}, err
		}
	}
	return d, nil
}

// Changes counts what an import did.
type Changes struct {
	Added, Changed, Same, Removed int
}

// put makes the rows of a table those of want; base is what they are now.
func put[T any](ctx context.Context, tx *sql.Tx, t *table[T], base, want []T, n *Changes) error {
	was := make(map[ID]*T, len(base))
	for i := range base {
		was[t.meta(&base[i]).ID] = &base[i]
	}
	var write []*T
	for i := range want {
		item := &want[i]
		m := t.meta(item)
		old := was[m.ID]
		delete(was, m.ID)
		switch {
		case old == nil:
			gone, err := goneRevision(ctx, tx, m.ID)
			if err != nil {
				return err
			}
			m.Revision = gone + 1
			n.Added++
		case same(t, old, item):
			n.Same++
			continue
		default:
			// Out with the old row first: names may have been swapped.
			m.Revision = t.meta(old).Revision + 1
			if _, err := tx.ExecContext(ctx, "DELETE FROM "+t.name+" WHERE id = ?", m.ID); err != nil {
				return err
			}
			n.Changed++
		}
		write = append(write, item)
	}
	for i := range base { // in order, for the same file from the same work
		m := t.meta(&base[i])
		if was[m.ID] == nil {
			continue
		}
		if err := t.remove(ctx, tx, m.ID, m.Revision); err != nil {
			return err
		}
		n.Removed++
	}
	for _, item := range write {
		if err := t.insert(ctx, tx, item); err != nil {
			return err
		}
	}
	return nil
}

// same tells whether two items are equal but for their revisions.
func same[T any](t *table[T], a, b *T) bool {
	x, y := *a, *b
	t.meta(&x).Revision, t.meta(&y).Revision = 0, 0
	return reflect.DeepEqual(x, y)
}

// putAll makes the catalogue want, where base is what it is now.
func (c *Catalog) putAll(ctx context.Context, tx *sql.Tx, base, want Document) (n Changes, err error) {
	// References are looked at when all rows are there.
	if _, err := tx.ExecContext(ctx, "PRAGMA defer_foreign_keys = ON"); err != nil {
		return n, err
	}
	for _, write := range []func() error{
		func() error { return put(ctx, tx, c.People.table, base.People, want.People, &n) },
		func() error { return put(ctx, tx, c.Implements.table, base.Implements, want.Implements, &n) },
		func() error { return put(ctx, tx, c.Tractors.table, base.Tractors, want.Tractors, &n) },
		func() error { return put(ctx, tx, c.Products.table, base.Products, want.Products, &n) },
		func() error { return put(ctx, tx, c.Fields.table, base.Fields, want.Fields, &n) },
		func() error { return put(ctx, tx, c.Seasons.table, base.Seasons, want.Seasons, &n) },
		func() error { return put(ctx, tx, c.Plans.table, base.Plans, want.Plans, &n) },
		func() error { return put(ctx, tx, c.Marks.table, base.Marks, want.Marks, &n) },
	} {
		if err := write(); err != nil {
			return n, err
		}
	}
	return n, nil
}
