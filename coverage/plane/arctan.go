package plane

import "math"

// arctanBase is arctan of 0, 1/2, 1, 3/2 and infinity, arctanTail what the
// doubles lack of the true values.
var (
	arctanBase = [...]float64{0, 4.63647609000806093515e-01, 7.85398163397448278999e-01, 9.82793723247329054082e-01, 1.57079632679489655800e+00}
	arctanTail = [...]float64{0, 2.26987774529616870924e-17, 3.06161699786838301793e-17, 1.39033110312309984516e-17, 6.12323399573676603587e-17}
)

// Atan returns the angle in [-Pi/2, Pi/2] whose tangent is x, within 1 ulp. NaN
// gives NaN.
func Atan(x float64) float64 {
	if math.IsNaN(x) {
		return math.NaN()
	}
	a := math.Abs(x)
	base := 0
	switch {
	case a >= 0x1p66:
		return math.Copysign(arctanBase[4]+arctanTail[4], x)
	case a < 0.4375:
	case a < 0.6875:
		base, a = 1, (float64(2*a)-1)/(2+a)
	case a < 1.1875:
		base, a = 2, (a-1)/(a+1)
	case a < 2.4375:
		base, a = 3, (a-1.5)/(1+float64(1.5*a))
	default:
		base, a = 4, -1/a
	}
	p := float64(a * arctanPoly(a))
	if base == 0 {
		return math.Copysign(a-p, x)
	}
	return math.Copysign(arctanBase[base]-((p-arctanTail[base])-a), x)
}

// arctanPoly is 1 - arctan(x)/x for |x| <= 0.4375.
func arctanPoly(x float64) float64 {
	const (
		a0  = 3.33333333333329318027e-01
		a1  = -1.99999999998764832476e-01
		a2  = 1.42857142725034663711e-01
		a3  = -1.11111104054623557880e-01
		a4  = 9.09088713343650656196e-02
		a5  = -7.69187620504482999495e-02
		a6  = 6.66107313738753120669e-02
		a7  = -5.83357013379057348645e-02
		a8  = 4.97687799461593236017e-02
		a9  = -3.65315727442169155270e-02
		a10 = 1.62858201153657823623e-02
	)
	z := float64(x * x)
	w := float64(z * z)
	even := float64(z * (a0 + float64(w*(a2+float64(w*(a4+float64(w*(a6+float64(w*(a8+float64(w*a10)))))))))))
	odd := float64(w * (a1 + float64(w*(a3+float64(w*(a5+float64(w*(a7+float64(w*a9)))))))))
	return even + odd
}

// Atan2 returns the angle in [-Pi, Pi] from the x axis to the point (x, y),
// anticlockwise, within 2 ulp. As in IEEE 754-2019, section 9.2, the signs of
// zeros count: Atan2(-0, -1) is -Pi, Atan2(0, 0) is 0, and infinities lie in the
// direction they point to. NaN gives NaN.
func Atan2(y, x float64) float64 {
	const tail = 1.2246467991473531772e-16 // what the double Pi lacks of the true one
	switch {
	case math.IsNaN(x) || math.IsNaN(y):
		return math.NaN()
	case math.IsInf(x, 0) && math.IsInf(y, 0):
		x, y = math.Copysign(1, x), math.Copysign(1, y)
	case x == 0 && y == 0:
		x = math.Copysign(1, x)
	}
	a := Atan(math.Abs(y / x)) // y/0 is an infinity, of angle Pi/2
	if math.Signbit(x) && a < HalfPi {
		a = Pi - (a - tail)
	}
	return math.Copysign(a, y)
}
