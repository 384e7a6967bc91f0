package records

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// By is what totals are grouped by.
type By string

// What totals may be grouped by.
const (
	ByField     By = "field"
	ByCrop      By = "crop"
	ByProduct   By = "product"
	ByPerson    By = "person"
	BySeason    By = "season" // the year of it
	ByOperation By = "operation"
	BySession   By = "session"
)

// Bys are all of them.
func Bys() []By {
	return []By{ByField, ByCrop, ByProduct, ByPerson, BySeason, ByOperation, BySession}
}

// ParseBy reads one of them.
func ParseBy(s string) (By, error) {
	if by := By(s); slices.Contains(Bys(), by) {
		return by, nil
	}
	var names []string
	for _, by := range Bys() {
		names = append(names, string(by))
	}
	return "", fmt.Errorf("%q: want one of %s", s, strings.Join(names, ", "))
}

// Totals are what work adds up to. Amounts, areas, hours and costs of the groups add
// up to those of All, with one exception: grouped by product, ground that got
// several products is in the group of each, and so are its hours. The hours of a
// product are a share of the operation's as its ground is.
type Totals struct {
	Groups  []Group `json:"groups"` // by their keys
	Count   int     `json:"count"`  // of all groups, listed or not
	All     Group   `json:"all"`
	Waiting int     `json:"waiting"` // sessions and joins that are still to be worked out
	Failed  int     `json:"failed"`  // sessions and joins that cannot be
}

// Group is the work of one field, say.
type Group struct {
	Key        string `json:"key"`        // as spelled in the catalogue, else in the latest record; "": not stated
	Operations int    `json:"operations"` // in which it has a part
	Sessions   int    `json:"sessions"`

	GrossM2   float64 `json:"gross_m2"`
	CoveredM2 float64 `json:"covered_m2"`
	OverlapM2 float64 `json:"overlap_m2"`
	// The land that it is on: of each field and season the area inside the boundary,
	// without one the most that any one operation covered.
	LandM2 float64 `json:"land_m2"`

	WorkingS  float64 `json:"working_s"`    // ground was laid
	FieldS    float64 `json:"field_time_s"` // from the first moment worked to the last of each operation
	DistanceM float64 `json:"distance_m"`   // worked

	// Field capacity is the covered ground over the field's time; efficiency is that
	// over the capacity of the width at the speed of the work. Of operations without
	// an implement or time neither is known; they are left out and counted.
	CapacityM2PerS    *float64 `json:"capacity_m2_per_s"`
	TheoreticalM2PerS *float64 `json:"theoretical_m2_per_s"`
	Efficiency        *float64 `json:"efficiency"`

	Products  []ProductTotal `json:"products"`  // by name, then unit
	Nutrients Nutrients      `json:"nutrients"` // of what is known; Unknown.Nutrients tells of the rest
	Costs     []Money        `json:"costs"`     // by currency; Unknown.Costs tells of the rest

	Unknown Unknown `json:"unknown"`
	// Operations of several people, of which covered ground, overlap and the field's
	// time are split as the gross area and the working time are.
	Split int `json:"split"`
}

// Unknown counts what could not be added up.
type Unknown struct {
	Amounts    int     `json:"amounts"`    // product uses of which no amount is known
	RateM2     float64 `json:"rate_m2"`    // ground of products whose rate was not known there
	Nutrients  int     `json:"nutrients"`  // product uses with an amount whose nutrients are not known
	Costs      int     `json:"costs"`      // product uses with an amount whose price is not known
	Capacities int     `json:"capacities"` // operations without an implement or without a time
	Fields     int     `json:"fields"`     // operations in no named field
	People     int     `json:"people"`     // operations of nobody named, in whole or in part
}

// ProductTotal is what was used of one product.
type ProductTotal struct {
	Name    string   `json:"name"`
	Unit    string   `json:"unit"`    // kg, l or seeds; "": not known
	Applied *float64 `json:"applied"` // nil: never known
	AreaM2  float64  `json:"area_m2"` // gross
	// Of operations in which it was not laid everywhere, the same part of the covered
	// ground.
	CoveredM2 float64 `json:"covered_m2"`
	// Applied over the ground on which the rate was known, counted as often as it was
	// passed; per m2.
	MeanRate *float64 `json:"mean_rate_per_m2"`
	Uses     int      `json:"operations"` // operations
}

// Money is an amount of money.
type Money struct {
	Currency string  `json:"currency"`
	Amount   float64 `json:"amount"`
}

// Totals adds up the work that a filter picks.
func (x *Index) Totals(by By, f Filter) Totals { return x.TotalsPage(by, f, 0, math.MaxInt) }

// TotalsPage is Totals with the groups from one on, and no more than so many; Count
// tells how many there are.
func (x *Index) TotalsPage(by By, f Filter, from, most int) Totals {
	v := x.view.Load()
	t := newTally(v, by, &f)
	var page []int32
	if t.whole {
		t.meet()
		page = t.page(from, most)
		for _, key := range page {
			t.of[key] = &group{}
		}
	}
	for _, o := range v.ops {
		if t.s.operation(o) {
			t.operation(o)
		}
	}
	if !t.whole {
		page = t.page(from, most)
	}
	out := Totals{Groups: make([]Group, 0, len(page)), Count: len(t.met), Waiting: v.waiting, Failed: v.failed}
	for _, key := range page {
		g := t.of[key]
		if t.whole {
			t.all.merge(g)
		}
		out.Groups = append(out.Groups, g.finish(v))
	}
	out.All = t.all.finish(v)
	return out
}

// Sum is what one operation adds up to.
func (x *Index) Sum(o *Operation) Group {
	v := x.view.Load()
	it := v.of[o.Ref()]
	if it == nil || &it.Operation != o {
		v = newView([]Operation{*o}, nil, v.book)
		it = v.ops[0]
	}
	g := &group{}
	for i := range it.shares {
		all := whole(&it.shares[i])
		g.add(it, &it.shares[i], &all)
	}
	return g.finish(v)
}

// Standing is how many sessions and joins are still to be worked out, and how many
// cannot be.
func (x *Index) Standing() (waiting, failed int) {
	v := x.view.Load()
	return v.waiting, v.failed
}

// tally is totals while they are added up.
type tally struct {
	v    *view
	s    sieve
	by   By
	keys *names
	// Operations are in one group as a whole. Then only groups asked for are made, and
	// what is in no such group is added to all at once.
	whole bool
	met   []int32  // keys of all groups
	of    []*group // by the number of their key
	all   group
}

func newTally(v *view, by By, f *Filter) *tally {
	t := &tally{v: v, s: v.sieve(f), by: by, keys: &v.names, whole: by != ByProduct && by != ByPerson}
	if by == BySession {
		t.keys = &v.sessions
	}
	t.of = make([]*group, len(t.keys.texts))
	return t
}

// meet finds the keys of all groups.
func (t *tally) meet() {
	seen := make([]bool, len(t.of))
	for _, o := range t.v.ops {
		if key, _ := t.key(o); !seen[key] && t.s.operation(o) && t.s.counts(o) {
			seen[key] = true
			t.met = append(t.met, key)
		}
	}
}

// page is the keys from one on and no more than so many, in order.
func (t *tally) page(from, most int) []int32 {
	slices.SortFunc(t.met, func(a, b int32) int { return cmp.Compare(t.keys.texts[a], t.keys.texts[b]) })
	from = min(max(from, 0), len(t.met))
	return t.met[from : from+min(most, len(t.met)-from)]
}

// operation adds what counts of an operation.
func (t *tally) operation(o *item) {
	for i := range o.shares {
		s := &o.shares[i]
		if t.s.person != anything && t.s.person != s.who {
			continue
		}
		p, counts := t.s.counted(o, s)
		if !counts {
			continue
		}
		switch t.by {
		case ByProduct:
			t.all.add(o, s, &p)
			t.byProduct(o, s, &p)
		case ByPerson:
			t.all.add(o, s, &p)
			t.to(s.who, s.person).add(o, s, &p)
		default:
			key, recorded := t.key(o)
			g := t.of[key]
			if g == nil {
				g = &t.all
			} else if g.operations == 0 {
				g.key = t.v.spelled(t.by, recorded)
			}
			g.add(o, s, &p)
		}
	}
}

// to is the group of a key, made when it is met. Operations come the latest first, so
// that the latest spelling is the group's.
func (t *tally) to(key int32, spelling string) *group {
	if t.of[key] == nil {
		t.of[key] = &group{key: t.v.spelled(t.by, spelling)}
		t.met = append(t.met, key)
	}
	return t.of[key]
}

// counted is what counts of a share under the filter; false: nothing.
func (s *sieve) counted(o *item, of *share) (part, bool) {
	if s.product == anything {
		return whole(of), true
	}
	if len(of.uses) == 0 { // worked with no product stated
		return whole(of), o.nameless == s.product
	}
	n := 0
	for i := range of.uses {
		if of.uses[i].product == s.product {
			n++
		}
	}
	switch n {
	case 0:
		return part{}, false
	case len(of.uses):
		return of.under(of.uses), true
	}
	uses := make([]use, 0, n)
	for _, u := range of.uses {
		if u.product == s.product {
			uses = append(uses, u)
		}
	}
	return of.under(uses), true
}

// byProduct gives each product its part.
func (t *tally) byProduct(o *item, s *share, p *part) {
	if len(p.uses) == 0 {
		t.to(o.nameless, "").add(o, s, p)
		return
	}
	for i := range p.uses {
		u := &p.uses[i]
		same := func(e use) bool { return e.product == u.product }
		if slices.ContainsFunc(p.uses[:i], same) {
			continue // in another unit too: taken with the first
		}
		uses := p.uses[i : i+1]
		if slices.ContainsFunc(p.uses[i+1:], same) {
			uses = nil
			for _, e := range p.uses[i:] {
				if same(e) {
					uses = append(uses, e)
				}
			}
		}
		its := s.under(uses)
		t.to(u.product, o.Sums[u.sum].Name).add(o, s, &its)
	}
}

// part is what counts of a share.
type part struct {
	gross, covered, workingMS, fieldMS, distance, could int64
	uses                                                []use
}

func whole(s *share) part {
	return part{s.gross, s.covered, s.workingMS, s.fieldMS, s.distance, s.could, s.uses}
}

// under is the ground of some uses, that of the largest as they may lie on one
// another, and as much of everything else as that is of the share's ground.
func (s *share) under(uses []use) part {
	p := part{uses: uses}
	for _, u := range uses {
		if u.gross > p.gross {
			p.gross, p.covered = u.gross, u.covered
		}
	}
	if p.gross >= s.gross {
		w := whole(s)
		w.gross, w.covered, w.uses = p.gross, p.covered, uses
		return w
	}
	of := func(v int64) int64 { return portion(v, p.gross, s.gross) }
	p.workingMS, p.fieldMS, p.distance, p.could = of(s.workingMS), of(s.fieldMS), of(s.distance), of(s.could)
	return p
}

// key is the number of an operation's group, and the group's key as it was recorded.
func (t *tally) key(o *item) (key int32, recorded string) {
	switch t.by {
	case ByField:
		return o.field, o.Field
	case ByCrop:
		return o.crop, o.Grown
	case BySeason:
		return o.year, t.v.names.texts[o.year]
	case BySession:
		return o.sessions[0], o.Session
	}
	return o.work, o.OperationFigures.Operation
}
