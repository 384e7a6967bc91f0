package coverage

import (
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
	Tank         int
	Product      string
	Unit         string // kg, l or seeds
	RatePerM2    float64
	TargetPerM2  float64
	HasRate      bool
	HasTarget    bool
	CarriedAlong bool // the rate is known and zero: nothing was laid
}

// A swath that turns further or grows longer than this is closed and a new one
// begun, so that its outline can never cross itself.
const (
	swathTurnRad   = plane.Pi / 4
	swathMaxPoints = 256
)

// openSwath is a swath of one section while it grows.
type openSwath struct {
	left, right    []plane.Coord
	normal         xy // unit vector along the first movement
	fromNS, untilN int64
	on             bool
}

// swaths merges the quads of each section while nothing changes.
type swaths struct {
	emit     func(Swath)
	open     []openSwath
	tanks    []applied // in force for all open swaths
	op       *Operation
	number   int
	sections int
}

// begin is called before the quads of one stretch of time with what all its
// sections carry; whatever differs closes the swaths that are open.
func (s *swaths) begin(op *Operation, number, sections int, tanks []applied) {
	if op != s.op || sections != s.sections || !sameApplied(tanks, s.tanks) {
		s.closeAll()
		s.op, s.number, s.sections = op, number, sections
		s.tanks = append(s.tanks[:0], tanks...)
	}
	for len(s.open) < sections {
		s.open = append(s.open, openSwath{})
	}
}

func sameApplied(a, b []applied) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// grow adds the quad of section i from bar end pair a0,b0 to a1,b1.
func (s *swaths) grow(i int, q ground.Quad, fromNS, toNS int64) {
	w := &s.open[i]
	if folded(q) {
		s.close(i)
		*w = openSwath{left: w.left[:0], right: w.right[:0]}
		s.send(i, triangles(q), fromNS, toNS)
		return
	}
	dl, dr := q[3].Sub(q[0]), q[2].Sub(q[1])
	if w.on && (w.untilN != fromNS || !w.ahead(dl) || !w.ahead(dr) || len(w.left) >= swathMaxPoints) {
		s.close(i)
	}
	if !w.on {
		w.on, w.fromNS = true, fromNS
		w.left = append(w.left[:0], q[0])
		w.right = append(w.right[:0], q[1])
		w.normal = xy{float64(dl.X + dr.X), float64(dl.Y + dr.Y)}
	}
	w.left = append(w.left, q[3])
	w.right = append(w.right, q[2])
	w.untilN = toNS
}

// ahead tells whether an end that moves by d keeps within swathTurnRad of the
// first movement: then each side runs one way only and the outline is simple.
func (w *openSwath) ahead(d plane.Coord) bool {
	v := xy{float64(d.X), float64(d.Y)}
	dot := float64(w.normal.x*v.x) + float64(w.normal.y*v.y)
	return dot > float64(w.normal.length()*v.length())*cosSwathTurn
}

// cosSwathTurn is the cosine of swathTurnRad.
const cosSwathTurn = 0.70710678118654752440

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
	if plane.Area2(ring) < 0 { // backing up draws it clockwise
		for a, b := 0, len(ring)-1; a < b; a, b = a+1, b-1 {
			ring[a], ring[b] = ring[b], ring[a]
		}
	}
	s.send(i, [][]plane.Coord{append(ring, ring[0])}, w.fromNS, w.untilN)
}

func (s *swaths) send(i int, rings [][]plane.Coord, fromNS, toNS int64) {
	out := Swath{Operation: s.op, Number: s.number, Section: i + 1, Start: utc(fromNS), End: utc(toNS), Plane: s.op.Plane}
	for _, r := range rings {
		if plane.Area2(r) != 0 {
			out.Rings = append(out.Rings, r)
		}
	}
	if len(out.Rings) == 0 {
		return
	}
	for _, t := range s.tanks {
		u := s.op.Products[t.use]
		out.Tanks = append(out.Tanks, SwathTank{
			Tank: t.tank, Product: u.Product.Name, Unit: u.Unit.AmountUnit(),
			RatePerM2: t.ratePerM2, HasRate: t.hasRate, TargetPerM2: t.targetPerM2, HasTarget: t.hasTarget,
			CarriedAlong: !t.some(),
		})
	}
	s.emit(out)
}

func utc(ns int64) time.Time { return time.Unix(0, ns).UTC() }
