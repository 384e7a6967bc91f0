package records

import (
	"cmp"
	"fmt"
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
func (x *Index) Totals(by By, f Filter) Totals {
	v := x.view.Load()
	t := tally{v: v, f: &f, by: by, groups: map[string]*group{}}
	for _, o := range v.ops {
		if f.operation(&o.Operation) {
			t.operation(o)
		}
	}
	out := Totals{Groups: make([]Group, 0, len(t.groups)), Waiting: v.waiting, Failed: v.failed}
	for _, g := range t.groups {
		out.Groups = append(out.Groups, g.finish(v.book))
	}
	slices.SortFunc(out.Groups, func(a, b Group) int {
		return cmp.Or(cmp.Compare(fold(a.Key), fold(b.Key)), cmp.Compare(a.Key, b.Key))
	})
	out.All = t.all.finish(v.book)
	return out
}

// Sum is what one operation adds up to.
func (x *Index) Sum(o *Operation) Group {
	v := x.view.Load()
	it := v.of[o.Ref()]
	if it == nil || &it.Operation != o {
		it = newItem(*o, "", v.book)
	}
	var g group
	for i := range it.shares {
		g.add(it, &it.shares[i], whole(&it.shares[i]))
	}
	return g.finish(v.book)
}

// Standing is how many sessions and joins are still to be worked out, and how many
// cannot be.
func (x *Index) Standing() (waiting, failed int) {
	v := x.view.Load()
	return v.waiting, v.failed
}

// tally is totals while they are added up.
type tally struct {
	v      *view
	f      *Filter
	by     By
	groups map[string]*group
	all    group
}

// operation adds what counts of an operation to its groups.
func (t *tally) operation(o *item) {
	for i := range o.shares {
		s := &o.shares[i]
		if !named(t.f.Person, s.person) {
			continue
		}
		p, counts := t.counted(o, s)
		if !counts {
			continue
		}
		t.all.add(o, s, p)
		if t.by != ByProduct {
			t.to(t.key(o, s)).add(o, s, p)
			continue
		}
		t.byProduct(o, s, p)
	}
}

// counted is what counts of a share under the filter; false: nothing.
func (t *tally) counted(o *item, s *share) (part, bool) {
	if t.f.Product == nil {
		return whole(s), true
	}
	if len(s.uses) == 0 { // worked with no product stated
		return whole(s), named(t.f.Product, "")
	}
	var uses []use
	for _, u := range s.uses {
		if named(t.f.Product, o.sumKeys[u.sum]) {
			uses = append(uses, u)
		}
	}
	return s.under(uses), len(uses) > 0
}

// byProduct gives each product its part.
func (t *tally) byProduct(o *item, s *share, p part) {
	if len(p.uses) == 0 {
		t.to("").add(o, s, p)
		return
	}
	for i, u := range p.uses {
		key := o.sumKeys[u.sum]
		if slices.ContainsFunc(p.uses[:i], func(e use) bool { return o.sumKeys[e.sum] == key }) {
			continue // in another unit too: taken with the first
		}
		var uses []use
		for _, e := range p.uses[i:] {
			if o.sumKeys[e.sum] == key {
				uses = append(uses, e)
			}
		}
		t.to(o.Sums[u.sum].Name).add(o, s, s.under(uses))
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
	of := func(v int64) int64 { return split(v, []int64{p.gross, s.gross - p.gross})[0] }
	p.workingMS, p.fieldMS, p.distance, p.could = of(s.workingMS), of(s.fieldMS), of(s.distance), of(s.could)
	return p
}

// key is the group of a share.
func (t *tally) key(o *item, s *share) string {
	switch t.by {
	case ByField:
		return o.Field
	case ByCrop:
		return o.Grown
	case ByPerson:
		return s.person
	case BySeason:
		return yearText(o.Year)
	case ByOperation:
		return o.OperationFigures.Operation
	case BySession:
		return o.Session
	}
	return ""
}

// to is the group of a key. Operations come the latest first, so that the latest
// spelling is the group's.
func (t *tally) to(key string) *group {
	folded := fold(key)
	g := t.groups[folded]
	if g == nil {
		g = &group{key: t.v.spelled(t.by, folded, strings.TrimSpace(key))}
		t.groups[folded] = g
	}
	return g
}
