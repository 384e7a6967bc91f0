package sim

import (
	"math"
	"math/rand/v2"
	"slices"
)

// switching is a section going on or off on the ground at a time in seconds
// from the start.
type switching struct {
	groundS float64
	section int
	on      bool
}

// control drives the bar ahead of everything else, decides when each section's
// ground should be switched, and hands on the bar's motion.
type control struct {
	sc      *Scenario
	pl      *Plan
	m       *motion
	tr      trail
	rng     *rand.Rand
	memory  *memory
	edges   []float64 // section borders right of the bar's centre, m, left to right
	want    []bool
	lastS   []float64 // latest switching of each section
	steps   []barState
	queue   []switching // by time
	lagS    float64
	earlyS  float64 // how much earlier than wanted a switching may come
	t       float64
	moveAt  int
	stepAt  int
	window  int
	stopped bool
}

// controlStepM is how far the tractor goes between two looks at the sections;
// the moment of a switching within it is then found by halving.
const controlStepM = 0.1

// standStepS is the same while standing.
const standStepS = 0.25

func newControl(sc *Scenario, pl *Plan, m *motion) *control {
	n := len(sc.Implement.SectionsM)
	c := &control{
		sc: sc, pl: pl, m: m, lagS: sc.sectionLagS(),
		rng:   rand.New(rand.NewPCG(sc.Seed, streamSwitch)),
		edges: sectionEdges(sc.Implement.SectionsM),
		want:  make([]bool, n), lastS: make([]float64, n),
	}
	c.tr = trail{im: sc.Implement}
	_, _, c.tr.phi = c.tr.hitch(&pl.Segments[0], 0)
	// Five standard deviations: scatter is cut there.
	c.earlyS = max(0, -sc.Control.OnLateS, -sc.Control.OffLateS) + 5*sc.Control.ScatterS + 1e-3
	if sc.Control.Mode == ControlCovered {
		c.memory = newMemory(sc.Field.outline())
	}
	for i := range c.lastS {
		c.lastS[i] = math.Inf(-1)
	}
	return c
}

// sectionEdges are the borders of the sections, metres right of the bar's centre.
func sectionEdges(widths []float64) []float64 {
	total := 0.0
	for _, w := range widths {
		total += w
	}
	e := []float64{-total / 2}
	sum := 0.0
	for _, w := range widths {
		sum += w
		e = append(e, sum-total/2)
	}
	return e
}

// next drives one control step. It returns false once the job is over.
func (c *control) next() bool {
	if c.moveAt >= len(c.m.moves) {
		c.t, c.stopped = math.Inf(1), true
		return false
	}
	mv := &c.m.moves[c.moveAt]
	sg := &c.m.segs[mv.seg]
	u0 := mv.s0 - c.m.segS0[mv.seg]
	if mv.v0 == 0 && mv.a == 0 {
		c.stand(mv, sg, u0)
		return true
	}
	length := (mv.v0 + mv.a*mv.forS/2) * mv.forS
	n := int(math.Ceil(length/controlStepM - 1e-9))
	h := length / float64(n)
	c.stride(mv, sg, u0, h*float64(c.stepAt), h*float64(c.stepAt+1))
	if c.stepAt++; c.stepAt >= n {
		c.moveAt, c.stepAt = c.moveAt+1, 0
	}
	return true
}

// stand passes time without movement.
func (c *control) stand(mv *move, sg *Segment, u float64) {
	n := int(math.Ceil(mv.forS / standStepS))
	for i := range 2 {
		t := mv.t0 + mv.forS*float64(c.stepAt+i)/float64(n)
		c.steps = append(c.steps, c.tr.state(sg, u, t, mv.s0, 0))
		c.t = t
	}
	if c.stepAt++; c.stepAt >= n {
		c.moveAt, c.stepAt = c.moveAt+1, 0
	}
}

// stride drives from d0 to d1 metres into the move.
func (c *control) stride(mv *move, sg *Segment, u0, d0, d1 float64) {
	fine := 1
	if !mounted(c.sc.Implement) {
		fine = int(math.Ceil((d1-d0)/maxStepM - 1e-9))
	}
	begin := c.tr
	for i := range fine {
		a := d0 + (d1-d0)*float64(i)/float64(fine)
		b := d0 + (d1-d0)*float64(i+1)/float64(fine)
		c.steps = append(c.steps, c.moving(&c.tr, mv, sg, u0, a))
		c.tr.advance(sg, u0+a, b-a)
		c.steps = append(c.steps, c.moving(&c.tr, mv, sg, u0, b))
	}
	end := c.steps[len(c.steps)-1]
	c.t = end.t
	for c.window < len(c.pl.Windows) && c.pl.Windows[c.window].ToM <= mv.s0+d0 {
		c.window++
	}
	for i := range c.want {
		on := c.wanted(i, end)
		if on == c.want[i] {
			continue
		}
		lo, hi := d0, d1
		at := end.t
		for range 40 {
			mid := (lo + hi) / 2
			tr := begin
			tr.advance(sg, u0+d0, mid-d0)
			b := c.moving(&tr, mv, sg, u0, mid)
			if c.wanted(i, b) == on {
				hi, at = mid, b.t
			} else {
				lo = mid
			}
		}
		c.want[i] = on
		c.order(i, on, at)
	}
	if c.memory != nil {
		for i, on := range c.want {
			if on {
				c.memory.paint(end, c.edges[i], c.edges[i+1])
			}
		}
	}
}

// moving is the bar d metres into the move.
func (c *control) moving(tr *trail, mv *move, sg *Segment, u0, d float64) barState {
	v := math.Sqrt(max(0, mv.v0*mv.v0+2*mv.a*d))
	dt := 0.0
	if d > 0 {
		dt = min(2*d/(mv.v0+v), mv.forS)
	}
	return tr.state(sg, u0+d, mv.t0+dt, mv.s0+d, v)
}

// wanted tells whether section i should be on with the bar there.
func (c *control) wanted(i int, b barState) bool {
	if c.sc.Control.Mode == ControlAlwaysOn {
		return b.s > 1e-9 && b.s < c.pl.LengthM-1e-9
	}
	w := c.window
	for w < len(c.pl.Windows) && c.pl.Windows[w].ToM <= b.s {
		w++
	}
	if w >= len(c.pl.Windows) || b.s < c.pl.Windows[w].FromM {
		return false
	}
	if in := c.pl.Windows[w].Inside; in != nil && !c.inside(in, i, b) {
		return false
	}
	return c.memory == nil || !c.memory.covered(b, c.edges[i], c.edges[i+1])
}

// The ends of a section are looked at this far inside it. A section whose end
// runs along the boundary would otherwise be in or out by rounding; one that
// must be wholly inside is forgiven a little more.
const (
	cornerMarginM = 1e-7
	sideMarginM   = 0.02
)

// inside applies the rule for edges.
func (c *control) inside(in polygon, i int, b barState) bool {
	l, r := c.edges[i], c.edges[i+1]
	middle := in.contains(b.point((l + r) / 2))
	switch c.sc.Control.Edge {
	case EdgeMiddle:
		return middle
	case EdgeFirst:
		m := min(sideMarginM, (r-l)/4)
		return middle && in.contains(b.point(l+m)) && in.contains(b.point(r-m))
	default:
		return middle || in.contains(b.point(l+cornerMarginM)) || in.contains(b.point(r-cornerMarginM))
	}
}

// order switches a section as well as the machine can: too late or too early by
// the stated error, and at a whole microsecond of the meter, which is what a
// report can say.
func (c *control) order(i int, on bool, atS float64) {
	late := c.sc.Control.OffLateS
	if on {
		late = c.sc.Control.OnLateS
	}
	if sd := c.sc.Control.ScatterS; sd > 0 {
		late += sd * min(5, max(-5, c.rng.NormFloat64()))
	}
	meter := math.Round((atS+late-c.lagS)*1e6) / 1e6
	// The errors of two switchings must not exchange them.
	ground := max(meter+c.lagS, c.lastS[i]+1e-6)
	c.lastS[i] = ground
	sw := switching{ground, i, on}
	at, _ := slices.BinarySearchFunc(c.queue, sw, func(a, b switching) int {
		if a.groundS <= b.groundS {
			return -1
		}
		return 1
	})
	c.queue = slices.Insert(c.queue, at, sw)
}
