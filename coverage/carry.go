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
		for _, t := range e.force.tanks {
			of |= e.load(applied{tank: t.Number}, t, t.unit(controller.DimNone), held{})
		}
		return of
	}
	for i, number := range e.meter.numbers {
		h := e.meter.tankAt(i, tNS)
		if h == nil || h.has == 0 {
			continue
		}
		t := e.tank(number)
		reported := h.rate.Dim
		if h.has&controller.HasFlow != 0 {
			reported = h.flow.Dim
		}
		unit := t.unit(reported)
		if unit == controller.DimNone {
			continue
		}
		a := applied{tank: number}
		if tNS-e.meter.lagNS[i]-h.heardNS <= e.tankStaleNS() {
			a.ratePerM2, a.hasRate = e.rate(h, unit, speedMPS)
		} else {
			e.notes.tankSilent = true
		}
		of |= e.load(a, t, unit, *h)
	}
	return of
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

// tank is the tank as set up; one that never was holds a product without a name.
func (e *Engine) tank(number int) Tank {
	for _, t := range e.force.tanks {
		if t.Number == number {
			return t
		}
	}
	return Tank{Number: number}
}

// unit is the dimension of the tank's amounts: as its target or capacity says,
// else as reported, else what its kind of product is counted in.
func (t Tank) unit(reported controller.Dim) controller.Dim {
	for _, d := range []controller.Dim{t.Target.Dim, t.Capacity.Dim, reported} {
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

// rate is the tank's rate per m2 of the sections that are on. A flow becomes a
// rate by speed over ground times the width that is on.
func (e *Engine) rate(h *held, unit controller.Dim, speedMPS float64) (float64, bool) {
	q := h.rate
	if h.has&controller.HasFlow != 0 {
		width := 0.0
		for _, r := range e.painter.runs {
			for i := r.lo; i < r.hi; i++ {
				width += e.force.implement.SectionsM[i]
			}
		}
		var ok bool
		if q, ok = h.flow.OverGround(speedMPS, width); !ok {
			return 0, false
		}
	} else if h.has&controller.HasRate == 0 {
		return 0, false
	}
	if q.Dim.Amount() != unit {
		e.notes.wrongUnit = true
		return 0, false
	}
	most := mostPerM2
	if unit == controller.DimCount {
		most = mostSeedsPerM2
	}
	if !(q.SI >= 0 && q.SI <= most) {
		e.notes.wildRate = true
		return 0, false
	}
	return q.SI, true
}

// load books the tank among what is carried, with its target as reported or as
// set up.
func (e *Engine) load(a applied, t Tank, unit controller.Dim, h held) members {
	target := t.Target
	if h.has&controller.HasTarget != 0 {
		target = h.target
	}
	if target.Dim.Amount() == unit && unit != controller.DimNone {
		a.targetPerM2, a.hasTarget = target.SI, true
	}
	a.use = e.force.op.use(a.tank, t.Product, unit)
	e.painter.carried = append(e.painter.carried, a)
	if !a.some() {
		return 0
	}
	return 1 << min(a.use, maxProducts-1)
}
