package coverage

import (
	"slices"
	"time"

	"drawbar/controller"
	"drawbar/coverage/ground"
)

// tally is what one product use came to at a moment.
type tally struct {
	use              *ProductUse
	applied, metered int64
	gross, rated     ground.Area
}

// tally is what a tank has laid so far, by operation and product.
func (e *Engine) tally(tank int) (out []tally) {
	for _, o := range e.ops {
		for _, u := range o.Products {
			if u.Tank == tank {
				out = append(out, tally{u, u.applied, u.metered, u.Gross, u.rated})
			}
		}
	}
	return out
}

// outflow is what a tank laid between two moments, as an amount in one unit.
type outflow struct {
	applied, metered float64
	gross, rated     ground.Area
	other            bool // some of it is not known in that unit
}

// laidSince is what was added to the uses of a tank since a moment, as an amount of
// the given dimension; seeds are weighed by their product.
func (e *Engine) laidSince(tank int, was []tally, unit controller.Dim) (l outflow) {
	for _, now := range e.tally(tank) {
		u := now.use
		if i := slices.IndexFunc(was, func(t tally) bool { return t.use == u }); i >= 0 {
			b := was[i]
			now.applied, now.metered = now.applied-b.applied, now.metered-b.metered
			now.gross, now.rated = now.gross-b.gross, now.rated-b.rated
		}
		if now.gross == 0 {
			continue
		}
		l.gross += now.gross
		in := func(steps int64) float64 {
			q, ok := controller.Quantity{SI: amount(steps, u.Unit), Dim: u.Unit}.As(unit, u.Product.ThousandKernelG)
			l.other = l.other || !ok
			return q.SI
		}
		l.rated += now.rated
		l.applied += in(now.applied)
		l.metered += in(now.metered)
	}
	return l
}

// known tells whether some of what was laid is known, or nothing was laid.
func (l outflow) known() bool { return !l.other && (l.rated > 0 || l.gross == 0) }

// near tells whether so much of it is known that a level may go by it: the rest is at
// most a fiftieth of the ground.
func (l outflow) near() bool { return !l.other && (l.gross-l.rated)*50 <= l.gross }

// store is a tank that was filled or looked into, as it was then.
type store struct {
	tank  int
	level controller.Quantity // DimNone: not known
	since []tally
}

func (e *Engine) store(tank int) *store {
	for i := range e.stores {
		if e.stores[i].tank == tank {
			return &e.stores[i]
		}
	}
	return nil
}

// used is what a tank laid since the session's start, or since it was last filled or
// looked into, as an amount of the given dimension.
func (e *Engine) used(tank int, unit controller.Dim) outflow {
	var since []tally
	if s := e.store(tank); s != nil {
		since = s.since
	}
	return e.laidSince(tank, since, unit)
}

// level is what is left in a tank by what was filled in, as an amount of the given
// dimension; false where it is not known. It is never below zero.
func (e *Engine) level(tank int, unit controller.Dim) (float64, bool) {
	s := e.store(tank)
	if s == nil || s.level.Dim == controller.DimNone {
		return 0, false
	}
	q, ok := s.level.As(unit, e.tank(tank).Product.ThousandKernelG)
	used := e.laidSince(tank, s.since, unit)
	if !ok || !used.near() {
		return 0, false
	}
	return max(0, q.SI-used.applied), true
}

// refill takes what was said of a tank. The first refill is taken to have found it
// empty; one of a tank whose level had become unknown leaves it unknown.
func (e *Engine) refill(r Refill) {
	stated, before := r.Level, 0.0
	if stated.Dim == controller.DimNone {
		stated = r.Amount
	}
	s := e.store(r.Tank)
	if s == nil {
		e.meter.addTank(r.Tank)
		e.stores = append(e.stores, store{tank: r.Tank})
		s = &e.stores[len(e.stores)-1]
	} else if r.Amount.Dim != controller.DimNone {
		var ok bool
		if before, ok = e.level(r.Tank, stated.Dim); !ok {
			stated = controller.Quantity{}
		}
	}
	if s.level = stated; stated.Dim != controller.DimNone {
		s.level.SI += before
	}
	s.since = e.tally(r.Tank)
}

// changeTanks takes over the tanks as said. One that now holds another product has
// no level until that is said.
func (e *Engine) changeTanks(tanks []Tank) {
	for _, t := range tanks {
		for _, was := range e.said.tanks {
			if was.Number == t.Number && was.Product.Name != "" && was.Product.Name != t.Product.Name {
				e.stores = slices.DeleteFunc(e.stores, func(s store) bool { return s.tank == t.Number })
			}
		}
	}
	e.said.tanks = tanks
}

// write notes what was said beside the work.
func (e *Engine) write(s Statement) {
	if s.Refill != nil {
		e.refill(*s.Refill)
	}
	if s.Refill == nil && s.Note == nil && s.Weather == nil && s.Settled == nil {
		return
	}
	w := Entry{At: s.At, Operation: e.force.op, Refill: s.Refill, Note: s.Note, Weather: s.Weather, Settled: s.Settled}
	if s.Refill != nil {
		t := e.tank(s.Refill.Tank)
		w.Product, w.Unit = t.Product, t.unit(s.Refill.Unit.Dim)
	}
	e.journal = append(e.journal, w)
}

// Journal is what was said beside the work so far, in order.
func (e *Engine) Journal() []Entry { return e.journal }

// Weighing is a weighed amount beside what the record says that the tank laid in that
// time. What was metered counts where and when it came to the ground.
type Weighing struct {
	Weighed
	From, To   time.Time
	Operations []*Operation // that laid from the tank in that time
	Applied    float64      // kg, litres or seeds, as Weighed.Amount has it; with Known
	Metered    float64      // the same before any factor
	Known      bool
	index      int // of the correction
	since      []tally
	done       bool
}

func (e *Engine) startWeighing(index int) {
	c := &e.corrections[index]
	w := Weighing{Weighed: *c.Statement.Weighed, From: c.From, To: c.To, index: index}
	w.since = e.tally(w.Tank)
	e.weighings = append(e.weighings, w)
}

// stopWeighing adds up the window of a correction; one that weighed nothing has none.
func (e *Engine) stopWeighing(index int) {
	for i := range e.weighings {
		if w := &e.weighings[i]; w.index == index && !w.done {
			e.weigh(w)
			w.done = true
		}
	}
}

func (e *Engine) weigh(w *Weighing) {
	l := e.laidSince(w.Tank, w.since, w.Amount.Dim)
	w.Applied, w.Metered, w.Known = l.applied, l.metered, l.known() && e.lays(w.Tank)
	w.Operations = nil
	for _, o := range e.ops {
		if o.laidSince(w.Tank, w.since) {
			w.Operations = append(w.Operations, o)
		}
	}
}

// lays tells whether anything is known of a tank.
func (e *Engine) lays(tank int) bool { return len(e.tally(tank)) > 0 }

// laidSince tells whether the operation laid from a tank since a moment.
func (o *Operation) laidSince(tank int, was []tally) bool {
	for _, u := range o.Products {
		before := ground.Area(0)
		if i := slices.IndexFunc(was, func(t tally) bool { return t.use == u }); i >= 0 {
			before = was[i].gross
		}
		if u.Tank == tank && u.Gross != before {
			return true
		}
	}
	return false
}

// Weighings are the weighed amounts whose time has come, in the order in which it
// came.
func (e *Engine) Weighings() []Weighing {
	out := slices.Clone(e.weighings)
	for i := range out {
		if !out[i].done {
			e.weigh(&out[i])
		}
	}
	return out
}
