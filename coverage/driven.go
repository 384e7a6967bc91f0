package coverage

import (
	"errors"
	"fmt"
	"math"
	"time"

	"drawbar/coverage/plane"
)

// Edge says what draws a boundary while the operator drives round a field.
type Edge uint8

// The edges.
const (
	EdgeLeft    Edge = iota // the bar's left end
	EdgeRight               // the bar's right end
	EdgeAntenna             // the antenna
)

// Driven is how far a boundary has been driven.
type Driven struct {
	LengthM float64 // driven so far
	GapM    float64 // from its newest place to its first, that a straight line will close
	HoleM   float64 // longest stretch that no usable fix bears out
	Points  int     // corners kept so far
	Closed  bool    // it has come back to its start: what is driven from now on does not count
}

// MaxDrivenOffsetM is how far a boundary may be from the edge that draws it.
const MaxDrivenOffsetM = 50

// The bounds of a driven boundary.
const (
	maxDrivenCorners = 100_000 // 20 km at least
	drivenStepM      = 0.2     // nearer places say nothing new
	drivenThinM      = 0.03    // corners are left out within this while driving
	drivenSimpleM    = 0.1     // and within this at the end
	drivenWindow     = 256     // places that may lie between two corners
	drivenCloseM     = 15      // to its start, or the bar's width if that is more: closed
	drivenLeastM2    = 100     // less is no field
)

// driven follows the edge. It reads where the machine is and changes nothing of
// it, so a boundary that is driven leaves no trace in a result.
type driven struct {
	edge         Edge
	offsetM      float64
	fromNS, toNS int64 // of fixes that count

	plane     *plane.Plane // its own: that of the engine may be laid anew
	path      drivenPath
	before    drivenPath // the last break, for it may turn out to be a single fix far off
	hasBefore bool       // and no other fix since
	barM      float64    // widest so far
}

// drivenPath is the line so far. Its slices only grow, so a copy of it is where
// it was.
type drivenPath struct {
	corners []plane.Coord // settled
	between []plane.Coord // places since the last of them
	last    plane.Coord
	lengthM float64
	holeM   float64
	any     bool
	broken  bool // the way to the next place is not known
	away    bool // it has been away from its start
	closing drivenClosing
}

// drivenClosing is where the line came nearest to its start, once it was near it.
type drivenClosing struct {
	corners  int // of those settled by then
	at       plane.Coord
	gapM     float64
	near, by bool // near: so far; by: and gone by, nothing more counts
}

// StartDriving begins a boundary that is driven: the path of an edge, moved by
// offsetM metres, outwards of the bar's end and to the right of the antenna seen
// in the tractor's direction, negative the other way. Fixes up to now do not
// count; a boundary that was being driven is dropped. The error says what is
// wrong and what to do.
func (e *Engine) StartDriving(edge Edge, offsetM float64) error {
	fromNS := int64(math.MinInt64)
	if e.hasLast {
		fromNS = e.last.tNS
	}
	if edge != EdgeAntenna && e.said.implement == nil {
		return errors.New("no implement is stated, so its bar has no ends: state the implement or choose the antenna")
	}
	return e.startDriving(driven{edge: edge, offsetM: offsetM, fromNS: fromNS, toNS: math.MaxInt64})
}

// StartDrivingBetween is StartDriving of a recorded session: fixes from one moment
// to another count, both included.
func (e *Engine) StartDrivingBetween(edge Edge, offsetM float64, from, to time.Time) error {
	if to.Before(from) {
		return fmt.Errorf("the drive ends at %s, before it begins at %s: state the earlier time first", to.Format(time.RFC3339Nano), from.Format(time.RFC3339Nano))
	}
	return e.startDriving(driven{edge: edge, offsetM: offsetM, fromNS: from.UnixNano(), toNS: to.UnixNano()})
}

func (e *Engine) startDriving(d driven) error {
	if d.edge > EdgeAntenna {
		return fmt.Errorf("edge %d: want the bar's left end, its right end or the antenna", d.edge)
	}
	if !(d.offsetM >= -MaxDrivenOffsetM && d.offsetM <= MaxDrivenOffsetM) {
		return fmt.Errorf("an offset of %g m: want at most %d m to either side", d.offsetM, MaxDrivenOffsetM)
	}
	e.driven = &d
	return nil
}

// Driving is how far the boundary is; false where none is being driven.
func (e *Engine) Driving() (Driven, bool) {
	if e.driven == nil {
		return Driven{}, false
	}
	p := &e.driven.path
	out := Driven{LengthM: p.lengthM, HoleM: p.holeM, Points: len(p.corners), Closed: p.closing.near}
	switch {
	case p.closing.near:
		out.GapM = p.closing.gapM
	case p.any:
		out.GapM = distanceM(p.last, p.corners[0])
	}
	return out, true
}

// DrivenPath is the line so far, longitude and latitude in degrees, from its
// corner number from (0 is the first) to its newest place, for those who show it.
func (e *Engine) DrivenPath(from int) [][2]float64 {
	if e.driven == nil || !e.driven.path.any {
		return nil
	}
	d := e.driven
	line := d.path.line()
	out := make([][2]float64, 0, max(0, len(line)-max(0, from)))
	for _, c := range line[min(max(0, from), len(line)):] {
		lat, lon := d.plane.InverseCoord(c)
		out = append(out, [2]float64{lon, lat})
	}
	return out
}

// DropDriving drops the boundary that is being driven.
func (e *Engine) DropDriving() { e.driven = nil }

// DrivenBoundary is the line as one ring, closed by a straight line where a gap is
// left (see Driving), counter-clockwise, small loops taken out, simplified to 0.1 m.
// Where that makes no field the error says why. The drive goes on either way.
func (e *Engine) DrivenBoundary() (Boundary, error) {
	d := e.driven
	if d == nil {
		return nil, errors.New("no boundary is being driven: start it first")
	}
	ring, err := d.ring()
	if err != nil {
		return nil, err
	}
	degrees := make([][2]float64, 0, len(ring))
	for _, c := range ring {
		lat, lon := d.plane.InverseCoord(c)
		degrees = append(degrees, [2]float64{lon, lat})
	}
	return Boundary{{degrees}}, nil
}

// closeM is how near to its start the line is closed.
func (d *driven) closeM() float64 { return max(drivenCloseM, d.barM) }

// follow takes the next place of the machine, on the engine's plane.
func (d *driven) follow(on *plane.Plane, s *station) {
	if s.tNS < d.fromNS || s.tNS > d.toNS || d.path.closing.by {
		return
	}
	if s.back && d.hasBefore {
		d.path = d.before
	}
	if d.hasBefore = s.restart; d.hasBefore {
		d.before = d.path.copy()
	}
	if !s.joined {
		d.path.broken = d.path.any
	}
	at, ok := d.place(s)
	if !ok {
		d.path.broken = d.path.any
		return
	}
	lat, lon := on.Inverse(at.x, at.y)
	if d.plane == nil {
		d.plane = plane.New(lat, lon)
	}
	if c, ok := d.plane.ForwardCoord(lat, lon); ok {
		d.path.add(c, d.closeM())
	}
}

// place is where the edge is; false where that is not known.
func (d *driven) place(s *station) (xy, bool) {
	if !s.good {
		return xy{}, false
	}
	if len(s.bar) > 1 {
		l, r := s.bar[0], s.bar[len(s.bar)-1]
		d.barM = max(d.barM, distanceM(l, r))
	}
	if d.edge == EdgeAntenna {
		return s.at.along(s.headingRad, 0, d.offsetM), true
	}
	if len(s.bar) < 2 {
		return xy{}, false
	}
	end, other := s.bar[0], s.bar[len(s.bar)-1]
	if d.edge == EdgeRight {
		end, other = other, end
	}
	x, y := end.M()
	ox, oy := other.M()
	out := xy{x - ox, y - oy}
	if w := out.length(); w > 0 {
		return xy{x + float64(out.x*d.offsetM)/w, y + float64(out.y*d.offsetM)/w}, true
	}
	return xy{x, y}, true
}

func distanceM(a, b plane.Coord) float64 {
	ax, ay := a.M()
	bx, by := b.M()
	return xy{ax, ay}.to(xy{bx, by})
}

// copy is the line as it stands: what is added to the one does not show in the
// other.
func (p *drivenPath) copy() drivenPath {
	c := *p
	c.corners = p.corners[:len(p.corners):len(p.corners)]
	c.between = append([]plane.Coord(nil), p.between...)
	return c
}

// line is what was driven, from its first place to its newest, or to where it
// closed.
func (p *drivenPath) line() []plane.Coord {
	n, last := len(p.corners), p.last
	if p.closing.near {
		n, last = p.closing.corners, p.closing.at
	}
	line := append(make([]plane.Coord, 0, n+1), p.corners[:n]...)
	if n > 0 && line[n-1] != last {
		line = append(line, last)
	}
	return line
}

// add takes the next place of the edge.
func (p *drivenPath) add(c plane.Coord, closeM float64) {
	if !p.any {
		p.any, p.last = true, c
		p.corners = append(p.corners, c)
		return
	}
	step := distanceM(p.last, c)
	if p.broken {
		p.holeM, p.broken = max(p.holeM, step), false
	}
	if step < drivenStepM || len(p.corners) > maxDrivenCorners {
		return
	}
	p.lengthM += step
	from := p.corners[len(p.corners)-1]
	if len(p.between) == drivenWindow || !allNear(p.between, from, c, drivenThinM) {
		p.corners = append(p.corners, p.last)
		p.between = p.between[:0]
	}
	before := p.last
	p.between, p.last = append(p.between, c), c
	p.close(before, closeM)
}

// close notes where the line comes back to its start, going the way it began.
func (p *drivenPath) close(before plane.Coord, closeM float64) {
	gap := distanceM(p.last, p.corners[0])
	if !p.away {
		p.away = gap > 2*closeM
		return
	}
	c := &p.closing
	switch {
	case gap > closeM:
		c.by = c.near
	case c.near && gap >= c.gapM, !c.near && !p.asBegun(before):
	default:
		*c = drivenClosing{corners: len(p.corners), at: p.last, gapM: gap, near: true}
	}
}

// asBegun tells whether the line now runs within 120 degrees of the way that it
// began: on the other side of a narrow field it runs back.
func (p *drivenPath) asBegun(before plane.Coord) bool {
	if len(p.corners) < 2 {
		return false
	}
	a, b := p.corners[1].Sub(p.corners[0]), p.last.Sub(before)
	ax, ay := a.M()
	bx, by := b.M()
	dot := float64(ax*bx) + float64(ay*by)
	return dot >= float64(-0.5*float64(xy{ax, ay}.length()*xy{bx, by}.length()))
}

// allNear tells whether places lie within a distance of the line from a to b.
func allNear(places []plane.Coord, a, b plane.Coord, distM float64) bool {
	ax, ay := a.M()
	bx, by := b.M()
	way := xy{bx - ax, by - ay}
	square := float64(way.x*way.x) + float64(way.y*way.y)
	for _, c := range places {
		cx, cy := c.M()
		v := xy{cx - ax, cy - ay}
		t := 0.0
		if square > 0 {
			t = max(0, min(1, (float64(v.x*way.x)+float64(v.y*way.y))/square))
		}
		dx, dy := v.x-float64(way.x*t), v.y-float64(way.y*t)
		if float64(dx*dx)+float64(dy*dy) > distM*distM {
			return false
		}
	}
	return true
}
