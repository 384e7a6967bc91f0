package ready

import (
	"slices"
	"strings"
	"time"

	"drawbar/coverage"
	"drawbar/internal/catalog"
	"drawbar/internal/live"
)

// intervals finds the re-entry and pre-harvest intervals that run on the field of
// the work since what was laid there before.
func (c *check) intervals() {
	if c.now.IsZero() || c.op == nil {
		return
	}
	for _, a := range latest(c.Earlier) {
		p := c.Around.Product(a.Product)
		if p == nil || a.At.IsZero() || a.At.After(c.now) || c.lays(a.Product) {
			continue
		}
		if p.Has&catalog.HasReentry != 0 {
			c.reentry(p, a)
		}
		if p.Has&catalog.HasPreHarvest != 0 {
			c.preHarvest(p, a)
		}
	}
}

// lays tells whether the operation in hand lays the product itself: who does that is
// there already, and what ran before cannot be told from what he lays.
func (c *check) lays(product string) bool {
	return slices.ContainsFunc(c.op.Products, func(p coverage.ProductNow) bool {
		return strings.EqualFold(p.Product, product) && p.AreaM2 > 0
	})
}

// latest has each product once, by its latest application, in the order in which
// they come.
func latest(all []Application) (out []Application) {
	for _, a := range all {
		i := slices.IndexFunc(out, func(b Application) bool { return strings.EqualFold(a.Product, b.Product) })
		switch {
		case i < 0:
			out = append(out, a)
		case a.At.After(out[i].At):
			out[i] = a
		}
	}
	return out
}

func (c *check) reentry(p *catalog.Product, a Application) {
	until := a.At.Add(time.Duration(p.ReentryH * float64(time.Hour)))
	if !c.now.Before(until) {
		return
	}
	c.add(IntervalRuns, live.Warning, p.Name, Step{Do: See, Text: "I have read it"},
		"%s was laid on %s; the re-entry interval entered for it runs until %s. %s", p.Name, c.op.Field, c.moment(until), Caution)
}

func (c *check) preHarvest(p *catalog.Product, a Application) {
	until := Day(a.At.In(c.Zone).AddDate(0, 0, p.PreHarvestDays), c.Zone)
	if Day(c.now, c.Zone) >= until {
		return
	}
	severity := live.Note
	if Harvests(c.op.Name) {
		severity = live.Warning
	}
	c.add(IntervalRuns, severity, p.Name, Step{Do: See, Text: "I have read it"},
		"%s was laid on %s; the interval before harvest entered for it runs until %s. %s", p.Name, c.op.Field, until, Caution)
}

// Harvests tells whether an operation, by its name, takes the crop off the field.
func Harvests(operation string) bool {
	name := strings.ToLower(operation)
	return slices.ContainsFunc([]string{"harvest", "combin", "mow", "baling", "forag", "swathing", "lifting"}, func(word string) bool { return strings.Contains(name, word) })
}

func (c *check) moment(t time.Time) string { return t.In(c.Zone).Format("15:04 on 2006-01-02") }
