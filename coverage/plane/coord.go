package plane

// UnitsPerM is the grid of a Coord: 0.1 mm.
const UnitsPerM = 10_000

// Coord is a point on the plane in whole steps of 0.1 mm: X east, Y north of
// the plane's origin. Integers make areas exact and the order of adding
// irrelevant.
type Coord struct {
	X, Y int64
}
