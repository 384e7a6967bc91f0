package plane

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

func TestSnap(t *testing.T) {
	t.Parallel()
	inf := math.Inf(1)
	for _, c := range []struct {
		x, y float64
		want Coord
	}{
		{0, 0, Coord{}},
		{1, -2, Coord{10000, -20000}},
		{0.00004, -0.00004, Coord{}},
		{0.00005, -0.00005, Coord{1, -1}}, // a half goes away from zero
		{0.00025, -0.00025, Coord{3, -3}},
		{123.45678, -0.12344, Coord{1234568, -1234}},
		{math.NaN(), 1, Coord{0, 10000}},
		{inf, -inf, Coord{1 << 53, -1 << 53}},
		{1e300, -1e300, Coord{1 << 53, -1 << 53}},
	} {
		if got := Snap(c.x, c.y); got != c.want {
			t.Errorf("Snap(%v, %v): got %v, want %v", c.x, c.y, got, c.want)
		}
	}
}

func TestSnapProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-400e3, 400e3).Draw(t, "x")
		y := rapid.Float64Range(-400e3, 400e3).Draw(t, "y")
		c := Snap(x, y)
		gx, gy := c.M()
		const half = 0.5/UnitsPerM + 1e-10 // and the rounding of a double of 400 km
		if math.Abs(gx-x) > half || math.Abs(gy-y) > half {
			t.Fatalf("Snap(%v, %v) = %v: %v, %v m, more than half a step away", x, y, c, gx, gy)
		}
		if again := Snap(gx, gy); again != c {
			t.Fatalf("Snap(%v.M()): got %v", c, again)
		}
		if mirrored := Snap(-x, -y); mirrored != (Coord{-c.X, -c.Y}) {
			t.Fatalf("Snap(%v, %v): got %v, want the mirror of %v", -x, -y, mirrored, c)
		}
	})
}

// exactArea2 is the shoelace sum in integers without bounds.
func exactArea2(ring []Coord) *big.Int {
	total := new(big.Int)
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		total.Add(total, new(big.Int).Mul(big.NewInt(a.X), big.NewInt(b.Y)))
		total.Sub(total, new(big.Int).Mul(big.NewInt(b.X), big.NewInt(a.Y)))
	}
	return total
}

func TestArea2(t *testing.T) {
	t.Parallel()
	square := []Coord{{0, 0}, {10, 0}, {10, 10}, {0, 10}}
	const far = 3_000_000_000 // 300 km
	const wide = 2_140_000_000
	for _, c := range []struct {
		name string
		ring []Coord
		want int64
	}{
		{"nothing", nil, 0},
		{"a point", square[:1], 0},
		{"a line", square[:2], 0},
		{"a triangle", square[:3], 100},
		{"a square of 1 mm", square, 200},
		{"closed", append(square[:4:4], square[0]), 200},
		{"clockwise", []Coord{{0, 10}, {10, 10}, {10, 0}, {0, 0}}, -200},
		{"a bow: one lobe against the other", []Coord{{0, 0}, {10, 10}, {10, 0}, {0, 10}}, 0},
		{"a square of 1 m far out", []Coord{{far, far}, {far + 10000, far}, {far + 10000, far + 10000}, {far, far + 10000}}, 200_000_000},
		{"214 km square", []Coord{{0, 0}, {wide, 0}, {wide, wide}, {0, wide}}, 2 * wide * wide},
	} {
		if got := Area2(c.ring); got != c.want {
			t.Errorf("%s: Area2: got %d, want %d", c.name, got, c.want)
		}
	}
	if got := AreaM2(200_000_000); got != 1 {
		t.Errorf("AreaM2 of a square metre: got %v, want 1", got)
	}
}

func TestArea2Properties(t *testing.T) {
	t.Parallel()
	coord := rapid.Custom(func(t *rapid.T) Coord {
		return Coord{rapid.Int64Range(-3e9, 3e9).Draw(t, "x"), rapid.Int64Range(-3e9, 3e9).Draw(t, "y")}
	})
	rapid.Check(t, func(t *rapid.T) {
		ring := rapid.SliceOfN(coord, 3, 12).Draw(t, "ring")
		want := exactArea2(ring)
		if !want.IsInt64() {
			t.Skip("beyond the stated range")
		}
		if got := Area2(ring); got != want.Int64() {
			t.Fatalf("Area2(%v): got %d, want %v", ring, got, want)
		}
		from := rapid.IntRange(0, len(ring)-1).Draw(t, "from")
		turned := append(append([]Coord{}, ring[from:]...), ring[:from]...)
		if got := Area2(turned); got != want.Int64() {
			t.Fatalf("Area2 from corner %d: got %d, want %v", from, got, want)
		}
	})
}

func TestCross(t *testing.T) {
	t.Parallel()
	const edge = 1<<31 - 1
	coord := rapid.Custom(func(t *rapid.T) Coord {
		return Coord{rapid.Int64Range(-edge, edge).Draw(t, "x"), rapid.Int64Range(-edge, edge).Draw(t, "y")}
	})
	rapid.Check(t, func(t *rapid.T) {
		o, a, b := Coord{1e9, -1e9}, coord.Draw(t, "a"), coord.Draw(t, "b")
		want := new(big.Int).Mul(big.NewInt(a.X), big.NewInt(b.Y))
		want.Sub(want, new(big.Int).Mul(big.NewInt(a.Y), big.NewInt(b.X)))
		got := Cross(o, Coord{o.X + a.X, o.Y + a.Y}, Coord{o.X + b.X, o.Y + b.Y})
		if want.Cmp(big.NewInt(got)) != 0 {
			t.Fatalf("Cross of %v and %v: got %d, want %v", a, b, got, want)
		}
	})
}
