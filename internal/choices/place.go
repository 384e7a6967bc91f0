package choices

import (
	"fmt"
	"slices"
	"strings"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/catalog"
)

// wishes are what a person wants in which tank; what the plans have for that tank
// gives way.
func (c *compose) wishes() {
	for i, w := range c.request.Tanks {
		at := fmt.Sprintf("tanks[%d].", i)
		l := load{tank: w.Tank, name: strings.TrimSpace(w.Product), member: at}
		if w.Tank < 1 || w.Tank > maxTank {
			c.fault(at+"tank", fmt.Sprint(w.Tank), fmt.Sprintf("the tank's number from 1 to %d", maxTank))
			continue
		}
		if slices.ContainsFunc(c.loads, func(o load) bool { return o.tank == w.Tank }) {
			c.fault(at+"tank", fmt.Sprintf("tank %d a second time", w.Tank), "each tank's number once")
			continue
		}
		if l.name != "" {
			l.product = c.product(l.name)
			if l.product != nil {
				l.name = l.product.Name
			}
		}
		if !c.wanted(&l, w, at) {
			continue
		}
		c.loads = append(c.loads, l)
	}
}

const maxTank = 99

// wanted reads the target of a wish, or takes that of the plan for its product.
func (c *compose) wanted(l *load, w TankWish, at string) bool {
	if w.Target == "" {
		for _, p := range c.plans {
			if l.product != nil && p.Product == l.product.ID {
				l.target = p.Rate
			}
		}
		return true
	}
	kind := c.tank(w.Tank).Product.Kind
	if l.product != nil {
		kind = l.product.Tank().Kind
	} else if l.name != "" {
		kind = coverage.KindUnknown
	}
	rate, err := catalog.ParseRate(w.Target)
	if err != nil || !rate.Dim.PerArea() || rate.SI < 0 || !slices.Contains(kind.Amounts(), rate.Dim.Amount()) {
		c.fault(at+"target", w.Target, "a rate with its unit that fits the product, such as "+example(kind))
		return false
	}
	l.target = rate
	return true
}

func example(k coverage.ProductKind) string {
	if k.Amounts()[0] == controller.DimVolume {
		return "80 l/ha"
	}
	return "112 kg/ha"
}

// product is the one of an id or a name; nil: the catalogue has none.
func (c *compose) product(want string) *catalog.Product {
	if p := c.Around.ProductOf(catalog.ID(want)); p != nil {
		return p
	}
	return c.Around.Product(want)
}

// place gives each plan its tank: the planned one; else the one that holds its
// product; else one without a product; else the first that is not taken. A tank that
// is metered in another kind of amount does not come into question.
func (c *compose) place() {
	for _, p := range c.plans {
		if p.Tank > 0 {
			c.take(p, p.Tank)
		}
	}
	for _, p := range c.plans {
		if p.Tank == 0 {
			c.take(p, c.free(p))
		}
	}
}

// take puts a plan's product into a tank, unless a person wants something else in it
// or the product elsewhere.
func (c *compose) take(p catalog.Plan, tank int) {
	product := c.Around.ProductOf(p.Product)
	if product == nil || slices.ContainsFunc(c.loads, func(l load) bool { return l.product != nil && l.product.ID == p.Product }) {
		return
	}
	if tank == 0 {
		c.notes = append(c.notes, fmt.Sprintf("No tank is free for %s: say yourself where it goes.", product.Name))
		return
	}
	if c.taken(tank) {
		if p.Tank > 0 && !slices.ContainsFunc(c.request.Tanks, func(w TankWish) bool { return w.Tank == tank }) {
			c.notes = append(c.notes, fmt.Sprintf("Two plans are for tank %d: %s is left out.", tank, product.Name))
		}
		return
	}
	c.loads = append(c.loads, load{tank: tank, product: product, name: product.Name, target: p.Rate})
}

func (c *compose) taken(tank int) bool {
	return slices.ContainsFunc(c.loads, func(l load) bool { return l.tank == tank })
}

// free is the tank for a plan of any tank, 0 where there is none.
func (c *compose) free(p catalog.Plan) int {
	product := c.Around.ProductOf(p.Product)
	if product == nil {
		return 0
	}
	best, bestRank := 0, 3
	for i := range c.force.Tanks {
		t := &c.force.Tanks[i]
		if c.taken(t.Number) || !fits(t, product, p.Rate) {
			continue
		}
		rank := 2
		switch {
		case strings.EqualFold(t.Product.Name, product.Name):
			rank = 0
		case t.Product.Name == "":
			rank = 1
		}
		if rank < bestRank {
			best, bestRank = t.Number, rank
		}
	}
	if best > 0 || len(c.force.Tanks) > 0 {
		return best
	}
	for n := 1; n <= maxTank; n++ { // no tank is known yet: they are numbered as they come
		if !c.taken(n) {
			return n
		}
	}
	return 0
}

// fits tells whether what the tank meters can be a product at a rate.
func fits(t *coverage.TankInForce, product *catalog.Product, rate catalog.Rate) bool {
	if t.Reported == controller.DimNone {
		return true
	}
	_, ok := (controller.Quantity{SI: 1, Dim: t.Reported}).As(rate.Dim.Amount(), product.ThousandKernelG)
	return ok
}
