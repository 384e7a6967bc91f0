package sim

import "math"

// leg is a piece of a turn: an arc (curve in 1/m, left positive) or a line.
type leg struct{ lengthM, curve float64 }

// shortestTurn is the shortest forward path between two poses made of arcs of
// one radius and lines: L. E. Dubins, On curves of minimal length with a
// constraint on average curvature, American Journal of Mathematics 79 (1957)
// 497-516 (from memory). Between neighbouring passes closer than the turning
// circle it is the bulb turn that drivers make.
func shortestTurn(from, to pose, radiusM float64) []leg {
	d := to.at.sub(from.at)
	dist, dir := d.len()/radiusM, math.Atan2(d.Y, d.X)
	a, b := wrap(from.theta-dir), wrap(to.theta-dir)
	sa, ca := math.Sincos(a)
	sb, cb := math.Sincos(b)
	cab := math.Cos(a - b)

	best := math.Inf(1)
	var out []leg
	consider := func(t, p, q float64, k1, k2, k3 float64) {
		if t+p+q >= best {
			return
		}
		best = t + p + q
		out = []leg{{t * radiusM, k1 / radiusM}, {p * radiusM, k2 / radiusM}, {q * radiusM, k3 / radiusM}}
	}
	if p2 := 2 + dist*dist - 2*cab + 2*dist*(sa-sb); p2 >= 0 { // left, straight, left
		x := math.Atan2(cb-ca, dist+sa-sb)
		consider(wrap(x-a), math.Sqrt(p2), wrap(b-x), 1, 0, 1)
	}
	if p2 := 2 + dist*dist - 2*cab + 2*dist*(sb-sa); p2 >= 0 { // right, straight, right
		x := math.Atan2(ca-cb, dist-sa+sb)
		consider(wrap(a-x), math.Sqrt(p2), wrap(x-b), -1, 0, -1)
	}
	if p2 := dist*dist - 2 + 2*cab + 2*dist*(sa+sb); p2 >= 0 { // left, straight, right
		p := math.Sqrt(p2)
		x := math.Atan2(-ca-cb, dist+sa+sb) - math.Atan2(-2, p)
		consider(wrap(x-a), p, wrap(x-b), 1, 0, -1)
	}
	if p2 := dist*dist - 2 + 2*cab - 2*dist*(sa+sb); p2 >= 0 { // right, straight, left
		p := math.Sqrt(p2)
		x := math.Atan2(ca+cb, dist-sa-sb) - math.Atan2(2, p)
		consider(wrap(a-x), p, wrap(b-x), -1, 0, 1)
	}
	if c := (6 - dist*dist + 2*cab + 2*dist*(sa-sb)) / 8; math.Abs(c) <= 1 { // right, left, right
		p := wrap(2*math.Pi - math.Acos(c))
		t := wrap(a - math.Atan2(ca-cb, dist-sa+sb) + p/2)
		consider(t, p, wrap(a-b-t+p), -1, 1, -1)
	}
	if c := (6 - dist*dist + 2*cab + 2*dist*(sb-sa)) / 8; math.Abs(c) <= 1 { // left, right, left
		p := wrap(2*math.Pi - math.Acos(c))
		t := wrap(-a + math.Atan2(-ca+cb, dist+sa-sb) + p/2)
		consider(t, p, wrap(b-a-t+p), 1, -1, 1)
	}
	return out
}

// wrap brings an angle into [0, 2π), taking what is a hair short of a full turn
// for none: a needless circle would be driven otherwise.
func wrap(rad float64) float64 {
	rad = math.Mod(rad, 2*math.Pi)
	if rad < 0 {
		rad += 2 * math.Pi
	}
	if 2*math.Pi-rad < 1e-9 {
		return 0
	}
	return rad
}
