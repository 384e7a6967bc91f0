package coverage

import "drawbar/controller"

// Rates beyond these are no measurement; such a rate is not known. Per m2: ten
// tonnes, ten thousand litres, ten million seeds.
const (
	mostPerM2      = 1e4
	mostSeedsPerM2 = 1e7
)

// carry works out what each tank lays on the ground at tNS, into
// painter.carried, and returns which products lie there.
func (e *Engine) carry(tNS int64, speedMPS float64) (of members) {
	p := &e.painter
	p.carried = p.carried[:0]
	if e.setup.AlwaysOn || !e.anyTankHeard(tNS) {
		for i := range e.force.tanks {
			if t := &e.force.tanks[i]; t.named() {
				a := applied{tank: t.Number, factor: t.factor()}
				unit := t.unit(controller.DimNone)
				if t.stated() {
					e.rateOf(&a, t.rule(&held{}), unit)
				}
				of |= e.load(a, t, unit, &held{})
			}
		}
		return of
	}
	for i, number := range e.meter.numbers {
		t := e.tank(number)
		h := e.meter.tankAt(i, tNS)
		if h == nil || h.has == 0 {
			if !t.stated() {
				continue
			}
			h = &held{}
		}
		unit := t.unit(h.reports(t.Rule.Basis))
		if unit == controller.DimNone {
			continue
		}
		a := applied{tank: number, factor: t.factor()}
		meteredNS := tNS - e.meter.lagNS[i]
		switch {
		case t.stated():
			e.rateOf(&a, t.rule(h), unit)
		case t.Rule.Basis == BasisFlow && h.lastFlow.Dim == controller.DimNone:
			e.notes.noFlow = true
		case t.Rule.Basis == BasisFlow && meteredNS-h.flowNS <= e.tankStaleNS():
			e.rateOf(&a, e.overGround(h.lastFlow, speedMPS), unit)
		case t.Rule.Basis == BasisReported && meteredNS-h.heardNS <= e.tankStaleNS():
			e.rateOf(&a, e.reported(h, speedMPS), unit)
		default:
			e.notes.tankSilent = true
		}
		of |= e.load(a, t, unit, h)
	}
	return of
}

// reports is the dimension in which the tank's amounts are known to the meter.
func (h *held) reports(basis RateBasis) controller.Dim {
	switch {
	case basis == BasisFlow:
		return h.lastFlow.Dim
	case h.has&controller.HasFlow != 0:
		return h.flow.Dim
	case h.rate.Dim == controller.DimNone && basis == BasisTarget:
		return h.target.Dim
	default:
		return h.rate.Dim
	}
}

// anyTankHeard tells whether the controller had spoken of tanks by what is on the
// ground at tNS. One that does leaves a tank unused that it never names; with one
// that does not, every tank set up is taken to run, at a rate that is not known.
func (e *Engine) anyTankHeard(tNS int64) bool {
	s := e.meter.sectionsAt(tNS)
	if s == nil {
		return false
	}
	for i := range s.tanks {
		if s.tanks[i].has != 0 {
			return true
		}
	}
	return false
}

// tankStaleNS is how long a tank's rate holds that is spoken of no more while
// others are. Tanks may take turns, one a line, so it is longer than for the
// controller as a whole.
func (e *Engine) tankStaleNS() int64 { return max(10e9, 5*e.meter.staleNS) }

// tank is the tank as set up; one that never was holds a product without a name. It
// is good until the next call.
func (e *Engine) tank(number int) *Tank {
	for i := range e.force.tanks {
		if e.force.tanks[i].Number == number {
			return &e.force.tanks[i]
		}
	}
	e.blank = Tank{Number: number}
	return &e.blank
}

// unit is the dimension of the tank's amounts: as its target, capacity or entered
// rate says, else as reported, else what its kind of product is counted in.
func (t *Tank) unit(reported controller.Dim) controller.Dim {
	for _, d := range [...]controller.Dim{t.Target.Dim, t.Capacity.Dim, t.Rule.Fixed.Dim, reported} {
		if u := d.Amount(); u != controller.DimNone {
			return u
		}
	}
	switch t.Product.Kind {
	case KindSeed, KindGranular, KindAnhydrous:
		return controller.DimMass
	case KindLiquid, KindSeedTreatment, KindInoculant:
		return controller.DimVolume
	default:
		return controller.DimNone
	}
}

// reported is the tank's rate per area of the sections that are on, as the controller
// reports it; of DimNone when it is not known.
func (e *Engine) reported(h *held, speedMPS float64) controller.Quantity {
	switch {
	case h.has&controller.HasFlow != 0:
		return e.overGround(h.flow, speedMPS)
	case h.has&controller.HasRate != 0:
		return h.rate
	default:
		return controller.Quantity{}
	}
}

// overGround is a flow as a rate by speed over ground times the width that is on.
func (e *Engine) overGround(flow controller.Quantity, speedMPS float64) controller.Quantity {
	width := 0.0
	for _, r := range e.painter.runs {
		for i := r.lo; i < r.hi; i++ {
			width += e.force.implement.SectionsM[i]
		}
	}
	q, _ := flow.OverGround(speedMPS, width)
	return q
}

// rule is the rate that was stated, as a target or as a rate.
func (t *Tank) rule(h *held) controller.Quantity {
	if t.Rule.Basis == BasisFixed {
		return t.Rule.Fixed
	}
	return t.target(h)
}

// target is the target as reported or as set up.
func (t *Tank) target(h *held) controller.Quantity {
	if h.has&controller.HasTarget != 0 {
		return h.target
	}
	return t.Target
}

// rateOf gives a its rate, q times its factor, if q is one of the unit and possible;
// one of DimNone is not known.
func (e *Engine) rateOf(a *applied, q controller.Quantity, unit controller.Dim) {
	if q.Dim == controller.DimNone {
		return
	}
	if q.Dim.Amount() != unit {
		e.notes.wrongUnit = true
		return
	}
	most := mostPerM2
	if unit == controller.DimCount {
		most = mostSeedsPerM2
	}
	if !(q.SI >= 0 && q.SI <= most) {
		e.notes.wildRate = true
		return
	}
	a.meteredPerM2, a.ratePerM2, a.hasRate = q.SI, float64(q.SI*a.factor), true
}

// load books the tank among what is carried, with its target as reported or as
// set up.
func (e *Engine) load(a applied, t *Tank, unit controller.Dim, h *held) members {
	if target := t.target(h); target.Dim.Amount() == unit && unit != controller.DimNone {
		a.targetPerM2, a.hasTarget = target.SI, true
	}
	a.use = e.force.op.use(a.tank, t.Product, unit)
	e.painter.carried = append(e.painter.carried, a)
	if !a.some() {
		return 0
	}
	return 1 << min(a.use, maxProducts-1)
}
