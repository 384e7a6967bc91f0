package server

import (
	"context"
	"slices"
	"strings"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/coverage/supply"
	"drawbar/internal/boundary"
	"drawbar/internal/catalog"
	"drawbar/internal/choices"
	"drawbar/internal/ready"
	"drawbar/replay/statement"
)

func (s *Server) choices(ctx context.Context, q *choicesInput) (out choicesJSON, err error) {
	in, err := s.dayInput(ctx, strings.TrimSpace(q.Field))
	if err != nil {
		return out, err
	}
	c := choices.Of(in)
	out = choicesJSON{
		Field: some(in.Field), HasOutline: in.Outline != nil, Now: wireNow(&in),
		Seasons: []seasonChoiceJSON{}, Plans: []planChoiceJSON{}, Products: []productChoiceJSON{}, Tanks: []tankChoiceJSON{},
		Implements: []toolJSON{}, Tractors: []itemJSON{}, People: []itemJSON{}, LastPerson: some(in.LastPerson), Begin: wireBegin(&c.Suggested),
	}
	if area, ok := boundary.AreaM2(in.Outline); ok && in.Outline != nil {
		out.AreaM2 = &area
	}
	for _, season := range in.Around.Seasons {
		out.Seasons = append(out.Seasons, seasonChoiceJSON{ID: string(season.ID), Crop: season.Crop, When: season.When(), Current: c.Season != nil && c.Season.ID == season.ID})
	}
	for i := range c.Plans {
		out.Plans = append(out.Plans, wirePlan(&c.Plans[i]))
	}
	for i := range c.Products {
		out.Products = append(out.Products, wireProduct(&c.Products[i]))
	}
	for i := range c.Tanks {
		out.Tanks = append(out.Tanks, s.wireTankChoice(&c.Tanks[i], in.State.Snapshot.Work.Tanks))
	}
	for _, im := range in.Around.Implements {
		out.Implements = append(out.Implements, toolJSON{ID: string(im.ID), Name: im.Name, Operation: im.Operation, WidthM: im.WidthM(), Sections: len(im.SectionsM)})
	}
	for _, t := range in.Around.Tractors {
		out.Tractors = append(out.Tractors, itemJSON{ID: string(t.ID), Name: t.Name})
	}
	for _, p := range in.Around.People {
		out.People = append(out.People, itemJSON{ID: string(p.ID), Name: p.Name})
	}
	slices.SortStableFunc(out.People, func(a, b itemJSON) int {
		last := func(p itemJSON) int {
			if strings.EqualFold(p.Name, in.LastPerson) {
				return 0
			}
			return 1
		}
		return last(a) - last(b)
	})
	out.Would, err = s.saying(ctx, in, c.Suggested, false)
	return out, err
}

func wireNow(in *choices.Input) (out nowJSON) {
	if in.State == nil {
		return out
	}
	w := &in.State.Snapshot.Work
	if o := w.Operation; o != nil {
		out.Field, out.Operation = some(o.Field), some(o.Name)
	}
	out.Crop, out.Person = some(w.InForce.Crop), some(w.InForce.Person)
	if im := w.InForce.Implement; im != nil {
		out.Implement = &im.Name
	}
	return out
}

func wireBegin(r *choices.Request) beginJSON {
	b := beginJSON{Field: some(r.Field), Season: some(string(r.Season)), Operation: some(r.Operation), Implement: some(r.Implement), Tractor: some(r.Tractor), Person: r.Person, Boundary: r.Boundary}
	for _, id := range r.Plans {
		b.Plans = append(b.Plans, string(id))
	}
	return b
}

func wirePlan(p *choices.Plan) planChoiceJSON {
	out := planChoiceJSON{
		ID: string(p.ID), Order: p.Order, Operation: p.Operation, Rate: p.Rate.String(), Tank: only(p.Tank, p.Tank > 0), Note: p.Note,
		DoneM2: only(p.DoneM2, p.HasDone), DoneShare: only(p.Share, p.HasShare), Suggested: p.Suggested,
	}
	if p.Product != nil {
		out.Product = p.Product.Name
	}
	return out
}

func wireProduct(p *choices.Product) productChoiceJSON {
	known := p.ID != ""
	return productChoiceJSON{
		ID: some(string(p.ID)), Name: p.Name, Kind: only(p.Kind.String(), known), From: string(p.From), Target: some(p.Target), Tank: only(p.Tank, p.Tank > 0),
		MaxRate: some(p.MaxRate.String()), ReentryH: only(p.ReentryH, p.Has&catalog.HasReentry != 0), PreHarvestDays: only(p.PreHarvestDays, p.Has&catalog.HasPreHarvest != 0),
	}
}

func (s *Server) wireTankChoice(t *coverage.TankInForce, now []coverage.TankNow) tankChoiceJSON {
	out := tankChoiceJSON{
		Tank: t.Number, Product: some(t.Product.Name), Target: some(ready.RateText(t.Target, t.Unit, s.c.Units)),
		Capacity: some(statement.QuantityText(t.Capacity, capacityUnit(t))), Metered: t.Metered,
	}
	for _, n := range now {
		if n.Number == t.Number {
			out.Unit = some(n.Unit)
		}
	}
	return out
}

// capacityUnit is the unit of amounts in which a tank's target is stated: kg for
// kg/ha.
func capacityUnit(t *coverage.TankInForce) controller.Unit {
	amount, _, _ := strings.Cut(t.Unit.Name, "/")
	u, err := controller.ParseUnit(amount)
	if err != nil {
		return controller.Unit{}
	}
	return u
}

// wireOutlook adds to a tank how far it reaches.
func wireOutlook(t *tankJSON, f *supply.Forecast) {
	for i := range f.Tanks {
		o := &f.Tanks[i]
		if o.Tank != t.Tank {
			continue
		}
		t.TimeLeftS, t.DistanceLeftM = only(o.TimeLeftS, o.HasTime), only(o.DistanceLeftM, o.HasDistance)
		if o.HasArea {
			t.AreaLeftM2 = &o.AreaLeftM2
		}
		if o.ThisPass == supply.No {
			t.RunsOut = &placeAheadJSON{LonDeg: o.RunsOut.LonDeg, LatDeg: o.RunsOut.LatDeg, InM: o.RunsOut.InM, InS: only(o.RunsOut.InS, o.RunsOut.HasInS)}
		}
		t.NextPassShort = only(o.NextPass == supply.No, o.NextPass != supply.Unknown)
	}
}
