package plane

import (
	"math"
	"math/big"
	"strings"
	"testing"
)

// The elementary functions by their Taylor series in 400-bit arithmetic: slow,
// simple, and nothing in common with the kernels under test.

const precBits = 400

func num(x float64) *big.Float { return new(big.Float).SetPrec(precBits).SetFloat64(x) }

func mul(a, b *big.Float) *big.Float { return new(big.Float).SetPrec(precBits).Mul(a, b) }
func quo(a, b *big.Float) *big.Float { return new(big.Float).SetPrec(precBits).Quo(a, b) }
func add(a, b *big.Float) *big.Float { return new(big.Float).SetPrec(precBits).Add(a, b) }
func sub(a, b *big.Float) *big.Float { return new(big.Float).SetPrec(precBits).Sub(a, b) }
func root(a *big.Float) *big.Float   { return new(big.Float).SetPrec(precBits).Sqrt(a) }

// sum adds first, first*next(1), first*next(1)*next(2) ... until nothing changes.
func sum(first *big.Float, next func(k float64) *big.Float) *big.Float {
	total, term := first, first
	for k := 1.0; term.Sign() != 0 && term.MantExp(nil) > total.MantExp(nil)-precBits; k++ {
		term = mul(term, next(k))
		total = add(total, term)
	}
	return total
}

func bigAtan(x *big.Float) *big.Float {
	const halvings = 6 // atan x = 2 atan(x / (1 + sqrt(1+x^2)))
	for range halvings {
		x = quo(x, add(num(1), root(add(num(1), mul(x, x)))))
	}
	z := mul(x, x)
	power := x
	return mul(num(1<<halvings), add(x, sumOdd(power, z)))
}

// sumOdd is -x^3/3 + x^5/5 - ... with z = x^2.
func sumOdd(power, z *big.Float) *big.Float {
	total := num(0)
	for k := 3.0; ; k += 2 {
		power = new(big.Float).SetPrec(precBits).Neg(mul(power, z))
		if power.Sign() == 0 || power.MantExp(nil) < -2*precBits {
			return total
		}
		total = add(total, quo(power, num(k)))
	}
}

// bigPi is by Machin's formula: Pi/4 = 4 atan(1/5) - atan(1/239).
func bigPi() *big.Float {
	a := mul(num(16), bigAtan(quo(num(1), num(5))))
	return sub(a, mul(num(4), bigAtan(quo(num(1), num(239)))))
}

func bigSin(x *big.Float) *big.Float {
	turn := mul(num(2), bigPi())
	n, _ := quo(x, turn).Float64()
	x = sub(x, mul(num(math.Round(n)), turn))
	z := new(big.Float).SetPrec(precBits).Neg(mul(x, x))
	return sum(x, func(k float64) *big.Float { return quo(z, num((2*k)*(2*k+1))) })
}

func bigCos(x *big.Float) *big.Float {
	return bigSin(add(x, quo(bigPi(), num(2))))
}

func bigExp(x *big.Float) *big.Float {
	const squarings = 12
	x = quo(x, num(1<<squarings))
	y := sum(num(1), func(k float64) *big.Float { return quo(x, num(k)) })
	for range squarings {
		y = mul(y, y)
	}
	return y
}

func bigLog(x *big.Float) *big.Float {
	f, _ := x.Float64()
	y := num(math.Log(f))
	for range 5 { // Halley's rule triples the digits each time
		e := bigExp(y)
		y = add(y, mul(num(2), quo(sub(x, e), add(x, e))))
	}
	return y
}

// ulps is how far got is from want, in units of want's last place as a double.
func ulps(got float64, want *big.Float) float64 {
	w, _ := want.Float64()
	last := math.Abs(math.Nextafter(w, math.Inf(1)) - w)
	d, _ := quo(sub(num(got), want), num(last)).Float64()
	return math.Abs(d)
}

func TestReference(t *testing.T) {
	t.Parallel()
	// OEIS A000796, A019774 and A002162: Pi, sqrt(e), ln 2; first digits, not
	// rounded.
	for _, c := range []struct {
		name, want string
		got        *big.Float
	}{
		{"pi", "3.14159265358979323846264338327950288419716939937510", bigPi()},
		{"sqrt(e)", "1.64872127070012814684865078781416357165377610071014", bigExp(num(0.5))},
		{"ln 2", "0.69314718055994530941723212145817656807550013436025", bigLog(num(2))},
	} {
		if got := c.got.Text('f', 60); !strings.HasPrefix(got, c.want) {
			t.Errorf("%s by the reference: got %s, want %s", c.name, got, c.want)
		}
	}
}
