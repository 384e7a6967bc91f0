package ground

import (
	"math/bits"

	"drawbar/coverage/plane"
)

// Quad is the ground that a piece of the bar sweeps between two moments: its
// left and right end at the first moment, then its right and left end at the
// second.
//
//	A1 --- B1   second moment
//	 |     |    ^ travel
//	A0 --- B0   first moment
//
// In ring order it is A0 B0 B1 A1. It may be folded (the inside of a tight turn
// runs backwards: a bow-tie), concave, without area, or run backwards.
type Quad [4]plane.Coord

// maxExtent is the largest quad that is believed, in either direction: 1 km. At
// 15 m/s and a gap of 2 s the bar moves 30 m.
const maxExtent = 1000 * plane.UnitsPerM

// maxCoord bounds the coordinates themselves, 100,000 km: further out than any
// plane reaches, and far from where differences overflow.
const maxCoord = 100_000_000 * plane.UnitsPerM

// Fits says whether the quad can be believed: no larger than 1 km in either
// direction, and within 100,000 km of the plane's origin. Add refuses others,
// and their Area is 0.
func (q Quad) Fits() bool {
	lo, hi := q.bounds()
	if lo.X < -maxCoord || lo.Y < -maxCoord || hi.X > maxCoord || hi.Y > maxCoord {
		return false
	}
	return hi.X-lo.X <= maxExtent && hi.Y-lo.Y <= maxExtent
}

func (q Quad) bounds() (lo, hi plane.Coord) {
	lo, hi = q[0], q[0]
	for _, c := range q[1:] {
		lo.X, hi.X = min(lo.X, c.X), max(hi.X, c.X)
		lo.Y, hi.Y = min(lo.Y, c.Y), max(hi.Y, c.Y)
	}
	return lo, hi
}

// Area is the ground the quad touches, each piece of it once: of a folded quad
// both triangles. Exact for a quad that does not fold; of a folded one each
// triangle is rounded to the nearest unit of Area.
func (q Quad) Area() Area {
	if !q.Fits() {
		return 0
	}
	if a, ok := foldedArea(q[0], q[1], q[2], q[3]); ok {
		return a
	}
	if a, ok := foldedArea(q[1], q[2], q[3], q[0]); ok {
		return a
	}
	// Twice the signed area by its diagonals.
	return Area(magnitude(cross(q[0], q[2], q[1], q[3])))
}

// foldedArea is the area of the bow-tie a b c d whose sides bc and da cross each
// other; ok is false where they do not.
func foldedArea(a, b, c, d plane.Coord) (sum Area, ok bool) {
	// Twice the areas of the triangles on either side of each of the two lines.
	ofC, ofB := cross(d, a, d, c), cross(d, a, d, b)
	ofD, ofA := cross(b, c, b, d), cross(b, c, b, a)
	if (ofC > 0) == (ofB > 0) || (ofD > 0) == (ofA > 0) || ofC == 0 || ofB == 0 || ofD == 0 || ofA == 0 {
		return 0, false
	}
	// The sides cross at a share t = |ofB| / (|ofB| + |ofC|) of the way from b to
	// c. The triangle (a, b, crossing) is t of (a, b, c), the other one 1-t of
	// (b, c, d).
	toB, toC := magnitude(ofB), magnitude(ofC)
	first := share(magnitude(cross(a, b, a, c)), toB, toB+toC)
	second := share(magnitude(cross(b, c, b, d)), toC, toB+toC)
	return Area(first + second), true
}

// cross is the cross product of the vectors from a to b and from c to d.
func cross(a, b, c, d plane.Coord) int64 {
	return (b.X-a.X)*(d.Y-c.Y) - (b.Y-a.Y)*(d.X-c.X)
}

func magnitude(v int64) uint64 {
	if v < 0 {
		return uint64(-v)
	}
	return uint64(v)
}

// share is whole x part / of, rounded to the nearest; part <= of.
func share(whole, part, of uint64) uint64 {
	hi, lo := bits.Mul64(whole, part)
	lo, carry := bits.Add64(lo, of/2, 0)
	quotient, _ := bits.Div64(hi+carry, lo, of)
	return quotient
}
