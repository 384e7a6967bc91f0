package coverage

import "drawbar/coverage/plane"

// station is the machine at one moment. Points are metres on the plane,
// headings radians clockwise from grid north.
type station struct {
	tNS            int64
	latDeg, lonDeg float64 // the antenna
	at             xy      // the antenna, standing noise taken out
	hitch          xy
	headingRad     float64 // of the tractor
	implementRad   float64
	bar            []plane.Coord // section ends, left to right; empty without an implement

	joined  bool // the way from the station before may be painted
	restart bool // the way the implement trails is not known any more
	back    bool // the station before was far off: go on from the one before it
	good    bool // quality is not below the set one
}

// copyFrom copies o, keeping s's own storage for the bar.
func (s *station) copyFrom(o *station) {
	bar := append(s.bar[:0], o.bar...)
	*s = *o
	s.bar = bar
}

// between puts s at the moment tNS on the way from a to b.
func (s *station) between(a, b *station, tNS int64) {
	f := share(a.tNS, b.tNS, tNS)
	bar := s.bar[:0]
	if len(a.bar) == len(b.bar) {
		bar = barBetween(bar, a.bar, b.bar, f)
	}
	*s = *b
	s.tNS, s.bar = tNS, bar
	s.latDeg, s.lonDeg = mix(a.latDeg, b.latDeg, f), mix(a.lonDeg, b.lonDeg, f)
	s.at, s.hitch = a.at.lerp(b.at, f), a.hitch.lerp(b.hitch, f)
	s.headingRad = mixAngle(a.headingRad, b.headingRad, f)
	s.implementRad = mixAngle(a.implementRad, b.implementRad, f)
}

// share is how far t lies on the way from a to b, in [0, 1].
func share(aNS, bNS, tNS int64) float64 {
	if bNS <= aNS {
		return 1
	}
	return max(0, min(1, float64(tNS-aNS)/float64(bNS-aNS)))
}
