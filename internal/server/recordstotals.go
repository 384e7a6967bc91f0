package server

import (
	"context"
	"net/http"

	"drawbar/internal/records"
)

type totalsInput struct {
	WorkFilter
	By     string `query:"by" required:"true" enum:"field,crop,product,person,season,operation,session" doc:"What to group by; season: its year."`
	Offset int    `query:"offset" minimum:"0" maximum:"1000000" doc:"Number of the first group listed, from 0."`
	Limit  int    `query:"limit" minimum:"1" maximum:"500" default:"200" doc:"How many at most."`
}

func (s *Server) totals(_ context.Context, in *totalsInput) (out totalsListJSON, err error) {
	if err := s.noRecords(); err != nil {
		return out, err
	}
	f, err := s.filter(&in.WorkFilter)
	if err != nil {
		return out, err
	}
	by, err := records.ParseBy(in.By)
	if err != nil {
		return out, refuse(http.StatusUnprocessableEntity, "by=%v", err)
	}
	t := s.c.Records.TotalsPage(by, f, in.Offset, in.Limit)
	out = totalsListJSON{By: in.By, Groups: make([]groupJSON, 0, len(t.Groups)), Total: t.Count, All: wireGroup(&t.All), Waiting: t.Waiting, Failed: t.Failed}
	for i := range t.Groups {
		out.Groups = append(out.Groups, wireGroup(&t.Groups[i]))
	}
	return out, nil
}

func wireGroup(g *records.Group) groupJSON {
	out := groupJSON{
		Key: g.Key, Operations: g.Operations, Sessions: g.Sessions, GrossM2: g.GrossM2, CoveredM2: g.CoveredM2, OverlapM2: g.OverlapM2, LandM2: g.LandM2,
		WorkingS: g.WorkingS, FieldTimeS: g.FieldS, DistanceM: g.DistanceM,
		CapacityPer: g.CapacityM2PerS, TheoryPer: g.TheoreticalM2PerS, Efficiency: g.Efficiency,
		Products: make([]totalJSON, 0, len(g.Products)), Nutrients: wireNutrients(&g.Nutrients, g.LandM2), Costs: wireMoney(g.Costs),
		Unknown: wireUnknown(&g.Unknown), Split: g.Split,
	}
	for _, p := range g.Products {
		out.Products = append(out.Products, totalJSON{
			Name: p.Name, Unit: p.Unit, Applied: p.Applied, AreaM2: p.AreaM2, CoveredM2: p.CoveredM2, MeanPerM2: p.MeanRate, Uses: p.Uses,
		})
	}
	return out
}

// wireNutrients is with them on land, where there is any.
func wireNutrients(n *records.Nutrients, landM2 float64) nutrientsJSON {
	per := func(kg float64) *float64 { return only(kg/max(landM2, 1e-3), landM2 > 0) }
	return nutrientsJSON{
		NKg: n.NKg, P2O5Kg: n.P2O5Kg, K2OKg: n.K2OKg, SKg: n.SKg, PKg: n.PKg, KKg: n.KKg,
		NPerM2: per(n.NKg), P2O5PerM2: per(n.P2O5Kg), K2OPerM2: per(n.K2OKg), SPerM2: per(n.SKg), PPerM2: per(n.PKg), KPerM2: per(n.KKg),
	}
}

func wireMoney(costs []records.Money) []moneyJSON {
	out := make([]moneyJSON, 0, len(costs))
	for _, c := range costs {
		out = append(out, moneyJSON{Currency: c.Currency, Amount: c.Amount})
	}
	return out
}

func wireUnknown(u *records.Unknown) unknownJSON {
	return unknownJSON{
		Amounts: u.Amounts, RateM2: u.RateM2, Nutrients: u.Nutrients, Costs: u.Costs, Capacities: u.Capacities, Fields: u.Fields, People: u.People,
	}
}

type progressInput struct {
	Season string `query:"season" required:"true" minLength:"1" maxLength:"100" doc:"A year, for all seasons that count to it, or the id of one season."`
	Field  string `query:"field" maxLength:"200" doc:"Only steps of this field."`
	Offset int    `query:"offset" minimum:"0" maximum:"1000000" doc:"Number of the first step listed, from 0."`
	Limit  int    `query:"limit" minimum:"1" maximum:"500" default:"200" doc:"How many at most."`
}

// mostUnplanned bounds what is listed of work without a plan.
const mostUnplanned = 200

func (s *Server) progress(_ context.Context, in *progressInput) (out progressJSON, err error) {
	if err := s.noRecords(); err != nil {
		return out, err
	}
	p := s.c.Records.Progress(in.Season, some(in.Field))
	from := min(in.Offset, len(p.Steps))
	page := p.Steps[from:min(from+in.Limit, len(p.Steps))]
	out = progressJSON{
		Season: p.Season, PlannedM2: p.PlannedM2, DoneM2: p.DoneM2, Unknown: p.Unknown, Steps: make([]planStepJSON, 0, len(page)), Total: len(p.Steps),
		Unplanned: []unplannedJSON{}, UnplannedTotal: len(p.Unplanned),
	}
	for i := range page {
		out.Steps = append(out.Steps, wireStep(&page[i]))
	}
	for _, u := range p.Unplanned[:min(len(p.Unplanned), mostUnplanned)] {
		out.Unplanned = append(out.Unplanned, unplannedJSON{
			Work: wireRef(u.Ref), Season: string(u.Season), Field: u.Field, Operation: u.Operation, Product: u.Product, CoveredM2: u.CoveredM2,
		})
	}
	return out, nil
}

func wireStep(p *records.PlanStep) planStepJSON {
	out := planStepJSON{
		Plan: string(p.Plan), Season: string(p.Season), Field: p.Field, Crop: p.Crop, Order: p.Order, Operation: p.Operation, Product: p.Product,
		Rate: p.Rate, PlannedM2: p.PlannedM2, DoneM2: p.DoneM2, Share: p.Share, Unit: p.Unit, PlannedAmount: p.PlannedAmount,
		Applied: p.Applied, MeanPerM2: p.MeanRatePerM2, Operations: make([]workRefJSON, 0, len(p.Operations)),
	}
	for _, r := range p.Operations {
		out.Operations = append(out.Operations, wireRef(r))
	}
	return out
}

func wireRef(r records.Ref) workRefJSON { return workRefJSON{Session: r.Session, Operation: r.Number} }
