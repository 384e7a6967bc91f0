package coverage

import (
	"slices"
	"time"

	"drawbar/controller"
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// Quad is the ground under sections From to To, next to each other and in the
// same state, between two moments; as it is booked.
type Quad struct {
	Operation *Operation
	From, To  int // sections from 1, leftmost, inclusive
	Start     time.Time
	End       time.Time
	Corners   ground.Quad
	Area      ground.Area
	Tanks     []SwathTank // in ascending order of tank; shared, must not be changed
}

// run is a row of adjacent sections that are on, [lo, hi) counted from 0.
type run struct{ lo, hi int }

// painter holds what painting one way needs, kept between ways so that none of
// it is made anew. A piece is a stretch of one way in which the same sections
// lay the same products: only its outline matters to the ground, however often
// the rate changes meanwhile.
type painter struct {
	swaths   swaths
	runs     []run
	carried  []applied
	from, to []plane.Coord // bars at both ends of a stretch
	piece    piece
}

type piece struct {
	bar  []plane.Coord // at its start
	runs []run
	of   members
	open bool

	startNS int64
}

// paint lays what was metered on the way from a to b.
func (e *Engine) paint(a, b *station) {
	dt := b.tNS - a.tNS
	if dt <= 0 {
		return
	}
	way := a.at.to(b.at)
	moving := way/(float64(dt)/nanosPerSecond) >= holdBelowMPS
	e.meter.seek(a.tNS)
	if moving && !e.setup.AlwaysOn {
		e.totals.SilentNS += e.meter.silentNS(a.tNS, b.tNS)
	}
	if e.force.implement == nil || len(a.bar) < 2 || len(a.bar) != len(b.bar) || !a.good || !b.good {
		e.meter.seek(b.tNS)
		e.painter.swaths.closeAll()
		return
	}
	p := &e.painter
	barWay := middle(a.bar).to(middle(b.bar))
	p.from = append(p.from[:0], a.bar...)
	for t := a.tNS; t < b.tNS; {
		v := b.tNS
		if !e.setup.AlwaysOn {
			v = min(v, e.meter.next(t))
		}
		p.to = barBetween(p.to, a.bar, b.bar, share(a.tNS, b.tNS, v))
		if e.sectionsOn(t) {
			e.lay(t, v, barWay/(float64(dt)/nanosPerSecond))
			if moving {
				worked := float64(way * (float64(v-t) / float64(dt)))
				e.totals.WorkingNS += v - t
				e.totals.WorkingDistanceM += worked
				e.force.op.WorkingNS += v - t
				e.force.op.WorkedM += worked
			}
		} else {
			e.endPiece()
			p.swaths.closeAll()
		}
		p.from, p.to = p.to, p.from
		t = v
		e.meter.seek(t)
	}
	e.endPiece()
}

func middle(bar []plane.Coord) xy {
	l, r := bar[0], bar[len(bar)-1]
	return xy{float64(l.X+r.X) / (2 * plane.UnitsPerM), float64(l.Y+r.Y) / (2 * plane.UnitsPerM)}
}

// sectionsOn finds the runs of sections that are on the ground at tNS.
func (e *Engine) sectionsOn(tNS int64) bool {
	p := &e.painter
	p.runs = p.runs[:0]
	n := len(e.force.implement.SectionsM)
	if e.setup.AlwaysOn {
		p.runs = append(p.runs, run{0, n})
		return true
	}
	s := e.meter.sectionsAt(tNS)
	if s == nil || !s.on {
		return false
	}
	if s.all {
		p.runs = append(p.runs, run{0, n})
		return true
	}
	if s.sections.Len() != n {
		e.notes.sectionCount(s.sections.Len(), n)
	}
	p.runs = appendRuns(p.runs, s.sections, n)
	return len(p.runs) > 0
}

func appendRuns(runs []run, s controller.Sections, n int) []run {
	for i := 0; i < n; i++ {
		if !s.On(i) {
			continue
		}
		lo := i
		for i < n && s.On(i) {
			i++
		}
		runs = append(runs, run{lo, i})
	}
	return runs
}

// lay books the stretch from tNS to vNS, over which nothing changes, and adds
// it to the piece in hand.
func (e *Engine) lay(tNS, vNS int64, speedMPS float64) {
	if e.said.op == nil {
		e.said.op = e.open(e.force.implement.Operation, e.force.field, utc(tNS))
		e.settle(utc(tNS))
	}
	op, p := e.force.op, &e.painter
	if !op.worked {
		e.worked++
		op.worked, op.Number, op.Start, op.Plane = true, e.worked, utc(tNS), e.plane
	}
	op.End, op.Boundary = utc(vNS), e.force.boundary
	op.growsAs(&e.force)
	op.workWith(e.force.implement, e.setup.Limits)
	of := e.carry(tNS, speedMPS)
	if p.piece.open && (p.piece.of != of || !slices.Equal(p.piece.runs, p.runs)) {
		e.endPiece()
	}
	if !p.piece.open {
		p.piece.open, p.piece.of, p.piece.startNS = true, of, tNS
		p.piece.bar = append(p.piece.bar[:0], p.from...)
		p.piece.runs = append(p.piece.runs[:0], p.runs...)
	}
	if e.setup.OnQuad != nil {
		p.swaths.carry(op, p.carried)
	}
	for _, r := range p.runs {
		q := strip(p.from, p.to, r)
		if !q.Fits() {
			op.Refused++
			continue
		}
		area := q.Area()
		op.Gross += area
		op.together.add(p.carried, area)
		for _, t := range p.carried {
			if u := op.Products[t.use]; t.some() {
				u.add(area, t)
			} else {
				u.rested = true
			}
		}
		if e.setup.OnQuad != nil {
			e.setup.OnQuad(Quad{Operation: op, From: r.lo + 1, To: r.hi, Start: utc(tNS), End: utc(vNS), Corners: q, Area: area, Tanks: p.swaths.told})
		}
	}
	if p.swaths.emit != nil {
		e.growSwaths(tNS, vNS)
	}
}

func strip(from, to []plane.Coord, r run) ground.Quad {
	return ground.Quad{from[r.lo], from[r.hi], to[r.hi], to[r.lo]}
}

// endPiece puts the piece in hand, which ends at the bar's place p.from, on the
// ground.
func (e *Engine) endPiece() {
	p := &e.painter
	if !p.piece.open {
		return
	}
	p.piece.open = false
	op, again := e.force.op, ground.Area(0)
	for _, r := range p.piece.runs {
		q := strip(p.piece.bar, p.from, r)
		op.extent.add(q)
		again += op.ground.add(q, p.piece.of)
		if e.setup.OnGround != nil {
			e.setup.OnGround(op, q)
		}
		op.skips.note(op, q, p.piece.startNS)
	}
	op.overlaps.add(op.Ground(), p.piece.bar, p.from, p.piece.runs, again)
}

// growSwaths hands the quads of each section to the swaths.
func (e *Engine) growSwaths(tNS, vNS int64) {
	p := &e.painter
	n := len(e.force.implement.SectionsM)
	p.swaths.begin(e.force.op, e.force.op.Number, n, p.carried)
	i := 0
	for _, r := range p.runs {
		for ; i < r.lo; i++ {
			p.swaths.stop(i)
		}
		for ; i < r.hi; i++ {
			p.swaths.grow(i, strip(p.from, p.to, run{i, i + 1}), tNS, vNS)
		}
	}
	for ; i < n; i++ {
		p.swaths.stop(i)
	}
}
