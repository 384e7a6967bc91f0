package picture

import (
	"math"
	"slices"
	"unsafe"

	"drawbar/coverage"
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

const (
	tolerance   = plane.UnitsPerM / 20 // of bars left out, 5 cm
	classStep   = 0.02                 // of rate by target
	targetStep  = 0.01                 // a target that changes by more ends a strip
	freeSteps   = 2 * plane.UnitsPerM  // way in which a rate ends no strip
	maxSpacing  = plane.UnitsPerM      // of bars that are looked at; a twelfth of the bar if that is less
	maxBars     = 256                  // of a strip
	maxUses     = math.MaxUint16       // beyond, what a tank holds is not told
	maxSections = math.MaxUint16
	maxTanks    = math.MaxUint8
)

// Swaths are the strips of one operation. The zero value is ready; it belongs to
// one goroutine.
type Swaths struct {
	origin  plane.Coord
	started bool

	strips log[strip]
	bars   log[bar]
	tanks  log[laid]
	boxes  []box // around each block of strips; of the last one only what is in it so far
	uses   []use
	open   []*openStrip
	spare  []*openStrip

	changed Boxes // strips written since, see TakeChanged
}

// openStrip is a strip that may go on.
type openStrip struct {
	from, to       int
	startNS, endNS int64
	across, ahead  vector // at its first bar; ahead with directed
	directed       bool
	thin           thinner
	fed, last      bar // given to thin last; the latest
	fedNS          int64
	spacing        float64 // way between bars that are looked at, steps
	way            float64 // of its middle, steps
	area           float64
	box            box
	grown          bool                 // since TakeChanged
	told           []coverage.SwathTank // as given with the latest quad
	tanks          []openTank
}

// openTank is what one tank has laid in an open strip.
type openTank struct {
	use           uint16
	has           uint8
	rate          float64 // what its class is about, per m2
	target        float64
	class         float64 // rate by target in steps; where there is a target
	rateArea, sum float64 // for the mean
}

// Add takes the next quad of the operation. One too far from the first to be
// held is left out.
func (s *Swaths) Add(q coverage.Quad) {
	c := q.Corners
	if !s.started {
		s.started, s.origin = true, c[0]
	}
	if q.From < 1 || q.To > maxSections || q.From > q.To || !s.holds(c) {
		return
	}
	start, end := q.Start.UnixNano(), q.End.UnixNano()
	s.closeBefore(start)
	first, second := s.bar(c[0], c[1]), s.bar(c[3], c[2])
	at := slices.IndexFunc(s.open, func(o *openStrip) bool { return o.from == q.From && o.to == q.To })
	if at >= 0 && !(s.open[at].endNS == start && s.open[at].last == first && s.open[at].carries(q.Tanks)) {
		s.close(at)
		at = -1
	}
	if at < 0 {
		s.begin(q, first)
		at = len(s.open) - 1
	}
	o := s.open[at]
	o.grow(end, second, q.Area)
	if way(o.fed.to(second)) >= o.spacing {
		s.feed(o)
	}
}

func (s *Swaths) holds(q ground.Quad) bool {
	for _, c := range q {
		if d := c.Sub(s.origin); max(d.X, -d.X, d.Y, -d.Y) > reach {
			return false
		}
	}
	return true
}

func (s *Swaths) bar(l, r plane.Coord) bar {
	l, r = l.Sub(s.origin), r.Sub(s.origin)
	return bar{int32(l.X), int32(l.Y), int32(r.X), int32(r.Y)}
}

// begin opens a strip.
func (s *Swaths) begin(q coverage.Quad, first bar) {
	var o *openStrip
	if n := len(s.spare); n > 0 {
		o, s.spare = s.spare[n-1], s.spare[:n-1]
	} else {
		o = new(openStrip)
	}
	*o = openStrip{thin: o.thin, tanks: o.tanks[:0], from: q.From, to: q.To, startNS: q.Start.UnixNano()}
	o.start(first)
	for _, t := range q.Tanks[:min(len(q.Tanks), maxTanks)] {
		o.tanks = append(o.tanks, s.openTank(t))
	}
	o.told = q.Tanks
	s.open = append(s.open, o)
}

// start lets the strip begin with a bar.
func (o *openStrip) start(first bar) {
	o.thin.begin(first)
	o.fed, o.last, o.box, o.directed = first, first, boxOf([]bar{first}), false
	o.across = first.across()
	o.spacing = min(maxSpacing, math.Sqrt(dot(o.across, o.across))/12)
}

func (s *Swaths) openTank(t coverage.SwathTank) openTank {
	u := use{t.Tank, t.Product, t.Unit}
	at := slices.Index(s.uses, u)
	if at < 0 && len(s.uses) < maxUses {
		at = len(s.uses)
		s.uses = append(s.uses, u)
	}
	o := openTank{use: uint16(max(at, 0)), rate: t.RatePerM2, target: t.TargetPerM2}
	if t.HasRate {
		o.has |= hasRate
	}
	if t.HasTarget {
		o.has |= hasTarget
	}
	if o.classed() {
		o.class = math.Round(t.RatePerM2 / t.TargetPerM2 / classStep)
	}
	return o
}

func (t *openTank) classed() bool { return t.has == hasRate|hasTarget && t.target > 0 }

// feed makes the last bar one of the strip's, or where no outline can hold on to it,
// because the bar slides along itself, folds or has turned, ends the strip before it.
func (s *Swaths) feed(o *openStrip) {
	left, right := o.fed.to(o.last)
	full := len(o.thin.kept) >= maxBars-2
	if !full && o.follows(left, right) {
		o.thin.add(o.last, tolerance)
		o.fed, o.fedNS = o.last, o.endNS
		return
	}
	last, end := o.last, o.endNS
	if bars := o.thin.bars(nil); len(bars) > 1 {
		s.write(o, bars, o.startNS, o.fedNS)
		o.startNS = o.fedNS
	}
	if full {
		o.start(o.fed)
		o.last, o.box = last, o.box.with(boxOf([]bar{last}))
		return
	}
	for _, bars := range s.apart(o.fed, last) {
		s.write(o, bars[:], o.startNS, end)
	}
	o.startNS, o.fedNS = end, end
	o.start(last)
}

// follows tells whether the last bar keeps the outline simple.
func (o *openStrip) follows(left, right vector) bool {
	if !o.directed {
		o.directed, o.ahead = true, ahead(o.across, left, right)
	}
	return within(o.ahead, left) && within(o.ahead, right) && within(o.across, o.last.across())
}

// apart is the ground between two bars: two pieces where they or the ways of their
// ends cross.
func (s *Swaths) apart(a, b bar) [][2]bar {
	l0, r0, l1, r1 := plane.Coord{X: int64(a.lx), Y: int64(a.ly)}, plane.Coord{X: int64(a.rx), Y: int64(a.ry)},
		plane.Coord{X: int64(b.lx), Y: int64(b.ly)}, plane.Coord{X: int64(b.rx), Y: int64(b.ry)}
	if p, ok := crossing(l0, r0, l1, r1); ok { // the pivot of a turn lies on the bar
		x, y := int32(p.X), int32(p.Y)
		return [][2]bar{{{a.lx, a.ly, x, y}, {b.lx, b.ly, x, y}}, {{x, y, a.rx, a.ry}, {x, y, b.rx, b.ry}}}
	}
	if p, ok := crossing(r0, r1, l0, l1); ok {
		x, y := int32(p.X), int32(p.Y)
		return [][2]bar{{a, {x, y, x, y}}, {{x, y, x, y}, b}}
	}
	return [][2]bar{{a, b}}
}

// carries tells whether what is laid belongs into the strip.
func (o *openStrip) carries(told []coverage.SwathTank) bool {
	if len(told) == len(o.told) && (len(told) == 0 || &told[0] == &o.told[0]) {
		return true // the very same
	}
	if len(told) != len(o.told) {
		return false
	}
	for i := range told[:len(o.tanks)] {
		was, now, t := &o.told[i], &told[i], &o.tanks[i]
		if was.Tank != now.Tank || was.Product != now.Product || was.Unit != now.Unit ||
			was.HasRate != now.HasRate || was.HasTarget != now.HasTarget {
			return false
		}
		if now.HasTarget && differ(t.target, now.TargetPerM2, targetStep) {
			return false
		}
		if !now.HasRate || o.way < freeSteps {
			continue
		}
		if t.classed() {
			if math.Abs(now.RatePerM2/now.TargetPerM2/classStep-t.class) > 1 {
				return false
			}
		} else if differ(t.rate, now.RatePerM2, classStep) {
			return false
		}
	}
	o.told = told
	return true
}

func differ(a, b, share float64) bool { return math.Abs(a-b) > float64(math.Abs(a)*share) }

// grow takes in a quad that ends with the bar b.
func (o *openStrip) grow(endNS int64, b bar, area ground.Area) {
	o.way += way(o.last.to(b))
	o.endNS, o.last, o.grown = endNS, b, true
	o.box = o.box.with(boxOf([]bar{b}))
	w := float64(max(area, 1))
	o.area += w
	for i := range o.tanks {
		if t := &o.tanks[i]; t.has&hasRate != 0 {
			t.sum += float64(o.told[i].RatePerM2 * w)
			t.rateArea += w
		}
	}
	if o.way < freeSteps {
		o.settle()
	}
}

// settle lets the strip be about its mean while it is short.
func (o *openStrip) settle() {
	for i := range o.tanks {
		t := &o.tanks[i]
		if t.rateArea == 0 {
			continue
		}
		t.rate = t.sum / t.rateArea
		if t.classed() {
			t.class = math.Round(t.rate / t.target / classStep)
		}
	}
}

// closeBefore closes the strips that nothing can go on from at a moment.
func (s *Swaths) closeBefore(startNS int64) {
	for i := len(s.open) - 1; i >= 0; i-- {
		if s.open[i].endNS < startNS {
			s.close(i)
		}
	}
}

// close writes an open strip down.
func (s *Swaths) close(i int) {
	o := s.open[i]
	if o.last != o.fed {
		s.feed(o)
	}
	if bars := o.thin.bars(nil); len(bars) > 1 {
		s.write(o, bars, o.startNS, o.endNS)
	}
	s.open = slices.Delete(s.open, i, i+1)
	s.spare = append(s.spare, o)
}

// write writes bars of an open strip down.
func (s *Swaths) write(o *openStrip, bars []bar, startNS, endNS int64) {
	tanks := make([]laid, 0, 8)
	for k := range o.tanks {
		tanks = append(tanks, o.tanks[k].laid())
	}
	v := strip{
		startNS: startNS, endNS: endNS, box: boxOf(bars), barCount: uint16(len(bars)),
		from: uint16(o.from), to: uint16(o.to), tankCount: uint8(len(tanks)),
	}
	v.bars = uint32(s.bars.add(bars...))
	if len(tanks) > 0 {
		v.tanks = uint32(s.tanks.add(tanks...))
	}
	s.changed.Add(s.onPlane(v.box))
	at := s.strips.add(v)
	if at%blockSize == 0 {
		s.boxes = append(s.boxes, v.box)
	} else {
		last := &s.boxes[at/blockSize]
		*last = last.with(v.box)
	}
}

func (t *openTank) laid() laid {
	v := laid{use: t.use, has: t.has, target: float32(t.target)}
	if t.rateArea > 0 {
		v.rate = float32(t.sum / t.rateArea)
	}
	return v
}

// TakeChanged is where the swaths are drawn otherwise than the last time it was
// asked: the whole of every strip that has grown.
func (s *Swaths) TakeChanged() Boxes {
	boxes := s.changed
	s.changed = nil
	for _, o := range s.open {
		if o.grown {
			boxes.Add(s.onPlane(o.box))
			o.grown = false
		}
	}
	return boxes
}

func (s *Swaths) onPlane(b box) Box {
	at := s.origin
	return Box{
		plane.Coord{X: at.X + int64(b.loX), Y: at.Y + int64(b.loY)},
		plane.Coord{X: at.X + int64(b.hiX), Y: at.Y + int64(b.hiY)},
	}
}

// Bytes is the memory held.
func (s *Swaths) Bytes() int {
	n := len(s.strips.blocks)*int(unsafe.Sizeof([blockSize]strip{})) +
		len(s.bars.blocks)*int(unsafe.Sizeof([blockSize]bar{})) +
		len(s.tanks.blocks)*int(unsafe.Sizeof([blockSize]laid{}))
	return n + cap(s.boxes)*int(unsafe.Sizeof(box{}))
}

// Strips is how many strips are held, open ones included.
func (s *Swaths) Strips() int { return s.strips.n + len(s.open) }
