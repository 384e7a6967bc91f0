package tiles

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// significant gives the double nearest to a decimal of so many digits: the one that
// strconv reads from it, but where the value lies half way between two.
func TestSignificant(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-12, 12).Draw(t, "exponent")
		v = math.Pow(10, v) * rapid.SampledFrom([]float64{1, -1, 0}).Draw(t, "sign")
		digits := rapid.IntRange(3, 6).Draw(t, "digits")
		got := significant(v, digits)
		text := strconv.FormatFloat(got, 'g', -1, 64)
		want, _ := strconv.ParseFloat(strconv.FormatFloat(got, 'e', digits-1, 64), 64)
		if got != want {
			t.Fatalf("%g to %d digits is %s, which has more", v, digits, text)
		}
		if off := math.Abs(got - v); off > 0.500001*math.Abs(v)*math.Pow10(1-digits) {
			t.Fatalf("%g to %d digits is %s, off by %g", v, digits, text, off)
		}
	})
}
