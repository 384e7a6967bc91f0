package catalog

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"errors"
	"math"

	"drawbar/controller"
	"drawbar/replay/statement"
)

// This file is one item as a client sends and gets it: the members are those of the
// file, without what stands below it there.

// file is how items of a kind stand in a file.
type file[T any] struct {
	in     func(*Document) *[]T
	read   func(*reader, *statement.Node)
	encode func(*encoder, *T) statement.Node
	// parent is the member with the id of what the item belongs to, which a file
	// leaves to where it stands; nil without.
	parent func(*T) *ID
}

// revisionKey is a member of every item beside those of the file.
const revisionKey = "revision"

// Read reads an item from JSON: the members of the file, of a season also "field"
// and of a plan "season" with the id of what it belongs to, and "revision".
// References are ids, or names of items that the catalogue has. Members named in
// beside are not looked at. What is wrong is an *InvalidError; the item may still be
// wrong beside others, as Add and Update find.
func (x Items[T]) Read(ctx context.Context, text []byte, beside ...string) (item T, err error) {
	n, err := statement.FromJSON(text)
	if err != nil {
		var fault statement.Fault
		if errors.As(err, &fault) {
			return item, &InvalidError{x.table.kind, []controller.Problem{fault.Problem}}
		}
		return item, err
	}
	r := newReader()
	r.single = true
	own := x.own(n, r, beside)
	x.table.file.read(r, &own.node)
	for _, f := range r.wrong.List() {
		own.is.once(f.Problem)
	}
	if len(own.is) == 0 && len(r.refs) > 0 {
		own.is, err = x.resolve(ctx, r)
	}
	if err != nil || len(own.is) > 0 {
		return item, errors.Join(err, invalid(x.table.kind, own.is))
	}
	item = (*x.table.file.in(&r.doc))[0]
	m := x.table.meta(&item)
	m.Revision = own.revision
	if n.Get("id") == nil {
		m.ID = "" // Add makes one
	}
	if x.table.file.parent != nil {
		*x.table.file.parent(&item) = own.parent
	}
	return item, nil
}

// own is what a client's item has that one of a file has not, and the rest of it.
type own struct {
	node     statement.Node
	revision int64
	parent   ID
	is       problems
}

func (x Items[T]) own(n *statement.Node, r *reader, beside []string) (o own) {
	o.node = *n
	o.node.Members = nil
	skip := map[string]bool{revisionKey: true}
	for _, key := range beside {
		skip[key] = true
	}
	keys := []string{revisionKey}
	if x.table.file.parent != nil {
		skip[x.table.parent] = true
		keys = append(keys, x.table.parent)
	}
	mine := statement.Node{Kind: statement.KindMap}
	for _, m := range n.Members {
		switch {
		case !skip[m.Key]:
			o.node.Members = append(o.node.Members, m)
		case m.Key == revisionKey || m.Key == x.table.parent:
			mine.Members = append(mine.Members, m)
		}
	}
	m := r.open(&mine, "", keys...)
	revision, _ := m.whole(revisionKey, 0, math.MaxInt32)
	o.revision = int64(revision)
	if x.table.file.parent != nil {
		want := "the id of the " + x.table.parent
		s, ok := m.Name(x.table.parent, want)
		if o.parent = ID(s); !ok && m.Get(x.table.parent) == nil || ok && !o.parent.Valid() {
			r.wrong.Add(n, x.table.parent, orNothing(s), want)
		}
	}
	return o
}

// resolve finds the products that an item names.
func (x Items[T]) resolve(ctx context.Context, r *reader) (is problems, err error) {
	err = x.catalog.read(ctx, "find products", func(tx *sql.Tx) error {
		products, err := productTable().all(ctx, tx, "")
		if err != nil {
			return err
		}
		known := newNames(productTable(), products)
		for _, ref := range r.refs {
			id := known.find(ref.text)
			if id == "" {
				is.add(ref.path, shown(ref.text), "the id or the name of a product of the catalogue")
				continue
			}
			ref.set(&r.doc, id)
		}
		return nil
	})
	return is, err
}

// JSON is an item as Read reads it, but for "revision" and the member with what it
// belongs to; references are ids.
func (x Items[T]) JSON(item T) []byte {
	n := x.table.file.encode(&encoder{}, &item)
	var b bytes.Buffer
	w := bufio.NewWriterSize(&b, 512) // most items are short
	(&jsonWriter{w: w}).value(&n, "")
	w.Flush() // into memory: it cannot fail
	return b.Bytes()
}

// Meta is what every item has, of one.
func (x Items[T]) Meta(item *T) *Meta { return x.table.meta(item) }

// Kind is the kind of the items.
func (x Items[T]) Kind() Kind { return x.table.kind }
