package records

import (
	"cmp"
	"slices"
)

// group is a Group while it is added up, in whole steps.
type group struct {
	key               string
	last              *item // the operation added last
	sessions          map[string]bool
	operations, split int
	gross, covered    sum
	working, field    sum // ms
	distance          sum // mm
	done, could, time sum // covered ground, what the width could have done, field time; where both are known
	products          map[productKey]*productSum
	land              map[landKey]int64
	costs             map[string]*sum // by currency, millionths
	unknown           Unknown
	unrated           sum
	lastSplit         *item
	lastUnable        *item
	lastNobody        *item
}

type productKey struct{ name, unit string }

type productSum struct {
	name           string
	gross, covered sum
	rated, amount  sum
	known          int // uses with an amount
	last           *item
	uses           int
}

// landKey is a field in a season, or an operation in no field.
type landKey struct {
	field  string
	season string
}

// add takes in what counts of a share of an operation.
func (g *group) add(o *item, s *share, p part) {
	if g.last != o {
		g.last = o
		g.operations++
		if g.sessions == nil {
			g.sessions, g.products, g.land = map[string]bool{}, map[productKey]*productSum{}, map[landKey]int64{}
			g.costs = map[string]*sum{}
		}
		o.eachSession(func(name string) { g.sessions[name] = true })
		if fold(o.Field) == "" {
			g.unknown.Fields++
		}
		g.onLand(o)
	}
	if s.split && g.lastSplit != o {
		g.lastSplit = o
		g.split++
	}
	if s.person == "" && g.lastNobody != o {
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
	for _, u := range p.uses {
		g.use(o, u)
	}
}

// onLand notes the land of an operation.
func (g *group) onLand(o *item) {
	key := landKey{o.fieldKey, string(o.SeasonID)}
	if key.season == "" {
		key.season = yearText(o.Year)
	}
	m2 := steps(o.FieldArea, perM2)
	if key.field == "" {
		key.field = o.Ref().String()
	}
	if m2 == 0 {
		m2 = steps(o.Area.CoveredM2, perM2)
	}
	g.land[key] = max(g.land[key], m2)
}

func (g *group) use(o *item, u use) {
	name, unit := o.Sums[u.sum].Name, o.Sums[u.sum].Unit
	key := productKey{o.sumKeys[u.sum], unit}
	p := g.products[key]
	if p == nil {
		p = &productSum{name: name}
		g.products[key] = p
	}
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
	if g.costs[u.currency] == nil {
		g.costs[u.currency] = &sum{}
	}
	g.costs[u.currency].add(u.cost)
}

// finish works out what follows from the sums.
func (g *group) finish(b *book) Group {
	out := Group{
		Key: g.key, Operations: g.operations, Sessions: len(g.sessions), Split: g.split, Unknown: g.unknown,
		GrossM2: g.gross.in(perM2), CoveredM2: g.covered.in(perM2),
		Products: make([]ProductTotal, 0, len(g.products)), Costs: make([]Money, 0, len(g.costs)),
		WorkingS: g.working.in(perS), FieldS: g.field.in(perS), DistanceM: g.distance.in(perM),
	}
	over := g.gross
	over.addSum(g.covered.negated())
	out.OverlapM2 = over.in(perM2)
	out.Unknown.RateM2 = g.unrated.in(perM2)
	var land sum
	for _, m2 := range g.land { // whole numbers: the order does not matter
		land.add(m2)
	}
	out.LandM2 = land.in(perM2)
	out.capacity(g)
	keys := make([]productKey, 0, len(g.products))
	for key := range g.products {
		keys = append(keys, key)
	}
	slices.SortFunc(keys, func(a, b productKey) int { return cmp.Or(cmp.Compare(a.name, b.name), cmp.Compare(a.unit, b.unit)) })
	for _, key := range keys {
		out.product(b, key, g.products[key])
	}
	for currency, c := range g.costs {
		out.Costs = append(out.Costs, Money{currency, c.in(perAmount)})
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
func (g *Group) product(b *book, key productKey, p *productSum) {
	t := ProductTotal{Name: b.spelledProduct(key.name, p.name), Unit: key.unit, AreaM2: p.gross.in(perM2), CoveredM2: p.covered.in(perM2), Uses: p.uses}
	if p.known > 0 {
		amount := p.amount.in(perAmount)
		t.Applied = &amount
		if p.rated.positive() {
			rate := amount / p.rated.in(perM2)
			t.MeanRate = &rate
		}
		if n, known := b.content(key.name, key.unit, amount); known {
			g.Nutrients.add(n)
		} else {
			g.Unknown.Nutrients += p.known
		}
	}
	g.Products = append(g.Products, t)
}
