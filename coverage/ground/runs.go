package ground

import (
	"slices"
	"unsafe"
)

// span is the half-open interval [lo, hi) of one scanline, steps of 0.1 mm from
// the frame's origin.
type span struct{ lo, hi int32 }

const spanBytes = int(unsafe.Sizeof(span{}))

// runs is the marked part of one scanline: spans in order that neither overlap
// nor touch. It remembers where it was changed last, because the bar comes by
// the same place again a moment later.
type runs struct {
	s  []span
	at int32
}

// seek finds the first span that ends at or after x.
func (r *runs) seek(x int32) int {
	s, i := r.s, int(r.at)
	if i > len(s) {
		i = len(s)
	}
	const near = 4
	for n := 0; i > 0 && s[i-1].hi >= x; n++ {
		if n == near {
			return search(s[:i], x)
		}
		i--
	}
	for n := 0; i < len(s) && s[i].hi < x; n++ {
		if n == near {
			return i + search(s[i:], x)
		}
		i++
	}
	return i
}

func search(s []span, x int32) int {
	lo, hi := 0, len(s)
	for lo < hi {
		mid := int(uint(lo+hi) >> 1)
		if s[mid].hi < x {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// add marks [lo, hi), which must not be empty, and returns how much of it was
// marked before. Those parts are appended to twice as stretches of the row, unless
// it is nil.
func (r *runs) add(lo, hi, row int32, twice *[]stretch) (before int32) {
	i := r.seek(lo)
	r.at = int32(i)
	s := r.s
	if i == len(s) || s[i].lo > hi {
		r.insert(i, span{lo, hi})
		return 0
	}
	j := i
	merged := span{min(lo, s[i].lo), hi}
	for ; j < len(s) && s[j].lo <= hi; j++ {
		common := span{max(lo, s[j].lo), min(hi, s[j].hi)}
		if common.lo < common.hi {
			before += common.hi - common.lo
			if twice != nil {
				*twice = append(*twice, stretch{row: row, span: common})
			}
		}
	}
	merged.hi = max(hi, s[j-1].hi)
	s[i] = merged
	if j > i+1 {
		r.s = append(s[:i+1], s[j:]...)
	}
	return before
}

func (r *runs) insert(i int, v span) {
	s := r.s
	if len(s) == cap(s) {
		// An eighth to spare: all rows of a field grow alike, and doubling would
		// leave a third of the memory empty.
		grown := slices.Grow[[]span](nil, len(s)+len(s)/8+2)[:len(s)]
		copy(grown, s)
		s = grown
	}
	s = s[:len(s)+1]
	copy(s[i+1:], s[i:])
	s[i] = v
	r.s = s
}

// length is the sum of the spans' lengths.
func length(s []span) (sum int64) {
	for _, v := range s {
		sum += int64(v.hi) - int64(v.lo)
	}
	return sum
}
