package coverage

import (
	"slices"
	"time"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// Swath is the ground that one section passed over between two moments while
// nothing changed: the same section state, products, rates and targets.
type Swath struct {
	Operation *Operation
	Number    int // of the operation, from 1
	Section   int // from 1, leftmost
	Start     time.Time
	End       time.Time
	Plane     *plane.Plane
	Rings     [][]plane.Coord // simple closed rings without holes that do not overlap
	Tanks     []SwathTank     // in ascending order of tank
}

// SwathTank is what one tank laid down in a swath. Rates are kg, litres or
// seeds per m2, as Unit says.
type SwathTank struct {
	Tank        int
	Product     string
	Unit        string // kg, l or seeds
	RatePerM2   float64
	TargetPerM2 float64
	HasRate     bool
	HasTarget   bool
}

// A swath whose bar has turned by more than 30 degrees, or one of whose ends
// moves at more than 30 degrees from square to the bar it began with, is closed
// and a new one begun. Each side then runs one way only and keeps clear of the
// other, so the outline cannot cross itself.
const cosSwathTurn2 = 0.75 // the square of the cosine of 30 degrees

// swathMaxPoints bounds a side of an outline.
const swathMaxPoints = 256

// openSwath is a swath of one section while it grows.
type openSwath struct {
	left, right    []plane.Coord
	bar, normal    xy // at the first moment: left to right, and square to it the way it moves
	fromNS, untilN int64
	on             bool
}

// swaths merges the quads of each section while nothing changes.
type swaths struct {
	emit     func(Swath)
	open     []openSwath
	tanks    []applied   // in force for all open swaths
	told     []SwathTank // the same as handed out; shared by swaths, never changed
	op       *Operation
	number   int
	sections int
}

// begin is called before the quads of one stretch of time with what all its
// sections carry; whatever differs closes the swaths that are open.
func (s *swaths) begin(op *Operation, number, sections int, tanks []applied) {
	if sections != s.sections {
		s.closeAll()
		s.sections = sections
	}
	s.carry(op, tanks)
	s.number = number
	for len(s.open) < sections {
		s.open = append(s.open, openSwath{})
	}
}

// carry says what is laid from now on.
func (s *swaths) carry(op *Operation, tanks []applied) {
	if op == s.op && slices.Equal(tanks, s.tanks) {
		return
	}
	s.closeAll()
	s.op = op
	s.tanks = append(s.tanks[:0], tanks...)
	s.tell()
}

// grow adds the quad of section i. One that no outline can hold on to, because
// the bar slides along itself or folds, stands alone.
func (s *swaths) grow(i int, q ground.Quad, fromNS, toNS int64) {
	w := &s.open[i]
	dl, dr := vector(q[0], q[3]), vector(q[1], q[2])
	if w.on && (w.untilN != fromNS || !w.keeps(q, dl, dr) || len(w.left) >= swathMaxPoints) {
		s.close(i)
	}
	if !w.on {
		w.bar = vector(q[0], q[1])
		w.normal = xy{-w.bar.y, w.bar.x}
		if dot(w.normal, xy{dl.x + dr.x, dl.y + dr.y}) < 0 { // backing up
			w.normal = xy{w.bar.y, -w.bar.x}
		}
		if !w.keeps(q, dl, dr) {
			s.send(i, simple(q), fromNS, toNS)
			return
		}
		w.on, w.fromNS = true, fromNS
		w.left = append(w.left[:0], q[0])
		w.right = append(w.right[:0], q[1])
	}
	w.left = append(w.left, q[3])
	w.right = append(w.right, q[2])
	w.untilN = toNS
}

// keeps tells whether a quad, whose ends move by dl and dr, keeps the outline
// simple.
func (w *openSwath) keeps(q ground.Quad, dl, dr xy) bool {
	return within(w.normal, dl) && within(w.normal, dr) && within(w.bar, vector(q[3], q[2]))
}

// within tells whether v points where u does, give or take 30 degrees. A v of no
// length does.
func within(u, v xy) bool {
	d := dot(u, v)
	return d >= 0 && d*d >= float64(dot(u, u)*dot(v, v))*cosSwathTurn2
}

func dot(u, v xy) float64 { return float64(u.x*v.x) + float64(u.y*v.y) }

func vector(a, b plane.Coord) xy {
	d := b.Sub(a)
	return xy{float64(d.X), float64(d.Y)}
}

// stop closes section i, which is off or not known.
func (s *swaths) stop(i int) {
	if i < len(s.open) {
		s.close(i)
	}
}

func (s *swaths) closeAll() {
	for i := range s.open {
		s.close(i)
	}
}

func (s *swaths) close(i int) {
	w := &s.open[i]
	if !w.on {
		return
	}
	w.on = false
	ring := make([]plane.Coord, 0, 2*len(w.left)+1)
	ring = append(ring, w.right...)
	for k := len(w.left) - 1; k >= 0; k-- {
		ring = append(ring, w.left[k])
	}
	s.send(i, [][]plane.Coord{closed(ring)}, w.fromNS, w.untilN)
}

func (s *swaths) send(i int, rings [][]plane.Coord, fromNS, toNS int64) {
	rings = slices.DeleteFunc(rings, func(r []plane.Coord) bool { return plane.Area2(r) == 0 })
	if len(rings) == 0 {
		return
	}
	s.emit(Swath{
		Operation: s.op, Number: s.number, Section: i + 1, Start: utc(fromNS), End: utc(toNS),
		Plane: s.op.Plane, Rings: rings, Tanks: s.told,
	})
}

// tell puts what all open swaths carry into the form in which it is handed out.
func (s *swaths) tell() {
	s.told = make([]SwathTank, 0, len(s.tanks))
	for _, t := range s.tanks {
		u := s.op.Products[t.use]
		s.told = append(s.told, SwathTank{
			Tank: t.tank, Product: u.Product.Name, Unit: u.Unit.AmountUnit(),
			RatePerM2: t.ratePerM2, HasRate: t.hasRate, TargetPerM2: t.targetPerM2, HasTarget: t.hasTarget,
		})
	}
}

func utc(ns int64) time.Time { return time.Unix(0, ns).UTC() }
