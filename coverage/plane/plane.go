package plane

import "math"

// The reach of a plane: farther from the origin, or nearer to a pole, Forward
// has no answer.
const (
	MaxReachM = 300e3
	MaxLatDeg = 89.9
)

// maxInverseM bounds what Inverse takes, well beyond what Forward gives.
const maxInverseM = 1e6

// Plane is a transverse Mercator projection of the WGS 84 ellipsoid: x metres
// east, y metres north of its origin, scale 1 on the meridian through the
// origin. It never changes; any number of goroutines may use one. The zero
// Plane has no origin and knows no point.
type Plane struct {
	latDeg, lonDeg float64 // origin
	radiusM        float64 // rectifying radius times the scale; 0 = no plane
	e2             float64 // first eccentricity squared
	northing       float64 // of the origin, in radii
	alpha, beta    series
}

// New returns the plane with its origin at latDeg north, lonDeg east, degrees
// WGS 84. The longitude may be any number of turns off. An origin that is not
// on the Earth, not a number or beyond MaxLatDeg makes a plane whose Forward
// answers false for every point.
func New(latDeg, lonDeg float64) *Plane {
	return newPlane(wgs84, 1, latDeg, lonDeg)
}

func newPlane(e ellipsoid, scale, latDeg, lonDeg float64) *Plane {
	if !onEarth(latDeg, lonDeg) {
		return &Plane{}
	}
	f := 1 / e.flattening
	n := f / (2 - f)
	p := &Plane{
		latDeg:  latDeg,
		lonDeg:  wrapDeg(lonDeg),
		radiusM: rectifyingRadiusM(e.semiMajorM, n) * scale,
		e2:      float64(f * (2 - f)),
		alpha:   newSeries(n, &alphaRows),
		beta:    newSeries(n, &betaRows),
	}
	s := p.onSphere(latDeg, 0)
	p.northing, _ = p.toPlane(s)
	return p
}

// onEarth tells whether a position can be projected at all. The comparisons are
// false for NaN.
func onEarth(latDeg, lonDeg float64) bool {
	return math.Abs(latDeg) <= MaxLatDeg && math.Abs(lonDeg) <= math.MaxFloat64
}

// Origin returns where (0, 0) is, degrees WGS 84, the longitude in (-180, 180].
func (p *Plane) Origin() (latDeg, lonDeg float64) {
	return p.latDeg, p.lonDeg
}

// Forward returns where a position lies on the plane, in metres east and north
// of the origin, to a few nanometres (Karney 2011, section 3). latDeg and
// lonDeg are degrees WGS 84; longitudes count modulo 360. ok is false, and the
// metres 0, if the position is not on the Earth, beyond MaxLatDeg, or more than
// MaxReachM away in x or y.
func (p *Plane) Forward(latDeg, lonDeg float64) (xM, yM float64, ok bool) {
	s, ok := p.reach(latDeg, lonDeg)
	if !ok {
		return 0, 0, false
	}
	xi, eta := p.toPlane(s)
	xM, yM = float64(eta*p.radiusM), float64((xi-p.northing)*p.radiusM)
	if math.Abs(xM) > MaxReachM || math.Abs(yM) > MaxReachM {
		return 0, 0, false
	}
	return xM, yM, true
}

// ForwardCoord is Forward snapped to the grid.
func (p *Plane) ForwardCoord(latDeg, lonDeg float64) (Coord, bool) {
	x, y, ok := p.Forward(latDeg, lonDeg)
	return Snap(x, y), ok
}

// Convergence returns the bearing of grid north at a position, in radians
// clockwise from true north: grid heading = true heading - convergence. North
// of the equator it is positive east of the origin. It is 0 where Forward has no answer.
func (p *Plane) Convergence(latDeg, lonDeg float64) float64 {
	s, ok := p.reach(latDeg, lonDeg)
	if !ok {
		return 0
	}
	// On the sphere, then what the series adds (Karney 2011, equations 23 to 25,
	// in the form of the direction of d(plane)/d(sphere)).
	onSphere := Atan2(float64(s.sinLon*s.sinLat), s.cosLon)
	d := p.alpha
	for j := range d {
		d[j] *= float64(2 * (j + 1))
	}
	_, _, wr, wi := s.doubled()
	b1r, b1i, b2r, b2i := d.clenshaw(wr, wi)
	r, i := product(b1r, b1i, wr, wi)
	return onSphere - Atan2(i-b2i, 1+r-b2r)
}

// Inverse returns the position at xM metres east, yM metres north, degrees WGS
// 84, the longitude in (-180, 180]. It is accurate wherever Forward answers
// true; beyond 1,000 km the point is brought back to that line, and NaN counts
// as 0.
func (p *Plane) Inverse(xM, yM float64) (latDeg, lonDeg float64) {
	if p.radiusM == 0 {
		return 0, 0
	}
	return p.inverse(p.northing+bound(yM)/p.radiusM, bound(xM)/p.radiusM)
}

// inverse returns the position at a northing from the equator and an easting, in
// radii.
func (p *Plane) inverse(xi, eta float64) (latDeg, lonDeg float64) {
	sin, cos := Sincos(2 * xi)
	sinh, cosh := sinhCosh(2 * eta)
	b1r, b1i, _, _ := p.beta.clenshaw(float64(cos*cosh), -float64(sin*sinh))
	dXi, dEta := product(b1r, b1i, float64(sin*cosh), float64(cos*sinh))
	sin, cos = Sincos(xi - dXi)
	sinh, _ = sinhCosh(eta - dEta)

	lon := Atan2(sinh, cos)
	// tangent of the conformal latitude
	tau := p.geodeticTan(sin / Hypot(sinh, cos))
	return float64(Atan(tau) * RadToDeg), wrapDeg(p.lonDeg + float64(lon*RadToDeg))
}

// InverseCoord is Inverse of a grid point.
func (p *Plane) InverseCoord(c Coord) (latDeg, lonDeg float64) {
	return p.Inverse(c.M())
}

func bound(m float64) float64 {
	if math.IsNaN(m) {
		return 0
	}
	return max(-maxInverseM, min(m, maxInverseM))
}

func sinhCosh(x float64) (sinh, cosh float64) {
	e := Exp(x)
	return (e - 1/e) / 2, (e + 1/e) / 2
}

// wrapDeg brings a finite angle in degrees into (-180, 180].
func wrapDeg(deg float64) float64 {
	if deg > -180 && deg <= 180 {
		return deg
	}
	deg = math.Mod(deg, 360)
	switch {
	case deg > 180:
		return deg - 360
	case deg <= -180:
		return deg + 360
	default:
		return deg
	}
}
