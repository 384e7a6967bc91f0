package plane

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func bigTan(x *big.Float) *big.Float { return quo(bigSin(x), bigCos(x)) }

// elementary lists the functions of one argument: the bound in ulps that the
// documentation states, the standard library's as a second witness, and where
// they are tried.
var elementary = []struct {
	name     string
	ours     func(float64) float64
	standard func(float64) float64
	exact    func(*big.Float) *big.Float
	bound    float64
	ranges   [][2]float64
}{
	{"Sin", Sin, math.Sin, bigSin, 1, [][2]float64{{-1, 1}, {-10, 10}, {-1e5, 1e5}, {-1e6, 1e6}, {-1e-9, 1e-9}}},
	{"Cos", Cos, math.Cos, bigCos, 1, [][2]float64{{-1, 1}, {-10, 10}, {-1e5, 1e5}, {-1e6, 1e6}}},
	{"Tan", Tan, math.Tan, bigTan, 3, [][2]float64{{-1, 1}, {-10, 10}, {-1e5, 1e5}}},
	{"Atan", Atan, math.Atan, bigAtan, 1, [][2]float64{{-1, 1}, {-3, 3}, {-1e3, 1e3}, {-1e20, 1e20}}},
	{"Exp", Exp, math.Exp, bigExp, 1, [][2]float64{{-1, 1}, {-20, 20}, {-708, 709}}},
	{"Log", Log, math.Log, bigLog, 1, [][2]float64{{0.5, 2}, {0.999, 1.001}, {1e-300, 1e6}, {1e-300, 1e300}}},
}

func TestElementaryAgainstSeries(t *testing.T) {
	t.Parallel()
	for _, f := range elementary {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			random := rand.New(rand.NewPCG(1, 2))
			worst, worstAt := 0.0, 0.0
			for _, r := range f.ranges {
				for range 400 {
					x := r[0] + random.Float64()*(r[1]-r[0])
					if d := ulps(f.ours(x), f.exact(num(x))); d > worst {
						worst, worstAt = d, x
					}
				}
			}
			t.Logf("worst error %.3f ulp at %v", worst, worstAt)
			if worst > f.bound {
				t.Errorf("%s(%v): got %v, %.3f ulp from the true value, want at most %v", f.name, worstAt, f.ours(worstAt), worst, f.bound)
			}
		})
	}
}

// Near a multiple of Pi/2 nearly all bits of the argument cancel. The whole
// numbers from 355 to 833719 are numerators of the continued fraction of Pi
// (OEIS A002485), so lie close to a multiple.
func TestCancellation(t *testing.T) {
	t.Parallel()
	points := []float64{3, 22, 333, 355, 103993, 104348, 208341, 312689, 833719, 11, 1.5}
	for k := 1.0; k < 600_000; k = math.Ceil(k * 1.37) {
		points = append(points, k*HalfPi)
	}
	for _, x := range points {
		for _, x := range []float64{x, math.Nextafter(x, 0), math.Nextafter(x, 1e9), -x} {
			if d := ulps(Sin(x), bigSin(num(x))); d > 1 {
				t.Errorf("Sin(%v): got %v, %.3f ulp off", x, Sin(x), d)
			}
			if d := ulps(Cos(x), bigCos(num(x))); d > 1 {
				t.Errorf("Cos(%v): got %v, %.3f ulp off", x, Cos(x), d)
			}
		}
	}
}

// Below the smallest normal number the standard library's logarithm is off on
// some processors; the series is the witness there.
func TestLogOfSubnormal(t *testing.T) {
	t.Parallel()
	for _, x := range []float64{5e-324, 1e-310, 0x1p-1023, 0x1.fffffffffffffp-1023, 0x1p-1022, 1e-307} {
		scaled := sub(bigLog(num(x*0x1p200)), mul(num(200), bigLog(num(2))))
		if d := ulps(Log(x), scaled); d > 1 {
			t.Errorf("Log(%v): got %v, %.3f ulp off", x, Log(x), d)
		}
	}
}

// The standard library is a second witness, itself good to about 1 ulp. Near a
// zero of the function it is less exact: there ulps of 1e-3 count.
func TestElementaryAgainstStandard(t *testing.T) {
	t.Parallel()
	for _, f := range elementary {
		for _, r := range f.ranges {
			rapid.Check(t, func(t *rapid.T) {
				x := rapid.Float64Range(r[0], r[1]).Draw(t, "x")
				got, want := f.ours(x), f.standard(x)
				scale := math.Max(math.Abs(want), 1e-3)
				if got != want && math.Abs(got-want) > (f.bound+1)*(math.Nextafter(scale, math.Inf(1))-scale) {
					t.Fatalf("%s(%v): got %v, standard library %v", f.name, x, got, want)
				}
			})
		}
	}
}

func TestAtan2Quadrants(t *testing.T) {
	t.Parallel()
	negZero, inf := math.Copysign(0, -1), math.Inf(1)
	// IEEE 754-2019, 9.2.1, and ISO C 2018, F.10.1.4.
	for _, c := range []struct{ y, x, want float64 }{
		{0, 1, 0}, {negZero, 1, negZero}, {0, -1, Pi}, {negZero, -1, -Pi},
		{0, 0, 0}, {negZero, 0, negZero}, {0, negZero, Pi}, {negZero, negZero, -Pi},
		{1, 0, HalfPi}, {-1, 0, -HalfPi}, {1, negZero, HalfPi}, {-1, negZero, -HalfPi},
		{1, 1, Pi / 4}, {1, -1, 3 * Pi / 4}, {-1, -1, -3 * Pi / 4}, {-1, 1, -Pi / 4},
		{inf, 1, HalfPi}, {-inf, 1, -HalfPi}, {1, inf, 0}, {-1, inf, negZero},
		{1, -inf, Pi}, {-1, -inf, -Pi}, {inf, inf, Pi / 4}, {inf, -inf, 3 * Pi / 4},
		{-inf, inf, -Pi / 4}, {-inf, -inf, -3 * Pi / 4},
	} {
		if got := Atan2(c.y, c.x); math.Float64bits(got) != math.Float64bits(c.want) {
			t.Errorf("Atan2(%v, %v): got %v, want %v", c.y, c.x, got, c.want)
		}
	}
}

func TestAtan2InvertsSincos(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(-Pi, Pi).Draw(t, "a")
		r := rapid.Float64Range(1e-3, 1e6).Draw(t, "r")
		s, c := Sincos(a)
		got := WrapPi(Atan2(r*s, r*c) - a)
		if math.Abs(got) > 2e-15 {
			t.Fatalf("Atan2 of (%v sin a, %v cos a), a = %v: off by %v", r, r, a, got)
		}
	})
}

func TestSincosOnCircle(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64().Draw(t, "x")
		s, c := Sincos(x)
		if d := math.Abs(s*s + c*c - 1); !(d < 5e-16) {
			t.Fatalf("Sincos(%v) = %v, %v: squares add to 1 but for %v", x, s, c, d)
		}
		if s2, c2 := Sincos(-x); s2 != -s || c2 != c {
			t.Fatalf("Sincos(-%v): got %v, %v, want %v, %v", x, s2, c2, -s, c)
		}
	})
}

func TestNotANumber(t *testing.T) {
	t.Parallel()
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"Sin(NaN)", Sin(nan), nan}, {"Sin(+Inf)", Sin(inf), nan}, {"Cos(-Inf)", Cos(-inf), nan}, {"Tan(NaN)", Tan(nan), nan},
		{"Atan(NaN)", Atan(nan), nan}, {"Atan(+Inf)", Atan(inf), HalfPi}, {"Atan(-Inf)", Atan(-inf), -HalfPi},
		{"Atan2(NaN, 1)", Atan2(nan, 1), nan}, {"Atan2(1, NaN)", Atan2(1, nan), nan},
		{"Exp(NaN)", Exp(nan), nan}, {"Exp(+Inf)", Exp(inf), inf}, {"Exp(-Inf)", Exp(-inf), 0}, {"Exp(710)", Exp(710), inf},
		{"Exp(-746)", Exp(-746), 0}, {"Exp(-745)", Exp(-745), 5e-324},
		{"Log(NaN)", Log(nan), nan}, {"Log(-1)", Log(-1), nan}, {"Log(0)", Log(0), -inf}, {"Log(+Inf)", Log(inf), inf},
		{"Log(5e-324)", Log(5e-324), -744.4400719213812},
		{"Hypot(NaN, 1)", Hypot(nan, 1), nan}, {"Hypot(NaN, -Inf)", Hypot(nan, -inf), inf},
		{"WrapPi(NaN)", WrapPi(nan), 0}, {"WrapPi(-Inf)", WrapPi(-inf), 0},
	} {
		if math.Float64bits(c.got) != math.Float64bits(c.want) {
			t.Errorf("%s: got %v, want %v", c.name, c.got, c.want)
		}
	}
}

func TestHypot(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ x, y, want float64 }{
		{3, 4, 5}, {-5, 12, 13}, {0, 0, 0}, {0, -7, 7}, {3 * 0x1p1000, 4 * 0x1p1000, 5 * 0x1p1000}, {3 * 0x1p-500, -4 * 0x1p-500, 5 * 0x1p-500},
		{3 * 0x1p-1070, 4 * 0x1p-1070, 5 * 0x1p-1070}, {math.MaxFloat64, math.MaxFloat64, math.Inf(1)},
	} {
		if got := Hypot(c.x, c.y); got != c.want {
			t.Errorf("Hypot(%v, %v): got %v, want %v", c.x, c.y, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e160, 1e160).Draw(t, "x")
		y := rapid.Float64Range(-1e160, 1e160).Draw(t, "y")
		want := root(add(mul(num(x), num(x)), mul(num(y), num(y))))
		if d := ulps(Hypot(x, y), want); (x != 0 || y != 0) && d > 1.25 {
			t.Fatalf("Hypot(%v, %v): got %v, %.3f ulp off", x, y, Hypot(x, y), d)
		}
	})
}

func TestWrapPi(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ x, want float64 }{
		{0, 0}, {Pi, Pi}, {-Pi, Pi}, {3 * Pi, Pi}, {1, 1}, {-1, -1}, {TwoPi, 0}, {math.Nextafter(-Pi, 0), math.Nextafter(-Pi, 0)},
	} {
		if got := WrapPi(c.x); math.Abs(got-c.want) > 4e-16 {
			t.Errorf("WrapPi(%v): got %v, want %v", c.x, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		got := WrapPi(x)
		if !(got > -Pi && got <= Pi) {
			t.Fatalf("WrapPi(%v): got %v, want a value in (-Pi, Pi]", x, got)
		}
		s, c := Sincos(x)
		gs, gc := Sincos(got)
		if math.Abs(s-gs) > 1e-15 || math.Abs(c-gc) > 1e-15 {
			t.Fatalf("WrapPi(%v) = %v: another direction: sine %v and %v, cosine %v and %v", x, got, s, gs, c, gc)
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64().Draw(t, "x")
		if got := WrapPi(x); !(got > -Pi && got <= Pi) {
			t.Fatalf("WrapPi(%v): got %v, want a value in (-Pi, Pi]", x, got)
		}
	})
}
