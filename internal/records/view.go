package records

import (
	"cmp"
	"slices"
	"strings"

	"drawbar/internal/catalog"
)

// view is everything that questions are answered from, at one moment. It is never
// changed.
type view struct {
	ops     []*item                // the latest first
	ofID    map[catalog.ID][]*item // those of a season of the catalogue
	of      map[Ref]*item          // by each of their parts too
	joins   []Join
	book    *book
	waiting int
	failed  int

	names    names // folded: of fields, crops, products, people, kinds of work
	sessions names
	lands    []int64 // area of each field and season on which there was work, 1/1000 m2
}

// item is an operation with what is worked out once for all questions. Names are
// numbers of the view.
type item struct {
	field, crop, work int32
	year              int32 // number of its text
	land              int32
	at                int32   // its place in the view
	nameless          int32   // the number of no name
	sessions          []int32 // of its parts
	products          []int32 // names of Sums
	units             []uint8 // units of Sums
	shares            []share
	result            string // its name in the file
	Operation
}

// amountUnits are the units of amounts, by the number of an item.
var amountUnits = [...]string{"", "kg", "l", "seeds"}

func newItem(o Operation, result string, b *book) *item {
	b.place(&o)
	it := &item{Operation: o, result: result}
	it.shares = shares(&it.Operation)
	for i := range it.shares {
		b.price(&it.Operation, &it.shares[i])
	}
	return it
}

// number gives an item the numbers of its names.
func (v *view) number(o *item, lands map[landKey]int32) {
	o.nameless = v.names.id("")
	o.field, o.crop, o.work = v.names.id(fold(o.Field)), v.names.id(fold(o.Grown)), v.names.id(fold(o.OperationFigures.Operation))
	o.year = v.names.id(yearText(o.Year))
	o.eachSession(func(name string) { o.sessions = append(o.sessions, v.sessions.id(name)) })
	o.products, o.units = make([]int32, len(o.Sums)), make([]uint8, len(o.Sums))
	for i := range o.Sums {
		o.products[i] = v.names.id(fold(o.Sums[i].Name))
		o.units[i] = uint8(max(0, slices.Index(amountUnits[:], o.Sums[i].Unit)))
	}
	for i := range o.shares {
		s := &o.shares[i]
		s.who = v.names.id(fold(s.person))
		for j := range s.uses {
			u := &s.uses[j]
			u.product, u.unit = o.products[u.sum], o.units[u.sum]
		}
	}
	key := landKey{o.field, string(o.SeasonID), o.Year, ""}
	if fold(o.Field) == "" {
		key.ref = o.Ref().String()
	}
	land, known := lands[key]
	if !known {
		land = int32(len(v.lands))
		lands[key], v.lands = land, append(v.lands, 0)
	}
	m2 := steps(o.FieldArea, perM2)
	if m2 == 0 {
		m2 = steps(o.Area.CoveredM2, perM2)
	}
	o.land, v.lands[land] = land, max(v.lands[land], m2)
}

// landKey is a field in a season, or an operation in no field.
type landKey struct {
	field  int32
	season string
	year   int
	ref    string
}

// eachSession calls do for the session of each part.
func (o *Operation) eachSession(do func(string)) {
	if len(o.Parts) == 0 {
		do(o.Session)
		return
	}
	for i := range o.Parts {
		do(o.Parts[i].Session)
	}
}

// newView puts operations in order. Those of joins take the place of their parts.
func newView(ops []Operation, joins []Join, b *book) *view {
	v := &view{book: b, of: make(map[Ref]*item, len(ops)), ofID: map[catalog.ID][]*item{}, joins: joins}
	v.names.ids, v.sessions.ids = map[string]int32{}, map[string]int32{}
	joined := map[Ref]*item{}
	for i := range joins {
		if j := joins[i].made; j != nil && joins[i].State == Current {
			it := newItem(*j, joins[i].result, b)
			v.ops = append(v.ops, it)
			for p := range j.Parts {
				joined[j.Parts[p].Ref()] = it
			}
		}
	}
	for i := range ops {
		ref := ops[i].Ref()
		if it := joined[ref]; it != nil {
			v.of[ref] = it
			continue
		}
		it := newItem(ops[i], ops[i].Session, b)
		v.ops = append(v.ops, it)
		v.of[ref] = it
	}
	slices.SortStableFunc(v.ops, func(a, b *item) int {
		return cmp.Or(b.OperationRecord.Start.Compare(a.OperationRecord.Start), cmp.Compare(b.Session, a.Session), cmp.Compare(b.Number, a.Number))
	})
	lands := make(map[landKey]int32, len(v.ops))
	for i, o := range v.ops {
		o.at = int32(i)
		v.number(o, lands)
		if o.SeasonID != "" {
			v.ofID[o.SeasonID] = append(v.ofID[o.SeasonID], o)
		}
	}
	v.gather()
	return v
}

// gather lays what totals read side by side, in the order in which it is read.
func (v *view) gather() {
	n, m := 0, 0
	for _, o := range v.ops {
		n += len(o.shares)
		for i := range o.shares {
			m += len(o.shares[i].uses)
		}
	}
	all, used := make([]share, 0, n), make([]use, 0, m)
	for _, o := range v.ops {
		first := len(all)
		all = append(all, o.shares...)
		o.shares = all[first:len(all):len(all)]
		for i := range o.shares {
			s := &o.shares[i]
			first := len(used)
			used = append(used, s.uses...)
			s.uses = used[first:len(used):len(used)]
		}
	}
}

// spelled is the key of a group as the catalogue spells it, else as recorded.
func (v *view) spelled(by By, recorded string) string {
	folded := fold(recorded)
	switch by {
	case ByField:
		if f := v.book.fields[folded]; f != nil && folded != "" {
			return f.Name
		}
	case ByProduct:
		return v.book.spelledProduct(folded, recorded)
	}
	return strings.TrimSpace(recorded)
}

// Operations lists the operations that a filter picks, the latest first, from one on
// and no more than so many, and how many there are in all.
func (x *Index) Operations(f Filter, from, most int) (page []*Operation, total int) {
	v := x.view.Load()
	s := v.sieve(&f)
	for _, o := range v.ops {
		if !s.operation(o) || !s.counts(o) {
			continue
		}
		if total >= from && len(page) < most {
			page = append(page, &o.Operation)
		}
		total++
	}
	return page, total
}

// counts tells whether anything of an operation passes the product and the person.
func (s *sieve) counts(o *item) bool {
	if s.product == anything && s.person == anything {
		return true
	}
	for i := range o.shares {
		if p := &o.shares[i]; s.person == anything || s.person == p.who {
			if _, counts := s.counted(o, p); counts {
				return true
			}
		}
	}
	return false
}

// Operation is the one that a name names, or that it is a part of.
func (x *Index) Operation(r Ref) (*Operation, bool) {
	it := x.view.Load().of[r]
	if it == nil {
		return nil, false
	}
	return &it.Operation, true
}
