package catalog

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"drawbar/replay/statement"
)

// FileError is everything wrong with a file, in its order.
type FileError struct {
	File   string
	Faults []statement.Fault
	More   int // beyond those listed
}

// Error has one fault a line, as "farm.yaml:14:11: fields[0].name: got …, want …".
func (e *FileError) Error() string {
	lines := make([]string, 0, len(e.Faults)+1)
	for _, f := range e.Faults {
		lines = append(lines, e.File+":"+f.Error())
	}
	if e.More > 0 {
		lines = append(lines, fmt.Sprintf("%s: and %d more", e.File, e.More))
	}
	return strings.Join(lines, "\n")
}

// Import reads a file that Encode wrote, or that a person did, into the catalogue:
// all of it, or with any fault nothing. file is its name for the faults, which come
// as a *FileError.
//
// Without replace, items are added; those that are there already may be in the
// file, as they are. With replace the catalogue becomes what the file says: other
// items are removed.
//
// An item without an id gets one: with replace that of the item that is the same by
// its name (a season by field, crop and time), else a new one.
func (c *Catalog) Import(ctx context.Context, file string, text []byte, replace bool) (n Changes, err error) {
	r := newReader()
	readText(text, r)
	r.end()
	if err := r.failed(file); err != nil {
		return Changes{}, err
	}
	err = c.write(ctx, "import "+file, func(tx *sql.Tx) error {
		base, err := c.document(ctx, tx)
		if err != nil {
			return err
		}
		want := r.settle(base, replace)
		if err := r.failed(file); err != nil {
			return err
		}
		n, err = c.putAll(ctx, tx, base, want)
		return err
	})
	var faults *FileError
	if errors.As(err, &faults) {
		return Changes{}, faults // each of its lines says where it is
	}
	if err != nil {
		return Changes{}, err
	}
	return n, nil
}

// Decode reads a file as Import does into an empty catalogue, without one. The lists
// are in the order of the file.
func Decode(file string, text []byte) (Document, error) {
	r := newReader()
	readText(text, r)
	r.end()
	if err := r.failed(file); err != nil {
		return Document{}, err
	}
	d := r.settle(Document{}, true)
	return d, r.failed(file)
}

func (r *reader) failed(file string) error {
	if r.wrong.Len() == 0 {
		return nil
	}
	list := slices.Clone(r.wrong.List())
	slices.SortStableFunc(list, func(a, b statement.Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col))
	})
	return &FileError{File: file, Faults: list, More: r.wrong.More()}
}

// settle is what the catalogue is to be: the file's items, and without replace
// those of base too. Faults are noted.
func (r *reader) settle(base Document, replace bool) Document {
	d := &r.doc
	if replace {
		r.adopt(base)
	}
	r.resolve(base, replace)
	if r.wrong.Len() > 0 {
		return Document{} // the rest would follow from that
	}
	if replace {
		adopt(r, planTable(), d.Plans, base.Plans, func(l *Plan) string {
			return fmt.Sprintf("%s %d %d %s %s", l.Season, l.Order, l.Tank, l.Product, l.Operation)
		})
		adopt(r, markTable(), d.Marks, base.Marks, func(m *Mark) string {
			if m.Origin != "" {
				return m.Origin
			}
			return fmt.Sprintf("%s %s %v %v", timeText(m.Left), m.Kind, m.LonDeg, m.LatDeg)
		})
	}
	kindOf := map[ID]Kind{}
	known(kindOf, fieldTable(), base.Fields)
	known(kindOf, seasonTable(), base.Seasons)
	known(kindOf, planTable(), base.Plans)
	known(kindOf, implementTable(), base.Implements)
	known(kindOf, tractorTable(), base.Tractors)
	known(kindOf, productTable(), base.Products)
	known(kindOf, personTable(), base.People)
	known(kindOf, markTable(), base.Marks)
	want := Document{
		Fields:     merge(r, fieldTable(), kindOf, d.Fields, base.Fields, replace),
		Seasons:    merge(r, seasonTable(), kindOf, d.Seasons, base.Seasons, replace),
		Plans:      merge(r, planTable(), kindOf, d.Plans, base.Plans, replace),
		Implements: merge(r, implementTable(), kindOf, d.Implements, base.Implements, replace),
		Tractors:   merge(r, tractorTable(), kindOf, d.Tractors, base.Tractors, replace),
		Products:   merge(r, productTable(), kindOf, d.Products, base.Products, replace),
		People:     merge(r, personTable(), kindOf, d.People, base.People, replace),
		Marks:      merge(r, markTable(), kindOf, d.Marks, base.Marks, replace),
	}
	r.together(want)
	return want
}

// adopt gives items without an id that of the item of base that key says is the
// same, and tells which ids changed to which.
func adopt[T any](r *reader, t *table[T], items, base []T, key func(*T) string) map[ID]ID {
	changed := map[ID]ID{}
	if len(items) == 0 || len(r.noID) == 0 {
		return changed
	}
	was := map[string]ID{}
	for i := range base {
		if m := t.meta(&base[i]); !m.Archived {
			was[key(&base[i])] = m.ID
		}
	}
	none := make(map[ID]bool, len(r.noID))
	for _, id := range r.noID {
		none[id] = true
	}
	for i := range items {
		m := t.meta(&items[i])
		id := was[key(&items[i])]
		if !none[m.ID] || m.Archived || id == "" {
			continue
		}
		if _, used := r.places[id]; used {
			continue
		}
		r.places[id] = r.places[m.ID]
		changed[m.ID], m.ID = id, id
	}
	return changed
}

func (r *reader) adopt(base Document) {
	d := &r.doc
	fields := adopt(r, fieldTable(), d.Fields, base.Fields, fieldTable().key)
	for i := range d.Seasons {
		if id, ok := fields[d.Seasons[i].Field]; ok {
			d.Seasons[i].Field = id
		}
	}
	seasons := adopt(r, seasonTable(), d.Seasons, base.Seasons, func(s *Season) string {
		return string(s.Field) + " " + s.When() + " " + nameKey(s.Crop)
	})
	for i := range d.Plans {
		if id, ok := seasons[d.Plans[i].Season]; ok {
			d.Plans[i].Season = id
		}
	}
	adopt(r, implementTable(), d.Implements, base.Implements, implementTable().key)
	adopt(r, tractorTable(), d.Tractors, base.Tractors, tractorTable().key)
	adopt(r, productTable(), d.Products, base.Products, productTable().key)
	adopt(r, personTable(), d.People, base.People, personTable().key)
}

// resolve finds what the file's references mean: an item of the file, else without
// replace one that is there.
func (r *reader) resolve(base Document, replace bool) {
	of := func(d *Document) map[Kind]names {
		return map[Kind]names{KindProduct: newNames(productTable(), d.Products), KindField: newNames(fieldTable(), d.Fields)}
	}
	in, before := of(&r.doc), map[Kind]names{}
	if !replace {
		before = of(&base)
	}
	for _, ref := range r.refs {
		id := in[ref.kind].find(ref.text)
		if id == "" {
			id = before[ref.kind].find(ref.text)
		}
		if id == "" {
			r.wrong.Add(&ref.node, ref.path, shown(ref.text), "the name or the id of a "+ref.kind.String()+" of the catalogue")
			continue
		}
		ref.set(&r.doc, id)
	}
}

func known[T any](kindOf map[ID]Kind, t *table[T], items []T) {
	for i := range items {
		kindOf[t.meta(&items[i]).ID] = t.kind
	}
}

// merge puts the file's items and those of base together.
func merge[T any](r *reader, t *table[T], kindOf map[ID]Kind, items, base []T, replace bool) []T {
	out := items
	have := map[ID]*T{}
	if !replace {
		out = append([]T(nil), base...)
		for i := range base {
			have[t.meta(&base[i]).ID] = &base[i]
		}
	}
	for i := range items {
		id := t.meta(&items[i]).ID
		at := r.places[id]
		if kind, there := kindOf[id]; there && kind != t.kind {
			r.wrong.Add(&at.node, at.path+".id", "the id of a "+kind.String(), "that of a "+t.kind.String()+", or none")
			continue
		}
		switch old := have[id]; {
		case replace:
		case old == nil:
			out = append(out, items[i])
		case !same(t, old, &items[i]):
			r.wrong.Add(&at.node, at.path, "a "+t.kind.String()+" that the catalogue has with other values", "the same values, another id, or --replace to make the catalogue what the file says")
		}
	}
	if t.named {
		r.distinct(t.kind, len(out), func(i int) (*Meta, string) { return t.meta(&out[i]), t.title(&out[i]) })
	}
	return out
}

// distinct finds names that several items in use have.
func (r *reader) distinct(kind Kind, n int, item func(i int) (*Meta, string)) {
	seen := map[string]ID{}
	for i := range n {
		m, name := item(i)
		if m.Archived {
			continue
		}
		first, twice := seen[nameKey(name)]
		if !twice {
			seen[nameKey(name)] = m.ID
			continue
		}
		at, inFile := r.places[m.ID]
		if !inFile {
			at = r.places[first]
		}
		of := "another " + kind.String()
		if other, ok := r.places[first]; ok && inFile {
			of = other.path
		} else {
			of += ", " + string(first)
		}
		r.problem(at, "name", shown(name)+", the name of "+of, "a name of its own, or the id of the one that it is")
	}
}

// together finds what is wrong with items beside one another.
func (r *reader) together(want Document) {
	if r.wrong.Len() > 0 {
		return
	}
	r.origins(want.Marks)
	b := newBook(want.Products)
	circles := b.circles(want.Products)
	for i := range want.Products {
		p := &want.Products[i]
		at, inFile := r.places[p.ID]
		if !inFile {
			continue
		}
		is := append(p.check(), b.problems(*p, circles)...)
		for _, one := range is {
			r.problem(at, one.Path, one.Got, one.Want)
		}
	}
	for i := range want.Plans {
		l := &want.Plans[i]
		at, inFile := r.places[l.ID]
		if p := b.products[l.Product]; inFile && p != nil {
			for _, one := range l.fits(*p) {
				r.problem(at, one.Path, one.Got, one.Want)
			}
		}
	}
}
