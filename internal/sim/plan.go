package sim

import (
	"fmt"
	"math"
	"math/rand/v2"

	"drawbar/coverage"
)

// Plan is where to drive and where work may be done.
type Plan struct {
	Segments []Segment
	Windows  []Window
	LengthM  float64
	passEnd  []float64 // path length at which pass i and its turn are over, m
}

// Window is a stretch of the antenna's path on which sections may be on. Inside
// is the ground to treat, nil for no limit.
type Window struct {
	FromM, ToM float64
	Inside     polygon
}

// NewPlan plans the field: headland passes along the boundary, then passes back
// and forth over what they leave. The bar's centre follows the passes; the
// antenna's path is shifted by how far it sits from that centre.
func NewPlan(sc *Scenario) (*Plan, error) {
	if sc.fixed != nil {
		return sc.fixed, nil
	}
	pl := &planner{sc: sc, d: sc.Drive, rng: rand.New(rand.NewPCG(sc.Seed, streamSpeed))}
	pl.width = sc.Implement.WidthM()
	pl.behind = sc.Implement.AntennaToHitchM + sc.Implement.HitchToBarM
	pl.aside = sc.Implement.AntennaRightM - sc.Implement.BarRightM
	if pl.d.SpacingM == 0 {
		pl.d.SpacingM = pl.width
	}
	if !(pl.d.SpacingM > 0) {
		return nil, fmt.Errorf("pass spacing %g m: give more than 0", pl.d.SpacingM)
	}
	field := sc.Field.outline()
	for range max(1, 1+sc.Drive.Repeats) {
		if err := pl.headland(field); err != nil {
			return nil, fmt.Errorf("plan %s: %w", sc.Field.Name, err)
		}
		inner, err := field.inset(float64(pl.d.HeadlandPasses) * pl.d.SpacingM)
		if err != nil {
			return nil, fmt.Errorf("plan %s: %w", sc.Field.Name, err)
		}
		pl.passes(inner)
	}
	if len(pl.plan.Windows) == 0 {
		return nil, fmt.Errorf("plan %s: no pass fits", sc.Field.Name)
	}
	pl.plan.Segments = pl.b.segs
	pl.plan.LengthM = pl.b.lengthM
	return &pl.plan, nil
}

// planner is the state of planning one field.
type planner struct {
	sc     *Scenario
	rng    *rand.Rand
	d      Drive
	b      builder
	plan   Plan
	levels []float64 // expected in each tank, in its unit
	width  float64   // of the bar, m
	behind float64   // bar behind the antenna, m
	aside  float64   // antenna right of the bar's centre, m
	pass   int
}

// headland drives the rings, outermost first, counter-clockwise.
func (pl *planner) headland(field polygon) error {
	for k := range pl.d.HeadlandPasses {
		// The antenna's ring lies outside the bar's where it sits on the right.
		at := pl.width/2 + float64(k)*pl.d.SpacingM - pl.aside
		ring, err := field.inset(at)
		if err != nil {
			return err
		}
		edge := longestEdge(ring)
		from, to := ring[edge], ring[(edge+1)%len(ring)]
		start := pose{from.add(to).mul(0.5), math.Atan2(to.Y-from.Y, to.X-from.X)}
		pl.b.goTo(start.ahead(-pl.d.RunInM), pl.d.RadiusM, pl.d.TurnMPS)
		pl.b.add(pl.d.RunInM, 0, pl.d.WorkMPS, pl.pass)
		begin := pl.b.lengthM
		if err := pl.b.ring(ring, edge, pl.d.RadiusM, pl.d.WorkMPS, pl.pass); err != nil {
			return err
		}
		end := pl.b.lengthM
		pl.b.add(pl.behind+pl.d.RunOutM, 0, pl.d.WorkMPS, pl.pass)
		pl.plan.Windows = append(pl.plan.Windows, Window{begin + pl.behind, end + pl.behind, field})
		pl.endPass((end - begin) * pl.width)
	}
	return nil
}

// passes drives back and forth over the inner ground, starting on the left of
// the first pass's right-hand edge.
func (pl *planner) passes(inner polygon) {
	theta := (90 - pl.d.HeadingDeg) * math.Pi / 180
	dir := Point{math.Cos(theta), math.Sin(theta)}
	left := Point{-dir.Y, dir.X}
	lo, hi := inner.span(left)
	done := 0
	for i := 0; ; i++ {
		centre := lo + pl.width/2 + float64(i)*pl.d.SpacingM
		// A sliver narrower than a centimetre is rounding, not ground.
		if i > 0 && centre-pl.d.SpacingM+pl.width/2 >= hi-0.01 {
			return
		}
		if pl.d.Passes > 0 && done >= pl.d.Passes {
			return
		}
		a, b, ok := inner.strip(dir, centre-pl.width/2, centre+pl.width/2)
		if !ok {
			continue
		}
		pl.onePass(dir, left, centre, a, b, done%2 == 1, inner)
		done++
	}
}

// onePass drives one pass whose bar covers from a to b along dir, backwards
// against dir if asked, and turns in from wherever the tractor is.
func (pl *planner) onePass(dir, left Point, centre, a, b float64, against bool, inner polygon) {
	right := -1.0
	if against {
		dir, right, a, b = dir.mul(-1), 1, -b, -a
	}
	// The antenna's line: the bar's line shifted to the right of the travel.
	line := left.mul(centre + right*pl.aside)
	start := pose{line.add(dir.mul(a - pl.d.RunInM)), math.Atan2(dir.Y, dir.X)}
	if pl.d.Turn != TurnFishtail || !pl.b.started || !pl.b.fishtail(start, pl.d.RadiusM, pl.d.TurnMPS) {
		pl.b.goTo(start, pl.d.RadiusM, pl.d.TurnMPS)
	}
	from := pl.b.lengthM
	length := b - a + pl.d.RunInM + pl.d.RunOutM + pl.behind
	for left := length; left > 0; {
		stretch := left
		if pl.d.Wobble > 0 {
			stretch = min(left, 40)
		}
		pl.b.add(stretch, 0, pl.d.WorkMPS*(1+pl.d.Wobble*(2*pl.rng.Float64()-1)), pl.pass)
		left -= stretch
	}
	pl.plan.Windows = append(pl.plan.Windows, Window{from, pl.b.lengthM, inner})
	pl.endPass((b - a) * pl.width)
}

// endPass notes the end of a pass and stops to fill up where the next one of
// the same size might run dry.
func (pl *planner) endPass(areaM2 float64) {
	pl.plan.passEnd = append(pl.plan.passEnd, pl.b.lengthM)
	pl.pass++
	if pl.d.RefillS <= 0 {
		return
	}
	if pl.levels == nil {
		for _, t := range pl.sc.Tanks {
			pl.levels = append(pl.levels, t.Capacity.SI)
		}
	}
	fill := false
	for i, t := range pl.sc.Tanks {
		use := areaM2 * t.Target.SI
		pl.levels[i] -= use
		fill = fill || t.Capacity.SI > 0 && pl.levels[i] < 1.3*use
	}
	if !fill {
		return
	}
	pl.b.segs[len(pl.b.segs)-1].StopS = pl.d.RefillS
	for i, t := range pl.sc.Tanks {
		pl.levels[i] = t.Capacity.SI
	}
}

func longestEdge(pg polygon) int {
	best, at := -1.0, 0
	for i, p := range pg {
		if l := pg[(i+1)%len(pg)].sub(p).len(); l > best {
			best, at = l, i
		}
	}
	return at
}

// mounted tells whether the implement keeps the tractor's heading.
func mounted(im coverage.Implement) bool { return im.Mount == coverage.MountRigid }
