package plane

// ellipsoid is a figure of the Earth: half its greater axis in metres and the
// reciprocal of its flattening.
type ellipsoid struct {
	semiMajorM float64
	flattening float64 // reciprocal, no unit
}

// wgs84 has the defining constants of WGS 84: NGA.STND.0036, World Geodetic
// System 1984, table 3.1.
var wgs84 = ellipsoid{semiMajorM: 6378137, flattening: 298.257223563}

// series holds the coefficients of sin 2z, sin 4z ... sin 12z.
type series [6]float64

// The Krüger series to the sixth power of the third flattening n: alpha from
// the conformal sphere to the plane, beta back. Row j holds the factors of n^j,
// n^(j+1) ... n^6.
//
// L. Krüger, Konforme Abbildung des Erdellipsoids in der Ebene (1912); C. F. F.
// Karney, Transverse Mercator with an accuracy of a few nanometers, J. Geodesy
// 85, 475-485 (2011), equations 35 and 36; doi 10.1007/s00190-011-0445-3.
var (
	alphaRows = [6][]float64{
		{1. / 2, -2. / 3, 5. / 16, 41. / 180, -127. / 288, 7891. / 37800},
		{13. / 48, -3. / 5, 557. / 1440, 281. / 630, -1983433. / 1935360},
		{61. / 240, -103. / 140, 15061. / 26880, 167603. / 181440},
		{49561. / 161280, -179. / 168, 6601661. / 7257600},
		{34729. / 80640, -3418889. / 1995840},
		{212378941. / 319334400},
	}
	betaRows = [6][]float64{
		{1. / 2, -2. / 3, 37. / 96, -1. / 360, -81. / 512, 96199. / 604800},
		{1. / 48, 1. / 15, -437. / 1440, 46. / 105, -1118711. / 3870720},
		{17. / 480, -37. / 840, -209. / 4480, 5569. / 90720},
		{4397. / 161280, -11. / 504, -830251. / 7257600},
		{4583. / 161280, -108847. / 3991680},
		{20648693. / 638668800},
	}
)

// newSeries evaluates rows of factors at the third flattening n.
func newSeries(n float64, rows *[6][]float64) (s series) {
	power := 1.0
	for j, row := range rows {
		power *= n
		s[j] = float64(power * polynomial(n, row))
	}
	return s
}

// polynomial is c[0] + c[1] x + c[2] x^2 ...
func polynomial(x float64, c []float64) float64 {
	y := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		y = c[i] + float64(y*x)
	}
	return y
}

// rectifyingRadiusM is the radius of the sphere whose meridian is as long as
// the ellipsoid's (Karney 2011, equation 14).
func rectifyingRadiusM(semiMajorM, n float64) float64 {
	n2 := float64(n * n)
	return semiMajorM / (1 + n) * polynomial(n2, []float64{1, 1. / 4, 1. / 64, 1. / 256})
}

// clenshaw runs the recurrence b[k] = s[k] + 2 w b[k+1] - b[k+2] down to b[1],
// w = cos 2z = (wr, wi) complex, and returns b[1] and b[2]. The sum of
// s[j] sin 2jz is then b[1] sin 2z, that of s[j] cos 2jz is b[1] w - b[2].
func (s *series) clenshaw(wr, wi float64) (b1r, b1i, b2r, b2i float64) {
	wr, wi = 2*wr, 2*wi
	for j := len(s) - 1; j >= 0; j-- {
		r, i := product(wr, wi, b1r, b1i)
		b1r, b1i, b2r, b2i = s[j]+r-b2r, i-b2i, b1r, b1i
	}
	return b1r, b1i, b2r, b2i
}

// product multiplies two complex numbers without fusing.
func product(ar, ai, br, bi float64) (r, i float64) {
	return float64(ar*br) - float64(ai*bi), float64(ar*bi) + float64(ai*br)
}
