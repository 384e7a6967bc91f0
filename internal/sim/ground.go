package sim

import (
	"math"
	"slices"
)

// ground works out the truth: what the bar really passed over while sections
// were on, on the continuous path.
type ground struct {
	sc      *Scenario
	ms      *meters
	ops     []orderedOperation
	edges   []float64
	on      []bool
	runs    [][2]float64 // stretches of the bar that are on, m right of its centre
	widthM  float64      // of the runs
	count   int          // sections on
	tick    []int        // next report whose rate takes hold, of each tank
	rate    []float64    // per m2 on the ground
	speed   []float64    // at that report
	applied []float64    // of the whole session
	totals  [][]float64  // applied at each report, oldest first; taken by the machine
	meter   []meterChange
	breaks  []float64 // times at which something else changes, ascending
	truth   *Truth
	lagS    float64 // of the sections
	t       float64
	op      int
}

// meterChange is what the controller's own state does at the meter.
type meterChange struct {
	meterS  float64
	section int // or -1
	tank    int // index, where section is -1
	on      bool
	widthM  float64 // that the tank feeds from then on
}

type orderedOperation struct {
	atS              float64
	field, operation string
}

func newGround(sc *Scenario, ms *meters, ops []orderedOperation, truth *Truth) *ground {
	n := len(sc.Tanks)
	g := &ground{
		sc: sc, ms: ms, ops: ops, truth: truth, lagS: sc.sectionLagS(),
		edges: sectionEdges(sc.Implement.SectionsM),
		on:    make([]bool, len(sc.Implement.SectionsM)),
		tick:  make([]int, n), rate: make([]float64, n), speed: make([]float64, n),
		applied: make([]float64, n), totals: make([][]float64, n),
	}
	for _, o := range ops[1:] {
		g.breaks = append(g.breaks, o.atS)
	}
	for _, p := range sc.Machine.Plugs {
		g.breaks = append(g.breaks, p.FromS, p.FromS+p.ForS)
	}
	slices.Sort(g.breaks)
	return g
}

// take integrates one step of the bar, applying the switchings that fall in it.
func (g *ground) take(a, b barState, queue *[]switching) {
	t := a.t
	for {
		next := b.t
		if q := *queue; len(q) > 0 {
			next = min(next, q[0].groundS)
		}
		for k := range g.tick {
			next = min(next, g.tickTime(k))
		}
		if len(g.breaks) > 0 {
			next = min(next, g.breaks[0])
		}
		if next > t {
			g.sweep(a, b, t, next)
			t = next
		}
		if !g.change(t, queue) {
			break
		}
	}
	g.t = b.t
}

// tickTime is when the next reported rate of tank k reaches the ground.
func (g *ground) tickTime(k int) float64 {
	return float64(g.tick[k])/g.sc.Machine.HZ + g.sc.Tanks[k].LagS
}

// change applies one thing that happens at or before t. It returns false when
// there is none left.
func (g *ground) change(t float64, queue *[]switching) bool {
	for k := range g.tick {
		if g.tickTime(k) <= t {
			g.rate[k], g.speed[k] = g.ms.at(k, g.tick[k])
			g.totals[k] = append(g.totals[k], g.applied[k])
			g.tick[k]++
			return true
		}
	}
	if len(g.breaks) > 0 && g.breaks[0] <= t {
		g.breaks = g.breaks[1:]
		for g.op+1 < len(g.ops) && g.ops[g.op+1].atS <= t {
			g.op++
		}
		return true
	}
	if q := *queue; len(q) > 0 && q[0].groundS <= t {
		g.throw(q[0])
		*queue = q[1:]
		return true
	}
	return false
}

// throw switches a section on the ground and notes what that means at the meters.
func (g *ground) throw(sw switching) {
	if g.on[sw.section] == sw.on {
		return
	}
	g.on[sw.section] = sw.on
	before := g.count
	g.count, g.widthM, g.runs = 0, 0, g.runs[:0]
	for i, on := range g.on {
		if !on {
			continue
		}
		g.count++
		g.widthM += g.edges[i+1] - g.edges[i]
		if n := len(g.runs); n > 0 && g.runs[n-1][1] == g.edges[i] {
			g.runs[n-1][1] = g.edges[i+1]
		} else {
			g.runs = append(g.runs, [2]float64{g.edges[i], g.edges[i+1]})
		}
	}
	g.note(meterChange{meterS: sw.groundS - g.lagS, section: sw.section, on: sw.on})
	for k, tank := range g.sc.Tanks {
		if tank.PlainFlow || (before == 0) != (g.count == 0) {
			g.note(meterChange{meterS: sw.groundS - tank.LagS, section: -1, tank: k, on: g.count > 0, widthM: g.widthM})
		}
	}
	g.truth.Switches = append(g.truth.Switches, Switch{g.truth.stamp(sw.groundS), sw.section, sw.on})
}

// note keeps the meter's changes in order of time.
func (g *ground) note(c meterChange) {
	i := len(g.meter)
	for i > 0 && g.meter[i-1].meterS > c.meterS {
		i--
	}
	g.meter = slices.Insert(g.meter, i, c)
}

// sweep adds what happens between t0 and t1, both within the step from a to b.
// Speeds run straight between the step's ends.
func (g *ground) sweep(a, b barState, t0, t1 float64) {
	if g.count == 0 || b.t <= a.t {
		return
	}
	dt := t1 - t0
	k0, k1 := (t0-a.t)/(b.t-a.t), (t1-a.t)/(b.t-a.t)
	area := 0.0
	for _, r := range g.runs {
		area += (sweptRate(a, b, k0, r[0], r[1]) + sweptRate(a, b, k1, r[0], r[1])) / 2 * dt
	}
	ahead := (a.v + (b.v-a.v)*(k0+k1)/2) * dt
	tr, op := g.truth, &g.truth.Operations[g.op]
	tr.GrossM2 += area
	op.GrossM2 += area
	tr.WorkingS += dt
	tr.WorkingDistanceM += ahead
	for k := range g.applied {
		amount := g.rate[k] * area
		if g.sc.Tanks[k].PlainFlow {
			amount = unitOf(g.sc.Tanks[k].Target.Dim).flowPerS(g.rate[k], g.widthM, g.speed[k]) * dt
		}
		g.applied[k] += amount
		tr.Tanks[k].Applied += amount
		tr.Tanks[k].AreaM2 += area
		op.Tanks[k].Applied += amount
		op.Tanks[k].AreaM2 += area
	}
	for i, p := range g.sc.Machine.Plugs {
		if g.on[p.Section] && t0 >= p.FromS && t1 <= p.FromS+p.ForS {
			l, r := g.edges[p.Section], g.edges[p.Section+1]
			tr.Plugged[i].BareM2 += (sweptRate(a, b, k0, l, r) + sweptRate(a, b, k1, l, r)) / 2 * dt
		}
	}
}

// sweptRate is the ground that the bar from y=l to y=r sweeps a second, at the
// share k of the way from a to b: the integral of |forward speed| across the
// bar, so that ground on the inside of a tight turn, which the bar sweeps
// backwards, counts too.
func sweptRate(a, b barState, k, l, r float64) float64 {
	lerp := func(y float64) float64 {
		v0, v1 := a.forwardMPS(y), b.forwardMPS(y)
		return v0 + (v1-v0)*k
	}
	vl, vr := lerp(l), lerp(r)
	if vl*vr >= 0 {
		return math.Abs(vl+vr) / 2 * (r - l)
	}
	// Two triangles that meet where the speed is 0.
	return (vl*vl + vr*vr) / (2 * (math.Abs(vl) + math.Abs(vr))) * (r - l)
}
