package records

import (
	"cmp"
	"slices"
	"strings"
)

// view is everything that questions are answered from, at one moment. It is never
// changed.
type view struct {
	ops     []*item       // the latest first
	of      map[Ref]*item // by each of their parts too
	joins   []Join
	book    *book
	waiting int
	failed  int
	marks   uint64 // grows with each view
}

// item is an operation with what is worked out once for all questions.
type item struct {
	Operation
	fieldKey string
	sumKeys  []string // folded names of Sums
	shares   []share
	result   string // its name in the file
}

func newItem(o Operation, result string, b *book) *item {
	b.place(&o)
	it := &item{Operation: o, result: result, fieldKey: fold(o.Field), sumKeys: make([]string, len(o.Sums))}
	for i := range o.Sums {
		it.sumKeys[i] = fold(o.Sums[i].Name)
	}
	it.shares = shares(&it.Operation)
	for i := range it.shares {
		b.price(&it.Operation, &it.shares[i])
	}
	return it
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
	v := &view{book: b, of: make(map[Ref]*item, len(ops)), joins: joins}
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
	return v
}

// spelled is the key of a group as the catalogue spells it, else as recorded.
func (v *view) spelled(by By, folded, recorded string) string {
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
	for _, o := range v.ops {
		if !f.operation(&o.Operation) || !o.counts(&f) {
			continue
		}
		if total >= from && len(page) < most {
			page = append(page, &o.Operation)
		}
		total++
	}
	return page, total
}

// counts tells whether anything of an operation passes a filter's product and person.
func (o *item) counts(f *Filter) bool {
	if f.Product == nil && f.Person == nil {
		return true
	}
	t := tally{f: f}
	for i := range o.shares {
		if named(f.Person, o.shares[i].person) {
			if _, counts := t.counted(o, &o.shares[i]); counts {
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
