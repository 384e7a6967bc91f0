package coverage

import (
	"slices"
	"time"

	"drawbar/controller"
	"drawbar/coverage/plane"
)

// SectionState is what is known of a section.
type SectionState uint8

// The states of a section.
const (
	SectionUnknown SectionState = iota
	SectionOff
	SectionOn
)

// Snapshot is the state of the work at one moment, for those who show it. It is
// a copy and belongs to whoever asked for it.
type Snapshot struct {
	Time         time.Time // receiver time of the fix up to which ground is painted
	LatDeg       float64   // of the antenna, WGS 84; these and the next with Placed
	LonDeg       float64
	HeadingDeg   float64        // true, of the tractor, clockwise from north in [0, 360)
	ImplementDeg float64        // the same for the implement
	Bar          [][2]float64   // degrees longitude and latitude of the section ends, left to right
	SectionsM    []float64      // widths of the sections, left to right
	Sections     []SectionState // on the ground, left to right; empty without an implement
	Metered      []SectionState // the same as the meter said last, not delayed to the ground
	SpeedMPS     float64        // over ground at the latest fix, m/s; with HasSpeed
	Tanks        []TankNow      // ascending by number
	Operation    *OperationNow  // nil before there is one
	Totals       Totals
	Marks        int
	InForce      InForce
	Placed       bool
	HasSpeed     bool
}

// TankNow is what is known of a tank: as the meter said last, not delayed to the
// ground. Amounts are kg, litres or seeds as Unit says, rates per m2.
type TankNow struct {
	Number      int
	Product     string
	Unit        string // empty: not known
	RatePerM2   float64
	TargetPerM2 float64
	LevelAmount float64 // kg, litres or seeds, as LevelFrom says
	FullAmount  float64 // capacity: kg, litres or seeds
	UsedAmount  float64 // laid since the session's start, or since the last refill or stated level
	LevelFrom   LevelFrom
	Factor      float64 // that RatePerM2 has in it; 0 is 1
	HasRate     bool
	HasTarget   bool
	HasLevel    bool
	HasFull     bool
	HasUsed     bool
}

// LevelFrom says how a tank's level is known.
type LevelFrom uint8

// The sources of a level.
const (
	LevelUnknown        LevelFrom = iota
	LevelFromController           // as it reports
	LevelFromRefills              // what was filled in or stated, less what was laid since
)

// String is unknown, controller or refills.
func (l LevelFrom) String() string {
	switch l {
	case LevelFromController:
		return "controller"
	case LevelFromRefills:
		return "refills"
	default:
		return "unknown"
	}
}

// OperationNow is the operation in hand.
type OperationNow struct {
	Number      int // as Operation.Number; the next one where no ground was laid yet
	Field, Name string
	OverlapBy   OverlapBy
	GrossM2     float64
	CoveredM2   float64
	OverlapM2   float64
	SkipM2      float64 // provisional and open ones; this and the next two with HasSkip
	OpenSkips   int     // how many are open
	Skips       []Skip  // the five largest that are not closed, largest first; shared, must not be changed
	FieldM2     float64 // inside the boundary; this and the next two with HasField
	RemainingM2 float64 // uncovered and no skip
	OutsideM2   float64 // covered outside the boundary
	Products    []ProductNow
	Boundary    Boundary // shared, must not be changed
	HasSkip     bool
	HasField    bool
	HasBoundary bool
}

// ProductNow is what the operation in hand used of a product.
type ProductNow struct {
	Tank          int
	Product, Unit string
	AppliedAmount float64 // kg, litres or seeds
	AreaM2        float64
	MeanPerM2     float64 // rate over the ground; with HasMean
	MeanTarget    float64 // target over the ground, per m2; with HasMeanTarget
	HasApplied    bool
	HasMean       bool
	HasMeanTarget bool
}

// Snapshot copies the state as it stands.
func (e *Engine) Snapshot() Snapshot {
	s := Snapshot{Totals: e.totals, Marks: len(e.marks), SpeedMPS: e.speedMPS, HasSpeed: e.hasSpeed}
	if e.placed {
		e.snapPose(&s)
	}
	e.snapSections(&s)
	e.snapTanks(&s)
	s.InForce = e.inForce()
	if o := e.force.op; o != nil {
		s.Operation = o.now(e.nowNS)
		if s.Operation.Number = o.Number; !o.worked {
			s.Operation.Number = e.worked + 1
		}
	}
	return s
}

func (e *Engine) snapPose(s *Snapshot) {
	turn := e.plane.Convergence(e.at.latDeg, e.at.lonDeg)
	s.Placed, s.Time = true, utc(e.at.tNS)
	s.LatDeg, s.LonDeg = e.at.latDeg, e.at.lonDeg
	s.HeadingDeg, s.ImplementDeg = degrees(e.at.headingRad+turn), degrees(e.at.implementRad+turn)
	for _, c := range e.at.bar {
		lat, lon := e.plane.InverseCoord(c)
		s.Bar = append(s.Bar, [2]float64{lon, lat})
	}
}

// degrees is an angle in [0, 360).
func degrees(rad float64) float64 {
	d := float64(plane.WrapPi(rad) * plane.RadToDeg)
	if d < 0 {
		d += 360
	}
	return d
}

// snapSections tells what is on the ground and what the meter said last. It
// reads alone: a note left here would be in a run that is watched and not in its
// replay.
func (e *Engine) snapSections(s *Snapshot) {
	if e.force.implement == nil {
		return
	}
	n := len(e.force.implement.SectionsM)
	s.SectionsM = slices.Clone(e.force.implement.SectionsM)
	if e.setup.AlwaysOn {
		always := &metered{on: true, all: true}
		s.Sections, s.Metered = always.states(n), always.states(n)
		return
	}
	var ground, last *metered
	if e.placed {
		ground = e.meter.sectionsAt(e.at.tNS)
	}
	if e.meter.n > 0 {
		last = e.meter.at(e.meter.last())
	}
	s.Sections, s.Metered = ground.states(n), last.states(n)
}

// states are those of n sections; unknown where m is nil.
func (m *metered) states(n int) []SectionState {
	out := make([]SectionState, n)
	if m == nil {
		return out
	}
	for i := range out {
		out[i] = SectionOff
		if m.on && (m.all || m.sections.On(i)) {
			out[i] = SectionOn
		}
	}
	return out
}

func (e *Engine) snapTanks(s *Snapshot) {
	var last *metered
	if e.meter.n > 0 {
		last = e.meter.at(e.meter.last())
	}
	for i, number := range e.meter.numbers {
		t := e.tank(number)
		var h held
		if last != nil {
			h = last.tanks[i]
		}
		s.Tanks = append(s.Tanks, e.tankNow(t, &h, last))
	}
}

// tankNow is what is known of the tank, h being what its meter said last and last the
// meter's latest state, nil before there is one.
func (e *Engine) tankNow(t *Tank, h *held, last *metered) TankNow {
	unit := t.unit(h.rate.Dim)
	n := TankNow{Number: t.Number, Product: t.Product.Name, Unit: unit.AmountUnit()}
	is := func(q controller.Quantity) bool { return unit != controller.DimNone && q.Dim.Amount() == unit }
	if rate := e.rateNow(t, h, last); is(rate) {
		n.RatePerM2, n.Factor, n.HasRate = float64(rate.SI*t.factor()), t.Factor, true
	}
	if target := t.target(h); is(target) {
		n.TargetPerM2, n.HasTarget = target.SI, true
	} else if is(t.Target) {
		n.TargetPerM2, n.HasTarget = t.Target.SI, true
	}
	if is(t.Capacity) {
		n.FullAmount, n.HasFull = t.Capacity.SI, true
	}
	if unit == controller.DimNone {
		return n
	}
	if used := e.used(t.Number, unit); used.known() && e.lays(t.Number) {
		n.UsedAmount, n.HasUsed = used.applied, true
	}
	if h.has&controller.HasLevel != 0 && is(h.level) {
		n.LevelAmount, n.HasLevel, n.LevelFrom = h.level.SI, true, LevelFromController
	} else if level, ok := e.level(t.Number, unit); ok {
		n.LevelAmount, n.HasLevel, n.LevelFrom = level, true, LevelFromRefills
	}
	return n
}

// DrainPerM2 is the rate by which the level falls: a level of the controller's falls by
// what the controller metered, before a factor that was laid over it.
func (t *TankNow) DrainPerM2() float64 {
	if t.LevelFrom == LevelFromController && t.Factor > 0 {
		return t.RatePerM2 / t.Factor
	}
	return t.RatePerM2
}

// rateNow is the rate by the tank's rate basis; of DimNone when it is not known.
func (e *Engine) rateNow(t *Tank, h *held, last *metered) controller.Quantity {
	on := e.setup.AlwaysOn || last != nil && last.on
	switch {
	case t.stated() && !on:
		q := t.rule(h)
		q.SI = 0
		return q
	case t.stated():
		return t.rule(h)
	case t.Rule.Basis == BasisFlow:
		q, _ := h.lastFlow.OverGround(e.speedMPS, e.widthOn(last))
		return q
	case h.has&controller.HasRate != 0:
		return h.rate
	default:
		return controller.Quantity{}
	}
}

// widthOn is the width of the sections that the meter said last are on.
func (e *Engine) widthOn(last *metered) (width float64) {
	if e.force.implement == nil {
		return 0
	}
	for i, s := range last.states(len(e.force.implement.SectionsM)) {
		if s == SectionOn {
			width += e.force.implement.SectionsM[i]
		}
	}
	return width
}

func (o *Operation) now(heardNS int64) *OperationNow {
	n := &OperationNow{Field: o.Field, Name: o.Name, GrossM2: o.Gross.M2(), CoveredM2: o.Covered().M2(), OverlapM2: o.Overlap().M2(), OverlapBy: o.OverlapBy(), Boundary: o.Boundary, HasBoundary: len(o.Boundary) > 0}
	if o.skips.show(o, heardNS) {
		k := o.skips.ground
		n.SkipM2, n.HasSkip = k.Area().M2(), true
		n.OpenSkips, n.Skips = o.skips.shown.open, o.skips.shown.largest
		if len(o.Boundary) > 0 {
			n.RemainingM2, n.HasField = max(0, (k.Uncovered()-k.Area()).M2()), true
			n.FieldM2 = k.Field().M2()
			n.OutsideM2 = max(0, n.CoveredM2-(k.Field()-k.Uncovered()).M2())
		}
	}
	for _, u := range o.Products {
		p := ProductNow{Tank: u.Tank, Product: u.Product.Name, Unit: u.Unit.AmountUnit(), AreaM2: u.Gross.M2()}
		p.AppliedAmount, p.HasApplied = u.Applied()
		p.MeanPerM2, p.HasMean = u.MeanRatePerM2()
		p.MeanTarget, p.HasMeanTarget = u.MeanTargetPerM2()
		n.Products = append(n.Products, p)
	}
	return n
}
