package plane

import "math"

// spherePoint is a position carried to the conformal sphere: longitude from the
// central meridian, conformal latitude, and the point's distance from the
// central meridian as tanh(eta).
type spherePoint struct {
	sinLat, cosLat float64 // conformal latitude
	sinLon, cosLon float64 // from the central meridian
	tanhEta        float64
}

// onSphere carries a position to the conformal sphere (Karney 2011, equations 7
// to 9). dLonDeg is the longitude from the central meridian.
func (p *Plane) onSphere(latDeg, dLonDeg float64) (s spherePoint) {
	sin, cos := Sincos(latDeg * DegToRad)
	s.sinLon, s.cosLon = Sincos(dLonDeg * DegToRad)
	// tangent of the conformal latitude, times the cosine of the geodetic one
	sigma := p.sigma(sin)
	num := float64(sin*math.Sqrt(1+float64(sigma*sigma))) - sigma
	h := math.Sqrt(float64(num*num) + float64(cos*cos))
	s.sinLat, s.cosLat = num/h, cos/h
	s.tanhEta = float64(s.sinLon * s.cosLat)
	return s
}

// sigma is sinh(e artanh(e sin)) of the sine of a geodetic latitude, by powers
// of e2: the first term left out is below 1e-18 for an Earth's flattening.
func (p *Plane) sigma(sin float64) float64 {
	z := float64(p.e2 * float64(sin*sin))
	x := float64(p.e2*sin) * (1 + float64(z*(1./3+float64(z*(1./5+float64(z*(1./7+float64(z*(1./9+float64(z*(1./11+float64(z*(1./13)))))))))))))
	z = float64(x * x)
	return float64(x * (1 + float64(z*(1./6+float64(z*(1./120+float64(z*(1./5040))))))))
}

// reach returns a position on the sphere; ok is false for one that is surely
// too far away, where the series would not hold.
func (p *Plane) reach(latDeg, lonDeg float64) (s spherePoint, ok bool) {
	if p.radiusM == 0 || !onEarth(latDeg, lonDeg) {
		return s, false
	}
	s = p.onSphere(latDeg, wrapDeg(wrapDeg(lonDeg)-p.lonDeg))
	return s, math.Abs(s.tanhEta) < 0.1
}

// doubled returns sin 2z and cos 2z, each as real and imaginary part, of the
// point's transverse coordinates z = xi + i eta on the sphere.
func (s *spherePoint) doubled() (sinRe, sinIm, cosRe, cosIm float64) {
	// sin xi = sinLat/h and cos xi = cosLat cosLon/h with h2 = 1 - tanh(eta)^2
	t := s.tanhEta
	t2 := float64(t * t)
	h2 := 1 - t2
	c := float64(s.cosLat * s.cosLon)
	sin := 2 * s.sinLat * c / h2
	cos := (float64(c*c) - float64(s.sinLat*s.sinLat)) / h2
	sinh, cosh := 2*t/h2, (1+t2)/h2
	return float64(sin * cosh), float64(cos * sinh), float64(cos * cosh), -float64(sin * sinh)
}

// toPlane returns a point's northing from the equator and easting, in radii.
func (p *Plane) toPlane(s spherePoint) (xi, eta float64) {
	sr, si, wr, wi := s.doubled()
	b1r, b1i, _, _ := p.alpha.clenshaw(wr, wi)
	dXi, dEta := product(b1r, b1i, sr, si)
	xi = Atan2(s.sinLat, float64(s.cosLat*s.cosLon))
	return xi + dXi, artanh(s.tanhEta) + dEta
}

// artanh is by its powers up to x^15, enough for |x| <= 0.1.
func artanh(x float64) float64 {
	z := float64(x * x)
	return float64(x * (1 + float64(z*(1./3+float64(z*(1./5+float64(z*(1./7+float64(z*(1./9+float64(z*(1./11+float64(z*(1./13+float64(z*(1./15))))))))))))))))
}

// geodeticTan turns the tangent of a conformal latitude to that of the geodetic
// one by Newton's rule (Karney 2011, equations 19 to 21). Three steps reach the
// last bit; a fixed number keeps every machine on the same path.
func (p *Plane) geodeticTan(conformal float64) float64 {
	tau := conformal / math.Sqrt(1-p.e2)
	for range 3 {
		sec := math.Sqrt(1 + float64(tau*tau))
		sigma := p.sigma(tau / sec)
		got := float64(tau*math.Sqrt(1+float64(sigma*sigma))) - float64(sigma*sec)
		slope := float64((1-p.e2)*math.Sqrt(1+float64(got*got))) * sec / (1 + float64((1-p.e2)*float64(tau*tau)))
		tau += (conformal - got) / slope
	}
	return tau
}
