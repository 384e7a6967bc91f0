package plane

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// Against arithmetic without limits.
func TestTurn(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		size := int64(1) << rapid.IntRange(1, 61).Draw(t, "bits")
		draw := func(name string) Coord {
			v := rapid.Int64Range(-size, size)
			return Coord{v.Draw(t, name+".x") / 2, v.Draw(t, name+".y") / 2}
		}
		a, b, c := draw("a"), draw("b"), draw("c")
		if rapid.Bool().Draw(t, "in line") {
			c = Coord{2*b.X - a.X, 2*b.Y - a.Y}
		}
		product := func(p, q int64) *big.Int { return new(big.Int).Mul(big.NewInt(p), big.NewInt(q)) }
		want := product(b.X-a.X, c.Y-a.Y)
		want.Sub(want, product(b.Y-a.Y, c.X-a.X))
		if got := Turn(a, b, c); got != want.Sign() {
			t.Fatalf("Turn(%v, %v, %v) = %d, want %d", a, b, c, got, want.Sign())
		}
	})
}
