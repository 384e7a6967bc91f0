package coverage

import (
	"slices"
	"time"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// Gathering keeps where the operations of a session laid ground, so that they can
// be joined with those of other sessions. Its Add is a Setup.OnGround. It costs 17
// bytes for every way from fix to fix, some 10 MB for a long day. The zero value is
// ready; it is for one goroutine.
type Gathering struct {
	of []*trace
}

// Add takes ground that was laid for an operation.
func (g *Gathering) Add(op *Operation, q ground.Quad) {
	n := len(g.of)
	if n == 0 || g.of[n-1].op != op { // work under a correction may go to and fro
		i := slices.IndexFunc(g.of, func(t *trace) bool { return t.op == op })
		if i < 0 {
			g.of, i = append(g.of, &trace{op: op}), n
			n++
		}
		g.of[i], g.of[n-1] = g.of[n-1], g.of[i]
	}
	g.of[n-1].add(q)
}

// Part is an operation of the session as part of a Joint, as it stands. session
// tells operations of the same moment apart.
func (g *Gathering) Part(session string, op *Operation) Part {
	p := Part{
		Session: session, Number: op.Number, Field: op.Field, Name: op.Name, Start: op.Start, End: op.End,
		Gross: op.Gross, Overlap: op.Overlap(), OverlapBy: op.OverlapBy(), Products: op.ProductSums(), Boundary: op.Boundary,
		refused: op.Refused, rule: op.skipRule, plane: op.Plane,
	}
	for _, t := range g.of {
		if t.op == op {
			p.laid = t.laid
		}
	}
	return p
}

// Part is one operation of a Joint. It never changes and holds on to nothing of
// its session.
type Part struct {
	Session     string
	Number      int // of the operation in its session
	Field, Name string
	Start, End  time.Time
	Gross       ground.Area
	Overlap     ground.Area // within the operation
	OverlapBy   OverlapBy   // the same by cause
	Products    []ProductSum
	Boundary    Boundary // nil = not stated

	refused int
	rule    skipRule
	plane   *plane.Plane
	laid    laid
}

// Covered is the ground that the operation worked at least once.
func (p *Part) Covered() ground.Area { return p.Gross - p.Overlap }

// trace is the ground of one operation while it grows.
type trace struct {
	op *Operation
	laid
	edges  [traceEdges]edge // where the latest quads ended
	oldest int
}

const (
	traceEdges = 16         // more runs of sections than that side by side just cost more
	traceNew   = traceEdges // a code: the quad goes on from none of them
)

// edge is where the bar, or a run of its sections, was: its left and right end.
type edge struct{ left, right step }

// step is a place from the first one, in steps of the grid: within 200 km.
type step struct{ x, y int32 }

// laid is quads in the order in which they were laid. Most begin where an earlier
// one ended; of such a one only its far side is kept.
//
//	code 3   left right          goes on from edge 3
//	code 16  all four corners    goes on from none and takes the place of the oldest edge
type laid struct {
	origin plane.Coord
	codes  []uint8
	steps  []step
	lost   int // quads too far off to be kept
}

// add keeps a quad.
func (t *trace) add(q ground.Quad) {
	if len(t.codes) == 0 {
		t.origin = q[0]
	}
	var s [4]step
	for i, c := range q {
		d := c.Sub(t.origin)
		s[i] = step{int32(d.X), int32(d.Y)}
		if int64(s[i].x) != d.X || int64(s[i].y) != d.Y {
			t.lost++
			return
		}
	}
	code := slices.Index(t.edges[:], edge{s[0], s[1]})
	if code < 0 || len(t.codes) == 0 {
		t.codes, t.steps = append(t.codes, traceNew), append(t.steps, s[0], s[1], s[2], s[3])
		code, t.oldest = t.oldest, (t.oldest+1)%traceEdges
	} else {
		t.codes, t.steps = append(t.codes, uint8(code)), append(t.steps, s[3], s[2])
	}
	t.edges[code] = edge{s[3], s[2]}
}

// quads hands out the quads in their order, their corners as put on another plane
// by to.
func (l *laid) quads(to func(plane.Coord) plane.Coord, use func(ground.Quad)) {
	var edges [traceEdges][2]plane.Coord
	at, oldest := 0, 0
	next := func() plane.Coord {
		s := l.steps[at]
		at++
		return to(plane.Coord{X: l.origin.X + int64(s.x), Y: l.origin.Y + int64(s.y)})
	}
	for _, code := range l.codes {
		var q ground.Quad
		slot := int(code)
		if slot == traceNew {
			q = ground.Quad{next(), next(), next(), next()}
			slot, oldest = oldest, (oldest+1)%traceEdges
		} else {
			q = ground.Quad{edges[slot][0], edges[slot][1], {}, {}}
			q[3] = next()
			q[2] = next()
		}
		edges[slot] = [2]plane.Coord{q[3], q[2]}
		use(q)
	}
}
