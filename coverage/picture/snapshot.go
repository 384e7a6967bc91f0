package picture

import (
	"slices"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/plane"
)

// Snapshot is Swaths at one moment. It never changes and may be read by any
// number of goroutines. The zero value is empty.
type Snapshot struct {
	origin plane.Coord
	strips log[strip]
	bars   log[bar]
	tanks  log[laid]
	boxes  []box // of full blocks
	rest   box   // of the last one
	uses   []use
	open   []openShot
}

// openShot is an open strip as it was.
type openShot struct {
	strip
	bars  []bar
	tanks []laid
}

// Snapshot is how the swaths stand. It costs a copy of the strips that are open.
func (s *Swaths) Snapshot() Snapshot {
	shot := Snapshot{origin: s.origin, strips: s.strips, bars: s.bars, tanks: s.tanks, uses: s.uses[:len(s.uses):len(s.uses)]}
	if n := len(s.boxes); n > 0 {
		shot.boxes, shot.rest = s.boxes[:n-1:n-1], s.boxes[n-1]
	}
	for _, o := range s.open {
		v := openShot{strip: strip{startNS: o.startNS, endNS: o.endNS, from: uint16(o.from), to: uint16(o.to)}}
		v.bars = o.shown()
		if len(v.bars) < 2 {
			continue
		}
		v.box = boxOf(v.bars)
		for i := range o.tanks {
			v.tanks = append(v.tanks, o.tanks[i].laid())
		}
		shot.open = append(shot.open, v)
	}
	return shot
}

// shown is the strip's bars, to the last one where an outline holds on to it.
func (o *openStrip) shown() []bar {
	bars := o.thin.bars(make([]bar, 0, len(o.thin.kept)+2))
	left, right := o.fed.to(o.last)
	if o.last == o.fed || o.directed && !o.follows(left, right) {
		return bars
	}
	return append(bars, o.last)
}

// Empty tells whether there is nothing to show.
func (s *Snapshot) Empty() bool { return s.strips.n == 0 && len(s.open) == 0 }

// Window shows the swaths whose boxes meet the box from lo to hi, in no order
// that means anything. Of bars those are left out that the others tell to within
// coarse steps of 0.1 mm. Strips of the same sections that follow one another are
// drawn as one, of mean rates, until that is least steps long; with least 0 none
// are. It ends where draw returns false; shown is about which share of the strips in
// the box it came to, 1 where it came to all. What it costs is that of the strips
// in the box, and a little for each block of strips beside it.
func (s *Snapshot) Window(lo, hi plane.Coord, coarse, least int64, draw func(*Swath) bool) (shown float64) {
	w, ok := s.window(lo, hi)
	if !ok {
		return 1
	}
	g := gatherer{shot: s, coarse: coarse, least: float64(least), draw: draw}
	all, come := 0, 0
	for i := range s.strips.blocks {
		around := s.rest
		if i < len(s.boxes) {
			around = s.boxes[i]
		}
		if !around.meets(w) {
			continue
		}
		first := i * blockSize
		strips := s.strips.get(first, min(blockSize, s.strips.n-first))
		for k := range strips {
			v := &strips[k]
			if !v.box.meets(w) {
				continue
			}
			if all++; !g.ended {
				come++
				g.add(v, s.bars.get(int(v.bars), int(v.barCount)), s.tanks.get(int(v.tanks), int(v.tankCount)))
			}
		}
	}
	for i := range s.open {
		o := &s.open[i]
		if !o.box.meets(w) {
			continue
		}
		if all++; !g.ended {
			come++
			g.add(&o.strip, o.bars, o.tanks)
		}
	}
	g.flush()
	if !g.ended {
		return 1
	}
	return float64(come) / float64(all)
}

// window is the box as far as bars reach; false where it lies beyond.
func (s *Snapshot) window(lo, hi plane.Coord) (box, bool) {
	lo, hi = lo.Sub(s.origin), hi.Sub(s.origin)
	if lo.X > reach || lo.Y > reach || hi.X < -reach || hi.Y < -reach || lo.X > hi.X || lo.Y > hi.Y {
		return box{}, false
	}
	within := func(v int64) int32 { return int32(min(max(v, -reach), reach)) }
	return box{within(lo.X), within(lo.Y), within(hi.X), within(hi.Y)}, true
}

// gatherer puts strips that follow one another together.
type gatherer struct {
	shot   *Snapshot
	coarse int64
	least  float64
	draw   func(*Swath) bool
	ended  bool // it said so
	groups []*group
	single group
	swath  Swath
	thin   thinner
}

// group is strips drawn as one.
type group struct {
	from, to       uint16
	startNS, endNS int64
	bars           []bar
	way            float64
	across         vector
	tanks          []groupTank
}

type groupTank struct {
	use              uint16
	has              uint8
	rate, target     float64 // sums by area
	rateArea, ofArea float64
}

func (g *gatherer) add(v *strip, bars []bar, tanks []laid) {
	if g.least <= 0 {
		g.single.begin(v, bars, tanks)
		g.show(&g.single)
		return
	}
	at := slices.IndexFunc(g.groups, func(o *group) bool { return o.from == v.from && o.to == v.to })
	if at < 0 {
		g.groups = append(g.groups, new(group))
		at = len(g.groups) - 1
	} else if o := g.groups[at]; o.way >= g.least || !o.takes(v, bars, tanks) {
		g.show(o)
	} else {
		o.grow(v, bars, tanks)
		return
	}
	g.groups[at].begin(v, bars, tanks)
}

func (g *gatherer) flush() {
	for _, o := range g.groups {
		g.show(o)
	}
	g.groups = nil
}

func (o *group) takes(v *strip, bars []bar, tanks []laid) bool {
	if o.endNS != v.startNS || o.bars[len(o.bars)-1] != bars[0] || !within(o.across, bars[len(bars)-1].across()) || len(o.tanks) != len(tanks) {
		return false
	}
	for i, t := range tanks {
		if o.tanks[i].use != t.use {
			return false
		}
	}
	// Backwards over what was laid it cannot be one outline.
	n := len(o.bars)
	l, r := o.bars[n-2].to(o.bars[n-1])
	nextL, nextR := bars[0].to(bars[1])
	return dot(vector{l.x + r.x, l.y + r.y}, vector{nextL.x + nextR.x, nextL.y + nextR.y}) > 0
}

func (o *group) begin(v *strip, bars []bar, tanks []laid) {
	*o = group{from: v.from, to: v.to, startNS: v.startNS, bars: append(o.bars[:0], bars[0]), across: bars[0].across(), tanks: o.tanks[:0]}
	for _, t := range tanks {
		o.tanks = append(o.tanks, groupTank{use: t.use})
	}
	o.grow(v, bars, tanks)
}

func (o *group) grow(v *strip, bars []bar, tanks []laid) {
	o.endNS = v.endNS
	area := 1.0
	for i, b := range bars[1:] {
		l, r := bars[i].to(b)
		o.bars = append(o.bars, b)
		o.way += way(l, r)
		area += bars[i].area(b)
	}
	for i, t := range tanks {
		to := &o.tanks[i]
		to.has |= t.has
		if t.has&hasRate != 0 {
			to.rate += float64(float64(t.rate) * area)
			to.rateArea += area
		}
		if t.has&hasTarget != 0 {
			to.target += float64(float64(t.target) * area)
			to.ofArea += area
		}
	}
}

func (g *gatherer) show(o *group) {
	if g.ended {
		return
	}
	w := &g.swath
	w.From, w.To = int(o.from), int(o.to)
	w.Start, w.End = time.Unix(0, o.startNS).UTC(), time.Unix(0, o.endNS).UTC()
	bars := o.bars
	if g.coarse > tolerance && len(bars) > 2 {
		g.thin.begin(bars[0])
		for _, b := range bars[1:] {
			g.thin.add(b, g.coarse)
		}
		bars = g.thin.bars(bars[:0])
	}
	w.Left, w.Right, w.Tanks = w.Left[:0], w.Right[:0], w.Tanks[:0]
	at := g.shot.origin
	for _, b := range bars {
		w.Left = append(w.Left, plane.Coord{X: at.X + int64(b.lx), Y: at.Y + int64(b.ly)})
		w.Right = append(w.Right, plane.Coord{X: at.X + int64(b.rx), Y: at.Y + int64(b.ry)})
	}
	for _, t := range o.tanks {
		u := g.shot.uses[t.use]
		v := coverage.SwathTank{Tank: u.tank, Product: u.product, Unit: u.unit}
		if v.HasRate = t.rateArea > 0; v.HasRate {
			v.RatePerM2 = t.rate / t.rateArea
		}
		if v.HasTarget = t.ofArea > 0; v.HasTarget {
			v.TargetPerM2 = t.target / t.ofArea
		}
		w.Tanks = append(w.Tanks, v)
	}
	g.ended = !g.draw(w)
}
