package records

import (
	"math"
	"math/big"
	"math/bits"
)

// Figures come as decimals; as whole steps of their last digit they add up exactly,
// in any order.
const (
	perM2     = 1000      // areas
	perAmount = 1_000_000 // kg, l, seeds, money
	perS      = 1000
	perM      = 1000
)

// steps is v as whole steps; what no int64 holds is cut off there.
func steps(v float64, per int64) int64 {
	f := math.Round(float64(v * float64(per)))
	switch {
	case !(f > -(1 << 62)): // NaN too
		return -(1 << 62)
	case f > 1<<62:
		return 1 << 62
	}
	return int64(f)
}

// sum adds whole numbers exactly: seasons of seeds by the millionth do not fit into
// 64 bits. The zero value is zero.
type sum struct {
	hi int64
	lo uint64
}

func (s *sum) add(v int64) {
	var carry uint64
	s.lo, carry = bits.Add64(s.lo, uint64(v), 0)
	s.hi += int64(carry)
	if v < 0 {
		s.hi--
	}
}

func (s *sum) addSum(o sum) {
	var carry uint64
	s.lo, carry = bits.Add64(s.lo, o.lo, 0)
	s.hi += o.hi + int64(carry)
}

func (s sum) negated() sum {
	lo, borrow := bits.Sub64(0, s.lo, 0)
	return sum{-s.hi - int64(borrow), lo}
}

// in is the sum as a number of wholes, rounded once.
func (s sum) in(per int64) float64 {
	if s.hi == 0 && s.lo < 1<<53 {
		return float64(s.lo) / float64(per)
	}
	if s.hi == -1 && s.lo > math.MaxUint64-1<<53 {
		return -float64(-s.lo) / float64(per)
	}
	n := new(big.Int).Lsh(big.NewInt(s.hi), 64)
	n.Add(n, new(big.Int).SetUint64(s.lo))
	f, _ := new(big.Rat).SetFrac(n, big.NewInt(per)).Float64()
	return f
}

func (s sum) positive() bool { return s.hi > 0 || s.hi == 0 && s.lo > 0 }

// split divides a total by weights without remainder: each part is within one step
// of its share, and they add up to the total. Weights below zero count as none; where
// all are none the first part has everything.
func split(total int64, weights []int64) []int64 {
	parts := make([]int64, len(weights))
	var whole sum
	for _, w := range weights {
		whole.add(max(w, 0))
	}
	if len(parts) == 0 {
		return nil
	}
	if !whole.positive() {
		parts[0] = total
		return parts
	}
	if len(parts) == 1 {
		parts[0] = total
		return parts
	}
	// Where the running sum of weights stands in the whole, the running sum of parts
	// stands in the total.
	all := new(big.Int).Lsh(big.NewInt(whole.hi), 64)
	all.Add(all, new(big.Int).SetUint64(whole.lo))
	run, at, done := new(big.Int), new(big.Int), int64(0)
	for i, w := range weights {
		run.Add(run, big.NewInt(max(w, 0)))
		at.Mul(run, big.NewInt(total))
		at.Quo(at, all)
		upTo := at.Int64()
		parts[i] = upTo - done
		done = upTo
	}
	return parts
}

// portion is as much of a total as part is of whole, cut to a whole step: the first of
// split by part and the rest. Both are of ground, so none is below zero.
func portion(total, part, whole int64) int64 {
	switch {
	case part >= whole:
		return total
	case part <= 0:
		return 0
	case total < 0:
		return -portion(-total, part, whole)
	}
	hi, lo := bits.Mul64(uint64(total), uint64(part))
	q, _ := bits.Div64(hi, lo, uint64(whole)) // below total, as part is below whole
	return int64(q)
}
