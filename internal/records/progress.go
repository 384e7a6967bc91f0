package records

import (
	"cmp"
	"slices"
	"strconv"

	"drawbar/controller"
	"drawbar/internal/catalog"
)

// Progress is a season's plans beside what was done.
type Progress struct {
	Season string     // as asked for: a year, or the id of one season
	Steps  []PlanStep // by field, season and order
	// What was laid in these seasons without a plan, the latest first.
	Unplanned []Unplanned

	PlannedM2, DoneM2 float64 // of all steps whose field's area is known
	Unknown           int     // steps of fields without an area
}

// PlanStep is one plan and how much of it is done.
type PlanStep struct {
	Plan      catalog.ID
	Season    catalog.ID
	Field     string
	Crop      string
	Order     int
	Operation string
	Product   string
	Rate      string // as planned, with its unit

	PlannedM2     *float64 // the field's area; nil: not known
	DoneM2        float64  // covered, the overlap of several operations not counted off, at most the field's area
	Share         *float64 // of it
	PlannedAmount *float64 // at the planned rate on the whole field, in Unit
	Applied       *float64 // in Unit; nil: nothing, or in another unit
	Unit          string
	MeanRatePerM2 *float64 // in Unit
	Operations    []Ref    // that did it, the latest first

	work, product int32 // numbers of their names
}

// Unplanned is work without a plan.
type Unplanned struct {
	Ref       Ref
	Season    catalog.ID
	Field     string
	Operation string
	Product   string
	CoveredM2 float64
}

// Progress lays the plans of a season beside the records: season is a year, with all
// seasons that count to it, or the id of one. Work belongs to a plan of its season
// that names its product; where several do, to those of its operation, else to the
// first of them. field nil: all fields.
func (x *Index) Progress(season string, field *string) Progress {
	v := x.view.Load()
	b := v.book
	out := Progress{Season: season}
	var ids []catalog.ID
	if b.season[catalog.ID(season)] != nil {
		ids = append(ids, catalog.ID(season))
	} else if year, err := strconv.Atoi(season); err == nil {
		ids = b.ofYear[year]
	}
	at := map[catalog.ID][]int{} // steps of a season
	var work []*item
	for _, id := range ids {
		s := b.season[id]
		if f := b.field[s.Field]; f == nil || !named(field, f.Name) {
			continue
		}
		for _, p := range b.plans[id] {
			at[id] = append(at[id], len(out.Steps))
			step := b.step(s, &p)
			step.work, step.product = v.names.find(fold(p.Operation)), v.names.find(fold(step.Product))
			out.Steps = append(out.Steps, step)
		}
		work = append(work, v.ofID[id]...)
	}
	slices.SortFunc(work, func(a, b *item) int { return cmp.Compare(a.at, b.at) })
	done := make([]*stepSum, len(out.Steps))
	for _, o := range work {
		for s := range o.Sums {
			i, planned := planFor(out.Steps, at[o.SeasonID], o, s)
			if !planned {
				out.Unplanned = append(out.Unplanned, Unplanned{
					Ref: o.Ref(), Season: o.SeasonID, Field: o.Field, Operation: o.OperationFigures.Operation,
					Product: b.spelledProduct(v.names.texts[o.products[s]], o.Sums[s].Name), CoveredM2: float64(coveredOf(&o.Operation, o.Sums[s])) / perM2,
				})
				continue
			}
			if done[i] == nil {
				done[i] = &stepSum{}
			}
			done[i].add(o, s, out.Steps[i].Unit)
			if n := len(out.Steps[i].Operations); n == 0 || out.Steps[i].Operations[n-1] != o.Ref() {
				out.Steps[i].Operations = append(out.Steps[i].Operations, o.Ref())
			}
		}
	}
	for i := range out.Steps {
		out.Steps[i].finish(done[i])
		out.count(&out.Steps[i])
	}
	return out
}

// step is a plan of which nothing is done.
func (b *book) step(s *catalog.Season, p *catalog.Plan) PlanStep {
	out := PlanStep{Plan: p.ID, Season: s.ID, Crop: s.Crop, Order: p.Order, Operation: p.Operation, Rate: p.Rate.String(), Unit: p.Rate.Dim.AmountUnit()}
	if f := b.field[s.Field]; f != nil {
		out.Field = f.Name
		if f.AreaM2 > 0 {
			m2 := f.AreaM2
			out.PlannedM2 = &m2
		}
	}
	if of := b.product[p.Product]; of != nil {
		out.Product = of.Name
	}
	if out.PlannedM2 != nil && p.Rate.Stated() {
		if amount, ok := (controller.Quantity{SI: p.Rate.SI, Dim: p.Rate.Dim}).OverArea(*out.PlannedM2); ok {
			out.PlannedAmount = &amount.SI
		}
	}
	return out
}

// planFor is the step that work of a product belongs to.
func planFor(all []PlanStep, steps []int, o *item, s int) (at int, ok bool) {
	at = -1
	for _, i := range steps {
		if all[i].product != o.products[s] || o.products[s] == o.nameless {
			continue
		}
		if all[i].work == o.work {
			return i, true
		}
		if at < 0 {
			at = i
		}
	}
	return at, at >= 0
}

// stepSum is what was done of a step, in whole steps.
type stepSum struct {
	covered, rated, amount sum
	has                    bool
}

func (d *stepSum) add(o *item, s int, unit string) {
	p := o.Sums[s]
	d.covered.add(coveredOf(&o.Operation, p))
	if p.Applied != nil && p.Unit == unit {
		d.rated.add(steps(p.RatedM2, perM2))
		d.amount.add(steps(*p.Applied, perAmount))
		d.has = true
	}
}

func (p *PlanStep) finish(d *stepSum) {
	if d == nil {
		d = &stepSum{}
	}
	p.DoneM2 = d.covered.in(perM2)
	if p.PlannedM2 != nil {
		p.DoneM2 = min(p.DoneM2, *p.PlannedM2)
		share := p.DoneM2 / *p.PlannedM2
		p.Share = &share
	}
	if d.has {
		amount := d.amount.in(perAmount)
		p.Applied = &amount
		if d.rated.positive() {
			rate := amount / d.rated.in(perM2)
			p.MeanRatePerM2 = &rate
		}
	}
}

func (p *Progress) count(s *PlanStep) {
	if s.PlannedM2 == nil {
		p.Unknown++
		return
	}
	p.PlannedM2 += *s.PlannedM2
	p.DoneM2 += s.DoneM2
}
