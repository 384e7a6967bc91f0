package sim

import (
	"fmt"
	"math"
)

// pose is a place and a direction of travel, radians counter-clockwise from east.
type pose struct {
	at    Point
	theta float64
}

// ahead is the pose moved straight on by d metres.
func (p pose) ahead(d float64) pose {
	s, c := math.Sincos(p.theta)
	return pose{Point{p.at.X + c*d, p.at.Y + s*d}, p.theta}
}

// Segment is a line or an arc of the antenna's path. Theta is the direction of
// travel at its start; Curve is 1/radius in 1/m, left positive, 0 for a line. On
// a segment driven in reverse the tractor faces against the travel.
type Segment struct {
	X, Y     float64 // start, m
	Theta    float64 // rad
	Curve    float64 // 1/m
	LengthM  float64
	SpeedMPS float64 // wanted
	StopS    float64 // standing time at the end
	Pass     int     // number of the pass from 0, or -1 in a turn
	Reverse  bool
}

// at is the pose u metres into the segment.
func (sg *Segment) at(u float64) pose {
	s, c := math.Sincos(sg.Theta)
	if sg.Curve == 0 {
		return pose{Point{sg.X + c*u, sg.Y + s*u}, sg.Theta}
	}
	th := sg.Theta + sg.Curve*u
	s2, c2 := math.Sincos(th)
	return pose{Point{sg.X + (s2-s)/sg.Curve, sg.Y - (c2-c)/sg.Curve}, th}
}

// end is the pose at the segment's end.
func (sg *Segment) end() pose { return sg.at(sg.LengthM) }

// builder lays segments end to end.
type builder struct {
	segs    []Segment
	lengthM float64
	here    pose
	started bool
}

// add lays one segment from the present end. A negative length is driven in
// reverse. Lengths under a micrometre are left out.
func (b *builder) add(lengthM, curve, speedMPS float64, pass int) {
	back := lengthM < 0
	lengthM = math.Abs(lengthM)
	if lengthM < 1e-6 {
		return
	}
	sg := Segment{
		X: b.here.at.X, Y: b.here.at.Y, Theta: b.here.theta,
		Curve: curve, LengthM: lengthM, SpeedMPS: speedMPS, Pass: pass, Reverse: back,
	}
	if back {
		// Travel points the other way; a left curve seen forwards is a right
		// one seen in reverse.
		sg.Theta += math.Pi
		sg.Curve = -curve
	}
	b.segs = append(b.segs, sg)
	b.lengthM += lengthM
	b.here = sg.end()
	if back {
		b.here.theta -= math.Pi
	}
}

// goTo places the tractor if it has not been placed yet, else drives it there
// by the shortest path of arcs of the given radius and lines.
func (b *builder) goTo(to pose, radiusM, speedMPS float64) {
	if !b.started {
		b.here, b.started = to, true
		return
	}
	for _, leg := range shortestTurn(b.here, to, radiusM) {
		b.add(leg.lengthM, leg.curve, speedMPS, -1)
	}
	b.here = to
}

// fishtail turns between two opposite parallel passes that lie closer than the
// turning circle: a quarter turn, a piece in reverse, a quarter turn.
func (b *builder) fishtail(to pose, radiusM, speedMPS float64) bool {
	s, c := math.Sincos(b.here.theta)
	d := to.at.sub(b.here.at)
	side := d.dot(Point{-s, c}) // to the left
	opposite := math.Abs(math.Remainder(to.theta-b.here.theta-math.Pi, 2*math.Pi)) < 1e-9
	if !opposite || math.Abs(side) >= 2*radiusM {
		return false
	}
	curve := math.Copysign(1/radiusM, side)
	along := d.dot(Point{c, s})
	b.add(max(along, 0), 0, speedMPS, -1)
	b.add(radiusM*math.Pi/2, curve, speedMPS, -1)
	b.add(-(2*radiusM - math.Abs(side)), 0, speedMPS/2, -1)
	b.add(radiusM*math.Pi/2, curve, speedMPS, -1)
	b.add(max(-along, 0), 0, speedMPS, -1)
	b.here = to
	return true
}

// ring drives once round the outline, corners rounded with the radius, starting
// and ending at mid of the given edge.
func (b *builder) ring(pg polygon, edge int, radiusM, speedMPS float64, pass int) error {
	n := len(pg)
	from := pg[edge].add(pg[(edge+1)%n]).mul(0.5)
	for i := range n {
		corner, next := pg[(edge+1+i)%n], pg[(edge+2+i)%n]
		in, out := corner.sub(from), next.sub(corner)
		turn := math.Atan2(in.cross(out), in.dot(out))
		cut := radiusM * math.Tan(math.Abs(turn)/2)
		if i == n-1 {
			next = pg[edge].add(pg[(edge+1)%n]).mul(0.5)
			out = next.sub(corner)
		}
		if cut > in.len() || cut > out.len() {
			return fmt.Errorf("an edge of the headland pass is too short to turn with radius %g m", radiusM)
		}
		b.add(in.len()-cut, 0, speedMPS, pass)
		b.add(radiusM*math.Abs(turn), math.Copysign(1/radiusM, turn), speedMPS, pass)
		unit := out.mul(1 / out.len())
		from = corner.add(unit.mul(cut))
		b.here.at = from
	}
	last := pg[edge].add(pg[(edge+1)%n]).mul(0.5).sub(from)
	b.add(last.len(), 0, speedMPS, pass)
	return nil
}
