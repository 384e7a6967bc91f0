package plane

import "math"

// ln 2 in two pieces: a whole number below 2^20 times the first is exact.
const (
	ln2Hi = 6.93147180369123816490e-01
	ln2Lo = 1.90821492927058770002e-10
)

// Exp returns e to the power x within 1 ulp: 0 below about -745.13, +Inf above
// about 709.78. NaN gives NaN.
func Exp(x float64) float64 {
	const (
		p1 = 1.66666666666666019037e-01
		p2 = -2.77777777770155933842e-03
		p3 = 6.61375632143793436117e-05
		p4 = -1.65339022054652515390e-06
		p5 = 4.13813679705723846039e-08
	)
	switch {
	case math.IsNaN(x):
		return math.NaN()
	case x > 7.09782712893383973096e+02:
		return math.Inf(1)
	case x < -7.45133219101941108420e+02:
		return 0
	}
	k := math.Round(x * (1 / math.Ln2))
	hi, lo := x-float64(k*ln2Hi), float64(k*ln2Lo)
	r := hi - lo
	t := float64(r * r)
	c := r - float64(t*(p1+float64(t*(p2+float64(t*(p3+float64(t*(p4+float64(t*p5)))))))))
	y := 1 - ((lo - float64(r*c)/(2-c)) - hi)
	return scale(y, int(k))
}

// scale is y times 2^k for |k| < 1100, in two steps so that each power is a
// normal number.
func scale(y float64, k int) float64 {
	half := k / 2
	return float64(float64(y*pow2(half)) * pow2(k-half))
}

// pow2 is 2^k for |k| < 1023.
func pow2(k int) float64 {
	return math.Float64frombits(uint64(k+1023) << 52)
}

// Log returns the natural logarithm of x within 1 ulp: -Inf for 0, +Inf for
// +Inf, NaN below 0 and for NaN.
func Log(x float64) float64 {
	const (
		l1 = 6.666666666666735130e-01
		l2 = 3.999999999940941908e-01
		l3 = 2.857142874366239149e-01
		l4 = 2.222219843214978396e-01
		l5 = 1.818357216161805012e-01
		l6 = 1.531383769920937332e-01
		l7 = 1.479819860511658591e-01
	)
	switch {
	case math.IsNaN(x) || x < 0:
		return math.NaN()
	case x == 0:
		return math.Inf(-1)
	case math.IsInf(x, 1):
		return x
	}
	k := 0.0
	if x < 0x1p-1022 {
		x, k = x*0x1p54, -54
	}
	// x = 2^k * m with m in [sqrt(1/2), sqrt(2))
	bits := math.Float64bits(x)
	k += float64(int(bits>>52) - 1023)
	m := math.Float64frombits(bits&(1<<52-1) | 1023<<52)
	if m >= math.Sqrt2 {
		m /= 2
		k++
	}
	f := m - 1
	s := f / (2 + f)
	z := float64(s * s)
	w := float64(z * z)
	odd := float64(z * (l1 + float64(w*(l3+float64(w*(l5+float64(w*l7)))))))
	even := float64(w * (l2 + float64(w*(l4+float64(w*l6)))))
	half := float64(0.5 * float64(f*f))
	return float64(k*ln2Hi) - ((half - (float64(s*(half+(odd+even))) + float64(k*ln2Lo))) - f)
}

// Hypot returns the length of the vector (x, y), within 1.25 ulp and without
// overflow or underflow on the way. An infinity gives +Inf, even beside a NaN;
// else NaN gives NaN.
func Hypot(x, y float64) float64 {
	switch {
	case math.IsInf(x, 0) || math.IsInf(y, 0):
		return math.Inf(1)
	case math.IsNaN(x) || math.IsNaN(y):
		return math.NaN()
	}
	const low, high = 0x1p-450, 0x1p500 // squares between these keep all their bits
	factor := 1.0
	switch m := max(math.Abs(x), math.Abs(y)); {
	case m > high:
		factor = 0x1p-600
	case m < low:
		factor = 0x1p600
	}
	x, y = x*factor, y*factor
	return math.Sqrt(float64(x*x)+float64(y*y)) / factor
}
