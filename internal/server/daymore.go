package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"

	"drawbar/internal/agronomy"
	"drawbar/internal/catalog"
	"drawbar/internal/choices"
	"drawbar/internal/ready"
)

func refillWords(b *refillJSON, tank int) string {
	words := fmt.Sprintf("%s into tank %d", said(b.Amount), tank)
	if said(b.Amount) == "" {
		words = fmt.Sprintf("%s in tank %d", said(b.Level), tank)
	}
	if lot := said(b.Lot); lot != "" {
		words += ", lot " + lot
	}
	return words
}

// quick makes a product and, where it is wanted, puts it into a tank. What would be
// wrong with the tank is found before the product is made.
func (s *Server) quick(ctx context.Context, in *quickInput) (out quickDoneJSON, err error) {
	b := &in.Body
	switch {
	case s.c.Catalog == nil:
		return out, refuse(http.StatusConflict, "there is no catalogue in this run: say the product's name into the tank instead")
	case s.c.Operator == nil:
		return out, nothingSaid()
	}
	product := b.product()
	day, err := s.dayInput(ctx, "")
	if err != nil {
		return out, err
	}
	r := choices.Request{}
	if b.Tank != nil {
		r.Tanks = []choices.TankWish{{Tank: *b.Tank, Product: product.Name, Target: said(b.Rate)}}
		trial := day
		trial.Around.Products = append([]catalog.Product{product}, day.Around.Products...)
		if _, err := s.saying(ctx, trial, r, false); err != nil {
			return out, rateMember(err)
		}
	} else if said(b.Rate) != "" {
		r := refuse(http.StatusUnprocessableEntity, "nothing was done: what was sent has faults")
		r.faults = []faultJSON{{Member: "tank", Got: "nothing", Want: "the tank of which the rate is the target"}}
		return out, r
	}
	added, err := s.c.Catalog.Products.Add(ctx, product)
	if err != nil {
		return out, ofQuick(err)
	}
	out.ID = string(added.ID)
	s.catalogChanged(ctx, catalog.KindProduct)
	if b.Tank == nil {
		return out, nil
	}
	day.Around.Products = append(day.Around.Products, added)
	said, err := s.saying(ctx, day, r, true)
	if err != nil { // the product stays: that is told, so that nobody makes it twice
		out.Problem = some("the product is in the catalogue, but not in the tank: " + err.Error())
		return out, nil
	}
	out.Said = &said
	return out, nil
}

func (b *quickJSON) product() (p catalog.Product) {
	for k := catalog.Seed; k <= catalog.Blend; k++ {
		if k.String() == b.Kind {
			p.Kind = k
		}
	}
	p.Name = said(&b.Name)
	if a := b.Analysis; a != nil {
		p.Has |= catalog.HasAnalysis
		p.Analysis = agronomy.Analysis{NPct: a.NPct, P2O5Pct: a.P2O5Pct, K2OPct: a.K2OPct, SPct: a.SPct}
	}
	if b.DensityKgPerL != nil {
		p.DensityKgPerL = *b.DensityKgPerL
	}
	if b.ThousandKernelG != nil {
		p.ThousandKernelG = *b.ThousandKernelG
	}
	return p
}

// rateMember has the target of the only tank as the member rate.
func rateMember(err error) error {
	if r, ok := err.(*refusal); ok {
		for i := range r.faults {
			switch r.faults[i].Member {
			case "tanks[0].target":
				r.faults[i].Member = "rate"
			case "tanks[0].product":
				r.faults[i].Member = "name"
			}
		}
	}
	return err
}

// ofQuick is why the catalogue did not take a product.
func ofQuick(err error) error {
	var invalid *catalog.InvalidError
	if !errors.As(err, &invalid) {
		return refuse(http.StatusServiceUnavailable, "nothing was done: %v", err)
	}
	r := refuse(http.StatusUnprocessableEntity, "nothing was done: what was sent has faults")
	for _, p := range invalid.Problems {
		r.faults = append(r.faults, faultJSON{Member: p.Path, Got: cut(p.Got, 100), Want: p.Want})
	}
	return r
}

func (s *Server) ready(ctx context.Context, _ *nothing) (readyJSON, error) {
	out := readyJSON{Items: []readyItemJSON{}}
	state, _ := s.c.Hub.Read()
	if state == nil || state.Replay != nil {
		return out, nil
	}
	day, err := s.dayInput(ctx, "")
	if err != nil {
		return out, err
	}
	for _, i := range ready.Check(ready.Input{
		State: state, Around: day.Around, Outlined: day.Outline != nil, Earlier: s.c.Recent.Laid(day.Field), MinQuality: s.c.MinQuality,
		Units: s.c.Units, Zone: s.c.Timezone, LastPerson: day.LastPerson,
	}) {
		out.Items = append(out.Items, readyItemJSON{
			Kind: string(i.Kind), Severity: i.Severity.String(), Subject: some(i.Subject), Text: i.Text,
			Step: stepJSON{Do: string(i.Step.Do), Text: i.Step.Text, Field: some(i.Step.Field), Tank: only(i.Step.Tank, i.Step.Tank > 0), Product: some(i.Step.Product), Target: some(i.Step.Target), Person: some(i.Step.Person)},
		})
	}
	return out, nil
}
