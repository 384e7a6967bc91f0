package plane

import "math"

// UnitsPerM is the grid of a Coord: 0.1 mm.
const UnitsPerM = 10_000

// maxUnits is the farthest grid line, some 900,000 km away: every whole number
// up to it is a double.
const maxUnits = 1 << 53

// Coord is a point on the plane in whole steps of 0.1 mm: X east, Y north of
// the plane's origin. Integers make areas exact and the order of adding
// irrelevant.
type Coord struct {
	X, Y int64
}

// Snap returns the grid point nearest to xM metres east, yM metres north; a
// half step goes away from zero. Values beyond the grid are brought to its edge
// and NaN to 0, so that the same integer comes out on every machine.
func Snap(xM, yM float64) Coord {
	return Coord{X: snap(xM), Y: snap(yM)}
}

func snap(m float64) int64 {
	if math.IsNaN(m) {
		return 0
	}
	u := math.Round(m * UnitsPerM)
	return int64(max(-maxUnits, min(u, maxUnits)))
}

// M returns the point in metres east and north of the origin.
func (c Coord) M() (xM, yM float64) {
	return float64(c.X) / UnitsPerM, float64(c.Y) / UnitsPerM
}

// Sub returns the vector from d to c.
func (c Coord) Sub(d Coord) Coord {
	return Coord{X: c.X - d.X, Y: c.Y - d.Y}
}

// Cross returns twice the signed area of the triangle o, a, b in 1e-8 m2:
// positive when o, a, b run anticlockwise, 0 when they are in line. It is exact
// while a and b are within 2^31 - 1 steps (214 km) of o in X and in Y.
func Cross(o, a, b Coord) int64 {
	a, b = a.Sub(o), b.Sub(o)
	return a.X*b.Y - a.Y*b.X
}

// Area2 returns twice the signed area of a ring in 1e-8 m2, anticlockwise
// positive; whether the first point is repeated at the end does not matter. It
// is exact while the true figure fits an int64, which it does for every ring
// without loops inside a square of 214 km: partial sums may run over, but
// integers that wrap come back to the right total.
func Area2(ring []Coord) int64 {
	var sum int64
	for i := 2; i < len(ring); i++ {
		sum += Cross(ring[0], ring[i-1], ring[i])
	}
	return sum
}

// AreaM2 turns twice an area in 1e-8 m2, as Cross and Area2 give it, to m2.
func AreaM2(area2 int64) float64 {
	return float64(area2) / (2 * UnitsPerM * UnitsPerM)
}
