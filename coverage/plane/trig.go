package plane

import "math"

// The reductions, polynomials and coefficients of this file, of arctan.go and
// of explog.go are those of fdlibm, rewritten so that no product can be fused:
//
//	Copyright (C) 1993 by Sun Microsystems, Inc. All rights reserved.
//	Developed at SunPro, a Sun Microsystems, Inc. business.
//	Permission to use, copy, modify, and distribute this software is freely
//	granted, provided that this notice is preserved.

// Angles in radians, the doubles nearest to the true values.
const (
	Pi     = math.Pi
	TwoPi  = 2 * math.Pi
	HalfPi = math.Pi / 2
)

// DegToRad and RadToDeg turn degrees to radians and back.
const (
	DegToRad = math.Pi / 180
	RadToDeg = 180 / math.Pi
)

// Pi/2 in pieces of 33 bits, so that a whole number below 2^20 times a piece is
// exact, each with the rest that is left after it.
const (
	piece1 = 1.57079632673412561417e+00 // 0x3FF921FB54400000
	piece2 = 6.07710050630396597660e-11 // 0x3DD0B4611A600000
	rest2  = 2.02226624879595063154e-21 // 0x3BA3198A2E037073
	piece3 = 2.02226624871116645580e-21 // 0x3BA3198A2E000000
	rest3  = 8.47842766036889956997e-32 // 0x397B839A252049C1
)

// maxExactRad is the largest angle that the pieces reduce without loss.
const maxExactRad = 1e6

// reduce returns the multiple of Pi/2 nearest to x, modulo 4, and what is left,
// |hi+lo| <= Pi/4. x is finite.
func reduce(x float64) (quadrant int, hi, lo float64) {
	if math.Abs(x) <= Pi/4 {
		return 0, x, 0
	}
	if math.Abs(x) > maxExactRad {
		x = math.Mod(x, TwoPi)
	}
	n := math.Round(x * (2 / math.Pi))
	hi, lo = subtract(x, n)
	return int(n) & 3, hi, lo
}

// subtract returns x - n*Pi/2 as a sum of two doubles; n is whole and below
// 2^20.
func subtract(x, n float64) (hi, lo float64) {
	r := x - float64(n*piece1)
	w := float64(n * piece2)
	t := r
	r = t - w
	w = float64(n*rest2) - ((t - r) - w)
	hi = r - w
	if math.Abs(hi) < 0x1p-40 { // so much was lost that the next bits of Pi count
		w = float64(n * piece3)
		t = r
		r = t - w
		w = float64(n*rest3) - ((t - r) - w)
		hi = r - w
	}
	return hi, (r - hi) - w
}

// kernelSin is sin(x+y) for |x| <= Pi/4, y the tail of x.
func kernelSin(x, y float64) float64 {
	const (
		s1 = -1.66666666666666324348e-01
		s2 = 8.33333333332248946124e-03
		s3 = -1.98412698298579493134e-04
		s4 = 2.75573137070700676789e-06
		s5 = -2.50507602534068634195e-08
		s6 = 1.58969099521155010221e-10
	)
	z := float64(x * x)
	v := float64(z * x)
	r := s2 + float64(z*(s3+float64(z*(s4+float64(z*(s5+float64(z*s6)))))))
	return x - ((float64(z*(float64(0.5*y)-float64(v*r))) - y) - float64(v*s1))
}

// kernelCos is cos(x+y) for |x| <= Pi/4, y the tail of x.
func kernelCos(x, y float64) float64 {
	const (
		c1 = 4.16666666666666019037e-02
		c2 = -1.38888888888741095749e-03
		c3 = 2.48015872894767294178e-05
		c4 = -2.75573143513906633035e-07
		c5 = 2.08757232129817482790e-09
		c6 = -1.13596475577881948265e-11
	)
	z := float64(x * x)
	r := float64(z * (c1 + float64(z*(c2+float64(z*(c3+float64(z*(c4+float64(z*(c5+float64(z*c6)))))))))))
	half := float64(0.5 * z)
	w := 1 - half
	return w + (((1 - w) - half) + (float64(z*r) - float64(x*y)))
}

// Sincos returns the sine and the cosine of x radians, each within 1 ulp of the
// true value for |x| <= 1e6. Beyond that x is first reduced by the double
// nearest to 2*Pi: the same value everywhere, but no longer an accurate one. An
// infinity or a NaN gives NaN.
func Sincos(x float64) (sin, cos float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return math.NaN(), math.NaN()
	}
	q, hi, lo := reduce(x)
	sin, cos = kernelSin(hi, lo), kernelCos(hi, lo)
	switch q {
	case 1:
		return cos, -sin
	case 2:
		return -sin, -cos
	case 3:
		return -cos, sin
	default:
		return sin, cos
	}
}

// Sin returns the sine of x radians; see Sincos.
func Sin(x float64) float64 {
	s, _ := Sincos(x)
	return s
}

// Cos returns the cosine of x radians; see Sincos.
func Cos(x float64) float64 {
	_, c := Sincos(x)
	return c
}

// Tan returns the tangent of x radians within 3 ulp; see Sincos.
func Tan(x float64) float64 {
	s, c := Sincos(x)
	return s / c
}

// WrapPi returns the angle x radians brought into (-Pi, Pi] by whole turns.
// An infinity or a NaN gives 0.
func WrapPi(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	if math.Abs(x) > maxExactRad {
		x = math.Mod(x, TwoPi)
	}
	if math.Abs(x) > Pi {
		x, _ = subtract(x, 4*math.Round(x/TwoPi))
	}
	if x <= -Pi {
		return Pi
	}
	return min(x, Pi)
}
