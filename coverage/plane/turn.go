package plane

import (
	"cmp"
	"math/bits"
)

// Turn is 1 where the way a, b, c turns left, -1 where it turns right, 0 where
// the three are on one line. It is exact for points less than 2^62 steps apart.
func Turn(a, b, c Coord) int {
	return compareProducts(b.X-a.X, c.Y-a.Y, b.Y-a.Y, c.X-a.X)
}

// compareProducts is the sign of a b - c d.
func compareProducts(a, b, c, d int64) int {
	const safe = 1 << 31
	if within(a, safe) && within(b, safe) && within(c, safe) && within(d, safe) {
		return cmp.Compare(a*b, c*d)
	}
	s, t := productSign(a, b), productSign(c, d)
	if s != t {
		return cmp.Compare(s, t)
	}
	hi1, lo1 := bits.Mul64(magnitude(a), magnitude(b))
	hi2, lo2 := bits.Mul64(magnitude(c), magnitude(d))
	return s * cmp.Or(cmp.Compare(hi1, hi2), cmp.Compare(lo1, lo2))
}

func within(v, limit int64) bool { return -limit < v && v < limit }

func productSign(a, b int64) int { return cmp.Compare(a, 0) * cmp.Compare(b, 0) }

func magnitude(v int64) uint64 {
	if v < 0 {
		return uint64(-v)
	}
	return uint64(v)
}
