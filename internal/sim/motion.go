package sim

import (
	"math"
	"sort"
)

// move is a time of constant acceleration on one segment, or of standing.
type move struct {
	t0, forS float64 // s from the start
	s0       float64 // path length at t0, m
	v0, a    float64 // m/s, m/s2
	seg      int     // index of the segment
}

// motion is when the antenna is where on its path.
type motion struct {
	segs  []Segment
	moves []move
	segS0 []float64 // path length at which each segment starts, m
	endS  float64   // when all is over
	fills []float64 // middle of each stop, s
}

// newMotion times the plan: each segment's speed is kept as far as the
// acceleration allows, with a stand before, at stops and after. What is still on
// its way when the tractor stops, afterS at most, lands before the end.
func newMotion(pl *Plan, d Drive, afterS float64) *motion {
	m := &motion{segs: pl.Segments}
	n := len(pl.Segments)
	// Highest speed at the joints, then what braking and accelerating allow.
	joint := make([]float64, n+1)
	for i := 1; i < n; i++ {
		a, b := &pl.Segments[i-1], &pl.Segments[i]
		if a.StopS == 0 && a.Reverse == b.Reverse {
			joint[i] = min(a.SpeedMPS, b.SpeedMPS)
		}
	}
	for i := n - 1; i >= 0; i-- {
		joint[i] = min(joint[i], math.Sqrt(joint[i+1]*joint[i+1]+2*d.AccelMPS2*pl.Segments[i].LengthM))
	}
	for i := range n {
		joint[i+1] = min(joint[i+1], math.Sqrt(joint[i]*joint[i]+2*d.AccelMPS2*pl.Segments[i].LengthM))
	}
	t, s := 0.0, 0.0
	put := func(seg int, forS, v0, a float64) {
		if forS > 0 {
			m.moves = append(m.moves, move{t, forS, s, v0, a, seg})
			t += forS
		}
	}
	put(0, d.StandS, 0, 0)
	for i := range n {
		sg := &pl.Segments[i]
		m.segS0 = append(m.segS0, s)
		v0, v1, a := joint[i], joint[i+1], d.AccelMPS2
		// Peak speed of a short segment, in which the wanted one is not reached.
		peak := min(sg.SpeedMPS, math.Sqrt((v0*v0+v1*v1)/2+a*sg.LengthM))
		up, down := (peak*peak-v0*v0)/(2*a), (peak*peak-v1*v1)/(2*a)
		begin := s
		put(i, (peak-v0)/a, v0, a)
		s = begin + up
		put(i, max(0, sg.LengthM-up-down)/peak, peak, 0)
		s = begin + sg.LengthM - down
		put(i, (peak-v1)/a, peak, -a)
		s = begin + sg.LengthM
		if sg.StopS > 0 {
			m.fills = append(m.fills, t+sg.StopS/2)
		}
		put(i, sg.StopS, 0, 0)
	}
	put(n-1, max(d.StandS, afterS), 0, 0)
	m.endS = t
	return m
}

// seeker reads a motion at times that mostly grow.
type seeker struct {
	m *motion
	i int
}

// at is the path length, speed and segment at time t. Before the start and
// after the end the tractor stands.
func (k *seeker) at(t float64) (s, v float64, seg int) {
	mv := k.m.moves
	if t < mv[k.i].t0 {
		k.i = max(0, sort.Search(len(mv), func(i int) bool { return mv[i].t0 > t })-1)
	}
	for k.i+1 < len(mv) && t >= mv[k.i+1].t0 {
		k.i++
	}
	c := &mv[k.i]
	dt := min(max(t-c.t0, 0), c.forS)
	return c.s0 + (c.v0+c.a*dt/2)*dt, c.v0 + c.a*dt, c.seg
}

// truePose is where the antenna is, where the tractor points (rad, counter-
// clockwise from east), and its speed along its nose (negative in reverse).
func (k *seeker) truePose(t float64) (at Point, nose, speedMPS float64) {
	s, v, seg := k.at(t)
	sg := &k.m.segs[seg]
	p := sg.at(s - k.m.segS0[seg])
	if sg.Reverse {
		return p.at, p.theta - math.Pi, -v
	}
	return p.at, p.theta, v
}

// timeAt is when the antenna has done s metres of path.
func (m *motion) timeAt(s float64) float64 {
	i := max(0, sort.Search(len(m.moves), func(i int) bool { return m.moves[i].s0 >= s })-1)
	c := &m.moves[i]
	d := s - c.s0
	if c.a == 0 {
		if c.v0 == 0 {
			return c.t0 + c.forS
		}
		return c.t0 + d/c.v0
	}
	v := math.Sqrt(max(0, c.v0*c.v0+2*c.a*d))
	return c.t0 + 2*d/(c.v0+v)
}
