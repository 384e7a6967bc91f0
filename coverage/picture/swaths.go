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
	across, ahead  vector // at its first bar
	thin           thinner
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
	if p, ok := crossing(c[0], c[1], c[3], c[2]); ok { // the pivot of a turn lies on the bar
		s.single(q, c[0], p, c[3], p)
		s.single(q, p, c[1], p, c[2])
		return
	}
	if p, ok := crossing(c[1], c[2], c[0], c[3]); ok { // the ways of its ends cross
		s.single(q, c[0], c[1], p, p)
		s.single(q, p, p, c[2], c[3])
		return
	}
	first, second := s.bar(c[0], c[1]), s.bar(c[3], c[2])
	left, right := first.to(second)
	at := slices.IndexFunc(s.open, func(o *openStrip) bool { return o.from == q.From && o.to == q.To })
	if at >= 0 && !s.open[at].takes(start, first, second, left, right, q.Tanks) {
		s.close(at)
		at = -1
	}
	if at < 0 {
		o := s.begin(q, first, left, right)
		if !within(o.ahead, left) || !within(o.ahead, right) || !within(o.across, second.across()) {
			// No outline can hold on to it: it stands alone.
			o.grow(end, second, left, right, q.Area)
			s.close(len(s.open) - 1)
			return
		}
		at = len(s.open) - 1
	}
	s.open[at].grow(end, second, left, right, q.Area)
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

// single adds a strip of two bars that nothing goes on from.
func (s *Swaths) single(q coverage.Quad, l0, r0, l1, r1 plane.Coord) {
	first, second := s.bar(l0, r0), s.bar(l1, r1)
	left, right := first.to(second)
	s.begin(q, first, left, right).grow(q.End.UnixNano(), second, left, right, q.Area)
	s.close(len(s.open) - 1)
}

// begin opens a strip.
func (s *Swaths) begin(q coverage.Quad, first bar, left, right vector) *openStrip {
	var o *openStrip
	if n := len(s.spare); n > 0 {
		o, s.spare = s.spare[n-1], s.spare[:n-1]
	} else {
		o = new(openStrip)
	}
	*o = openStrip{thin: o.thin, tanks: o.tanks[:0], from: q.From, to: q.To, startNS: q.Start.UnixNano()}
	o.thin.begin(first)
	o.box = boxOf([]bar{first})
	o.across = first.across()
	o.ahead = ahead(o.across, left, right)
	for _, t := range q.Tanks[:min(len(q.Tanks), maxTanks)] {
		o.tanks = append(o.tanks, s.openTank(t))
	}
	o.told = q.Tanks
	s.open = append(s.open, o)
	return o
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

// takes tells whether the strip goes on over a quad.
func (o *openStrip) takes(startNS int64, first, second bar, left, right vector, told []coverage.SwathTank) bool {
	if o.endNS != startNS || o.thin.last() != first || len(o.thin.kept) >= maxBars-2 ||
		!within(o.ahead, left) || !within(o.ahead, right) || !within(o.across, second.across()) {
		return false
	}
	return o.carries(told)
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
func (o *openStrip) grow(endNS int64, b bar, left, right vector, area ground.Area) {
	o.endNS, o.grown = endNS, true
	o.box = o.box.with(boxOf([]bar{b}))
	o.thin.add(b, tolerance)
	o.way += way(left, right)
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
	s.open = slices.Delete(s.open, i, i+1)
	s.spare = append(s.spare, o)
	if o.grown {
		s.changed.Add(s.onPlane(o.box))
	}
	bars := o.thin.bars(nil)
	tanks := make([]laid, 0, 8)
	for k := range o.tanks {
		tanks = append(tanks, o.tanks[k].laid())
	}
	v := strip{
		startNS: o.startNS, endNS: o.endNS, box: boxOf(bars), barCount: uint16(len(bars)),
		from: uint16(o.from), to: uint16(o.to), tankCount: uint8(len(tanks)),
	}
	v.bars = uint32(s.bars.add(bars...))
	if len(tanks) > 0 {
		v.tanks = uint32(s.tanks.add(tanks...))
	}
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
