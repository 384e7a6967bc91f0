package ready

import (
	"strings"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/catalog"
	"drawbar/internal/live"
	"drawbar/internal/units"
)

// tank looks at one tank. One that the controller never names, or names with
// nothing above zero, is unused.
func (c *check) tank(t *coverage.TankInForce) {
	if t.Product.Name == "" {
		if t.Metered && inUse(t) {
			c.noProduct(t)
		}
		return
	}
	c.unit(t)
	p := c.Around.Product(t.Product.Name)
	if p == nil {
		c.offPlan(t, nil)
		return
	}
	if t.Metered || c.onlyStated() {
		c.limit(t, p)
	}
	c.offPlan(t, p)
}

func inUse(t *coverage.TankInForce) bool {
	return t.Rate.SI > 0 || t.Flow.SI > 0 || t.Aim.SI > 0
}

// onlyStated tells that the controller names no tanks at all, so that all that are
// stated count.
func (c *check) onlyStated() bool {
	for i := range c.work.InForce.Tanks {
		if c.work.InForce.Tanks[i].Metered {
			return false
		}
	}
	return true
}

func (c *check) noProduct(t *coverage.TankInForce) {
	step := Step{Do: OpenTank, Tank: t.Number, Text: "Say what is in it"}
	if p := c.planFor(t.Number); p != nil {
		if product := c.Around.ProductOf(p.Product); product != nil {
			step = Step{Do: PutProduct, Tank: t.Number, Product: product.Name, Target: p.Rate.String(), Text: "It is " + product.Name}
		}
	}
	c.add(TankWithoutProduct, live.Warning, tankName(t.Number), step, "The controller meters tank %d, but nothing is stated to be in it.", t.Number)
}

// planFor is the plan of a tank: the one for that tank, else the only one whose
// product is in no tank.
func (c *check) planFor(tank int) *catalog.Plan {
	var free []*catalog.Plan
	for i := range c.plans {
		p := &c.plans[i]
		if p.Tank == tank {
			return p
		}
		if p.Tank == 0 && !c.holds(p.Product) {
			free = append(free, p)
		}
	}
	if len(free) == 1 {
		return free[0]
	}
	return nil
}

// holds tells whether any tank has the product.
func (c *check) holds(id catalog.ID) bool {
	product := c.Around.ProductOf(id)
	for i := range c.work.InForce.Tanks {
		if product != nil && strings.EqualFold(c.work.InForce.Tanks[i].Product.Name, product.Name) {
			return true
		}
	}
	return false
}

// unit finds a tank that is stated in another kind of amount than it is metered in:
// its ground counts, its amount is not known.
func (c *check) unit(t *coverage.TankInForce) {
	stated := t.Target.Dim.Amount()
	if stated == controller.DimNone {
		stated = t.Capacity.Dim.Amount()
	}
	if stated == controller.DimNone || t.Reported == controller.DimNone || stated == t.Reported {
		return
	}
	if _, ok := (controller.Quantity{SI: 1, Dim: t.Reported}).As(stated, t.Product.ThousandKernelG); ok {
		return
	}
	c.add(TankUnit, live.Warning, tankName(t.Number), Step{Do: OpenTank, Tank: t.Number, Text: "Open tank " + number(t.Number)},
		"Tank %d is set up in %s, the controller meters it in %s: its amount is not known. Choose the product that is in it, or state its target in the controller's unit.", t.Number, stated.AmountUnit(), t.Reported.AmountUnit())
}

// aim is the target that holds for a tank: the controller's own where it tells one,
// else the stated one. own tells that it is the controller's.
func aim(t *coverage.TankInForce) (q controller.Quantity, own bool) {
	if t.Aim.Dim.PerArea() {
		return t.Aim, true
	}
	return t.Target, false
}

// limit compares target and rate with the limit that was copied from the label.
func (c *check) limit(t *coverage.TankInForce, p *catalog.Product) {
	if !p.MaxRate.Stated() || !(p.MaxRate.SI > 0) {
		return
	}
	worst, what := 0.0, ""
	target, _ := aim(t)
	for _, m := range []struct {
		q    controller.Quantity
		what string
	}{{target, "The target"}, {t.Rate, "The rate"}} {
		q, ok := m.q.As(p.MaxRate.Dim.Amount(), t.Product.ThousandKernelG)
		if ok && q.SI > p.MaxRate.SI*(1+LimitTolerance) && q.SI > worst {
			worst, what = q.SI, m.what
		}
	}
	if what == "" {
		return
	}
	c.add(TargetOverLimit, live.Warning, tankName(t.Number), Step{Do: OpenTank, Tank: t.Number, Text: "Open tank " + number(t.Number)},
		"%s of tank %d, %s of %s, is over the %s entered as its limit. %s", what, t.Number, c.rate(controller.Quantity{SI: worst, Dim: p.MaxRate.Dim}), p.Name, c.rate(p.MaxRate.Quantity), Caution)
}

func number(n int) string { return strings.TrimPrefix(tankName(n), "tank ") }

// rate is a rate in the units of a person.
func (c *check) rate(q controller.Quantity) string {
	if _, rate, ok := units.AmountOf(q.Dim.AmountUnit()); ok {
		return c.Units.Show(rate, q.SI)
	}
	return "an unknown rate"
}

// offPlan compares the target with that of the plan. p is the tank's product in the
// catalogue; nil: it is not there, and so in no plan.
func (c *check) offPlan(t *coverage.TankInForce, p *catalog.Product) {
	if p == nil {
		return
	}
	var plan *catalog.Plan
	for i := range c.plans {
		if l := &c.plans[i]; l.Product == p.ID && (l.Tank == 0 || l.Tank == t.Number) {
			plan = l
			break
		}
	}
	if plan == nil || !(plan.Rate.SI > 0) {
		return
	}
	take := Step{Do: SetTarget, Tank: t.Number, Target: plan.Rate.String(), Text: "Take the target of the plan"}
	target, own := aim(t)
	if target.Dim == controller.DimNone {
		c.add(TargetOffPlan, live.Note, tankName(t.Number), take, "Tank %d has no target; the plan has %s of %s.", t.Number, c.rate(plan.Rate.Quantity), p.Name)
		return
	}
	q, ok := target.As(plan.Rate.Dim.Amount(), p.ThousandKernelG)
	if !ok || within(q.SI, plan.Rate.SI, PlanTolerance) {
		return
	}
	text := "The target of tank %d is %s of %s, the plan has %s."
	if own {
		take = Step{Do: See, Tank: t.Number, Text: "I have seen it"}
		text += " It is the controller's own target: change it there, or let it be."
	}
	c.add(TargetOffPlan, live.Note, tankName(t.Number), take, text, t.Number, c.rate(q), p.Name, c.rate(plan.Rate.Quantity))
}

// within tells whether v is so near to want, as a part of want.
func within(v, want, part float64) bool {
	return v >= want*(1-part) && v <= want*(1+part)
}
