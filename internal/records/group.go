package records

import (
	"cmp"
	"slices"
)

// group is a Group while it is added up, in whole steps.
type group struct {
	key               string
	last              *item   // the operation added last
	sessions          []int32 // as they come, some several times
	land              []int32 // likewise
	operations, split int
	gross, covered    sum
	working, field    sum // ms
	distance          sum // mm
	done, could, time sum // covered ground, what the width could have done, field time; where both are known
	products          []productSum
	at                map[productKey]int // where each is, of more than a few
	costs             []cost
	unknown           Unknown
	unrated           sum
	lastSplit         *item
	lastUnable        *item
	lastNobody        *item
}

// few products are found quicker by looking through them.
const few = 8

// product finds or opens the sum of a product.
func (g *group) product(key productKey, first *item, sum int) *productSum {
	if g.at == nil {
		for i := range g.products {
			if g.products[i].key == key {
				return &g.products[i]
			}
		}
	} else if i, known := g.at[key]; known {
		return &g.products[i]
	}
	g.products = append(g.products, productSum{key: key, first: first, sum: sum})
	switch {
	case g.at != nil:
		g.at[key] = len(g.products) - 1
	case len(g.products) > few:
		g.at = make(map[productKey]int, 4*few)
		for i := range g.products {
			g.at[g.products[i].key] = i
		}
	}
	return &g.products[len(g.products)-1]
}

// distinct is a list with every number once, in order.
func distinct(list []int32) []int32 {
	list = slices.Clone(list)
	slices.Sort(list)
	return slices.Compact(list)
}

// productKey is a product by the number of its name, and its unit.
type productKey struct {
	name int32
	unit uint8
}

type productSum struct {
	key            productKey
	first          *item // that has it, the latest
	sum            int   // index into its Sums
	gross, covered sum
	rated, amount  sum
	known          int // uses with an amount
	last           *item
	uses           int
}

// cost is millionths of a currency.
type cost struct {
	currency string
	sum
}

// add takes in what counts of a share of an operation.
func (g *group) add(o *item, s *share, p *part) {
	if g.last != o {
		g.last = o
		g.operations++
		for _, id := range o.sessions {
			if n := len(g.sessions); n == 0 || g.sessions[n-1] != id {
				g.sessions = append(g.sessions, id)
			}
		}
		g.land = append(g.land, o.land)
		if o.field == o.nameless {
			g.unknown.Fields++
		}
	}
	if s.split && g.lastSplit != o {
		g.lastSplit = o
		g.split++
	}
	if s.who == o.nameless && g.lastNobody != o {
		g.lastNobody = o
		g.unknown.People++
	}
	g.gross.add(p.gross)
	g.covered.add(p.covered)
	g.working.add(p.workingMS)
	g.field.add(p.fieldMS)
	g.distance.add(p.distance)
	if s.hasCould {
		g.done.add(p.covered)
		g.could.add(p.could)
		g.time.add(p.fieldMS)
	} else if g.lastUnable != o {
		g.lastUnable = o
		g.unknown.Capacities++
	}
	for i := range p.uses {
		g.use(o, &p.uses[i])
	}
}

func (g *group) use(o *item, u *use) {
	p := g.product(productKey{u.product, u.unit}, o, u.sum)
	if p.last != o {
		p.last = o
		p.uses++
	}
	p.gross.add(u.gross)
	p.covered.add(u.covered)
	g.unrated.add(u.gross - u.rated)
	if !u.has {
		g.unknown.Amounts++
		return
	}
	p.rated.add(u.rated)
	p.amount.add(u.amount)
	p.known++
	if !u.priced {
		g.unknown.Costs++
		return
	}
	g.costOf(u.currency).add(u.cost)
}

// merge takes in a group that shares no operation with this one.
func (g *group) merge(o *group) {
	g.sessions, g.land = append(g.sessions, o.sessions...), append(g.land, o.land...)
	g.operations += o.operations
	g.split += o.split
	for _, s := range []struct{ to, of *sum }{
		{&g.gross, &o.gross}, {&g.covered, &o.covered}, {&g.working, &o.working}, {&g.field, &o.field}, {&g.distance, &o.distance},
		{&g.done, &o.done}, {&g.could, &o.could}, {&g.time, &o.time}, {&g.unrated, &o.unrated},
	} {
		s.to.addSum(*s.of)
	}
	u, v := &g.unknown, &o.unknown
	u.Amounts += v.Amounts
	u.Costs += v.Costs
	u.Capacities += v.Capacities
	u.Fields += v.Fields
	u.People += v.People
	for i := range o.products {
		q := &o.products[i]
		p := g.product(q.key, q.first, q.sum)
		if q.first.at < p.first.at { // the latest spells it
			p.first, p.sum = q.first, q.sum
		}
		for _, s := range []struct{ to, of *sum }{{&p.gross, &q.gross}, {&p.covered, &q.covered}, {&p.rated, &q.rated}, {&p.amount, &q.amount}} {
			s.to.addSum(*s.of)
		}
		p.known += q.known
		p.uses += q.uses
	}
	for _, c := range o.costs {
		g.costOf(c.currency).addSum(c.sum)
	}
}

// costOf is the sum of a currency.
func (g *group) costOf(currency string) *sum {
	i := slices.IndexFunc(g.costs, func(c cost) bool { return c.currency == currency })
	if i < 0 {
		i = len(g.costs)
		g.costs = append(g.costs, cost{currency: currency})
	}
	return &g.costs[i].sum
}

// finish works out what follows from the sums.
func (g *group) finish(v *view) Group {
	out := Group{
		Key: g.key, Operations: g.operations, Sessions: len(distinct(g.sessions)), Split: g.split, Unknown: g.unknown,
		GrossM2: g.gross.in(perM2), CoveredM2: g.covered.in(perM2),
		Products: make([]ProductTotal, 0, len(g.products)), Costs: make([]Money, 0, len(g.costs)),
		WorkingS: g.working.in(perS), FieldS: g.field.in(perS), DistanceM: g.distance.in(perM),
	}
	over := g.gross
	over.addSum(g.covered.negated())
	out.OverlapM2 = over.in(perM2)
	out.Unknown.RateM2 = g.unrated.in(perM2)
	var land sum
	for _, id := range distinct(g.land) {
		land.add(v.lands[id])
	}
	out.LandM2 = land.in(perM2)
	out.capacity(g)
	slices.SortFunc(g.products, func(a, b productSum) int {
		return cmp.Or(cmp.Compare(v.names.texts[a.key.name], v.names.texts[b.key.name]), cmp.Compare(a.key.unit, b.key.unit))
	})
	g.at = nil
	for i := range g.products {
		out.product(v, &g.products[i])
	}
	for _, c := range g.costs {
		out.Costs = append(out.Costs, Money{c.currency, c.in(perAmount)})
	}
	slices.SortFunc(out.Costs, func(a, b Money) int { return cmp.Compare(a.Currency, b.Currency) })
	return out
}

func (g *Group) capacity(of *group) {
	done, could, seconds := of.done.in(perM2), of.could.in(perM2), of.time.in(perS)
	if !(seconds > 0) || !(could > 0) {
		return
	}
	capacity, theoretical, efficiency := done/seconds, could/seconds, done/could
	g.CapacityM2PerS, g.TheoreticalM2PerS, g.Efficiency = &capacity, &theoretical, &efficiency
}

// product adds one product with what it holds and costs.
func (g *Group) product(v *view, p *productSum) {
	name, unit := v.names.texts[p.key.name], amountUnits[p.key.unit]
	t := ProductTotal{Name: v.book.spelledProduct(name, p.first.Sums[p.sum].Name), Unit: unit, AreaM2: p.gross.in(perM2), CoveredM2: p.covered.in(perM2), Uses: p.uses}
	if p.known > 0 {
		amount := p.amount.in(perAmount)
		t.Applied = &amount
		if p.rated.positive() {
			rate := amount / p.rated.in(perM2)
			t.MeanRate = &rate
		}
		if n, known := v.book.content(name, unit, amount); known {
			g.Nutrients.add(n)
		} else {
			g.Unknown.Nutrients += p.known
		}
	}
	g.Products = append(g.Products, t)
}
