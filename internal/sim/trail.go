package sim

import (
	"math"

	"drawbar/coverage"
)

// barState is the bar at one moment: its centre, where the implement points
// (rad, counter-clockwise from east), how fast its centre moves along that and
// how fast it swings (rad/s, counter-clockwise).
type barState struct {
	t, s   float64 // time and path length of the antenna
	v      float64 // antenna along its path, m/s, never negative
	at     Point
	phi    float64
	fwdMPS float64
	swing  float64
}

// forwardMPS is the forward speed of the bar y metres right of its centre.
func (b barState) forwardMPS(y float64) float64 { return b.fwdMPS + b.swing*y }

// point is the place y metres right of the bar's centre.
func (b barState) point(y float64) Point {
	s, c := math.Sincos(b.phi)
	return Point{b.at.X + s*y, b.at.Y - c*y}
}

// trail is how the implement follows: rigidly, or on its hitch as a trailed
// wheel that cannot slip sideways,
//
//	dφ/ds = h'(s)·n(φ) / L,  h the hitch, n the implement's left, L hitch to axle.
type trail struct {
	im  coverage.Implement
	phi float64
}

// hitch is the hitch's place and its movement per metre of the antenna's path,
// for the antenna u metres into the segment; nose is where the tractor points.
func (tr *trail) hitch(sg *Segment, u float64) (at, per Point, nose float64) {
	p := sg.at(u)
	nose = p.theta
	if sg.Reverse {
		nose -= math.Pi
	}
	sn, cn := math.Sincos(nose)
	// From the antenna to the hitch: left by AntennaRightM, back by AntennaToHitchM.
	arm := Point{
		-sn*tr.im.AntennaRightM - cn*tr.im.AntennaToHitchM,
		cn*tr.im.AntennaRightM - sn*tr.im.AntennaToHitchM,
	}
	st, ct := math.Sincos(p.theta)
	per = Point{ct - sg.Curve*arm.Y, st + sg.Curve*arm.X}
	return p.at.add(arm), per, nose
}

// slope is dφ/ds.
func (tr *trail) slope(sg *Segment, u, phi float64) float64 {
	_, per, _ := tr.hitch(sg, u)
	s, c := math.Sincos(phi)
	return (per.Y*c - per.X*s) / tr.im.HitchToAxleM
}

// maxStepM is the longest step of travel in which a trailed implement is integrated.
const maxStepM = 0.01

// advance moves the antenna from u to u+h along the segment; a trailed
// implement by classical Runge-Kutta steps of at most maxStepM.
func (tr *trail) advance(sg *Segment, u, h float64) {
	if mounted(tr.im) {
		return
	}
	n := int(math.Ceil(h/maxStepM - 1e-9))
	for i := range n {
		d := h / float64(n)
		x := u + d*float64(i)
		k1 := tr.slope(sg, x, tr.phi)
		k2 := tr.slope(sg, x+d/2, tr.phi+d/2*k1)
		k3 := tr.slope(sg, x+d/2, tr.phi+d/2*k2)
		k4 := tr.slope(sg, x+d, tr.phi+d*k3)
		tr.phi += d / 6 * (k1 + 2*k2 + 2*k3 + k4)
	}
}

// state is the bar with the antenna u metres into the segment at speed v.
func (tr *trail) state(sg *Segment, u, t, s, v float64) barState {
	h, per, nose := tr.hitch(sg, u)
	var turn float64 // dφ/ds
	phi := nose
	if mounted(tr.im) {
		turn = sg.Curve
	} else {
		phi = tr.phi
	}
	sn, cn := math.Sincos(phi)
	if !mounted(tr.im) {
		turn = (per.Y*cn - per.X*sn) / tr.im.HitchToAxleM
	}
	b := barState{t: t, s: s, v: v, phi: phi, swing: v * turn}
	b.at = Point{
		h.X - cn*tr.im.HitchToBarM + sn*tr.im.BarRightM,
		h.Y - sn*tr.im.HitchToBarM - cn*tr.im.BarRightM,
	}
	b.fwdMPS = v*(per.X*cn+per.Y*sn) + b.swing*tr.im.BarRightM
	return b
}
