package statement

import (
	"fmt"
	"slices"

	"drawbar/controller"
	"drawbar/coverage"
)

// The bounds of a factor: beyond them a meter is not off, it is broken. Common
// practice, no source.
const (
	minFactor = 0.2
	maxFactor = 5
)

// adjusts reads a list of changes, each tank's number once, and gives those without
// a fault in ascending order of number.
func adjusts(n *Node, at string, faults *Faults) []coverage.Adjust {
	if n.Kind != KindList {
		faults.Add(n, at, describe(n), "a list of tanks with what changes of each")
		return nil
	}
	var list []coverage.Adjust
	for i := range n.Items {
		item, path := &n.Items[i], indexed(at, i)
		a, ok := adjust(item, path, faults)
		if !ok {
			continue
		}
		if slices.ContainsFunc(list, func(b coverage.Adjust) bool { return b.Tank == a.Tank }) {
			faults.Add(item.Get("tank"), path+".tank", fmt.Sprintf("tank %d a second time", a.Tank), "each tank's number once")
			continue
		}
		list = append(list, a)
	}
	slices.SortFunc(list, func(a, b coverage.Adjust) int { return a.Tank - b.Tank })
	return list
}

func adjust(n *Node, at string, faults *Faults) (a coverage.Adjust, ok bool) {
	before := faults.Len()
	o, isMap := Open(n, at, faults, []string{"tank", "product", "target", "capacity", "lag_s", "rate", "factor"})
	if !isMap {
		return coverage.Adjust{}, false
	}
	a.Tank = o.tankNumber()
	var p coverage.Product
	if stated := o.Get("product"); stated != nil {
		p = product(stated, o.path("product"), faults)
		a.Product = &p
	}
	a.Target, a.Unit, _ = o.target(p.Kind)
	var unit controller.Unit
	if a.Capacity, unit, _ = o.capacity(p, a.Target.Dim); a.Unit.Dim == controller.DimNone {
		a.Unit = unit
	}
	a.LagS = pointer(o.Number("lag_s", Range{Unit: "seconds", Max: maxLagS}))
	a.Rate = pointer(o.rateRule(p.Kind))
	a.Factor, _ = o.Number("factor", Range{Min: minFactor, Max: maxFactor})
	if len(n.Members) < 2 && faults.Len() == before {
		faults.Add(n, at, "a tank of which nothing changes", "at least one of product, target, capacity, lag_s, rate, factor")
	}
	if faults.Len() > before {
		return coverage.Adjust{}, false
	}
	return a, true
}

func (o Object) tankNumber() int {
	if o.Get("tank") == nil {
		o.Missing("tank", fmt.Sprintf("the tank's number from 1 to %d", maxTank))
	}
	n, _ := o.Int("tank", 1, maxTank)
	return n
}

// rateBases are the words for the rate bases but an entered rate, in the order of
// the enumeration.
func rateBases() []string { return []string{"reported", "target", "flow"} }

// rateRule reads what the amount is worked out from: a word or an entered rate.
func (o Object) rateRule(k coverage.ProductKind) (r coverage.RateRule, ok bool) {
	n := o.Get("rate")
	if n == nil {
		return r, false
	}
	for i, word := range rateBases() {
		if n.isText(word) {
			return coverage.RateRule{Basis: coverage.RateBasis(i)}, true
		}
	}
	r.Basis = coverage.BasisFixed
	r.Fixed, r.Unit, ok = o.rate("rate", "reported, target, flow or an entered rate: ", k)
	return r, ok
}

// refill reads that a tank was filled or looked into.
func refill(n *Node, at string, faults *Faults) (r coverage.Refill, ok bool) {
	before := faults.Len()
	o, isMap := Open(n, at, faults, []string{"tank", "amount", "level", "lot", "person"})
	if !isMap {
		return coverage.Refill{}, false
	}
	r.Tank = o.tankNumber()
	switch added, level := o.Get("amount") != nil, o.Get("level") != nil; {
	case added == level:
		got := "neither amount nor level"
		if added {
			got = "both amount and level"
		}
		faults.Add(n, at, got, "one of amount, what was added, and level, what is in the tank now")
	case added:
		r.Amount, r.Unit, _ = o.amount("amount", false)
	default:
		r.Level, r.Unit, _ = o.amount("level", true)
	}
	r.Lot, _ = o.Name("lot", "the lot's number")
	r.Person, _ = o.Name("person", "who filled it, a name or a role")
	if faults.Len() > before {
		return coverage.Refill{}, false
	}
	return r, true
}

// weighed reads what went out of a tank by scale or ticket.
func weighed(n *Node, at string, faults *Faults) (w coverage.Weighed, ok bool) {
	before := faults.Len()
	o, isMap := Open(n, at, faults, []string{"tank", "amount", "ticket"})
	if !isMap {
		return coverage.Weighed{}, false
	}
	w.Tank = o.tankNumber()
	if o.Get("amount") == nil {
		o.Missing("amount", "what was weighed, such as 3210 kg")
	}
	w.Amount, w.Unit, _ = o.amount("amount", false)
	w.Ticket, _ = o.Name("ticket", "the ticket's number")
	if faults.Len() > before {
		return coverage.Weighed{}, false
	}
	return w, true
}

// amount reads a mass, a volume or a count; zero only where none can be left.
func (o Object) amount(key string, zero bool) (q controller.Quantity, u controller.Unit, ok bool) {
	const want = "a mass, a volume or seeds, such as 1200 kg"
	q, u, ok = o.quantity(key, want)
	amount := q.Dim == controller.DimMass || q.Dim == controller.DimVolume || q.Dim == controller.DimCount
	if ok && (!amount || !(q.SI > 0 || zero && q.SI == 0)) {
		o.Fault(key, value(o.Get(key)), want)
		return controller.Quantity{}, controller.Unit{}, false
	}
	return q, u, ok
}
