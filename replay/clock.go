package replay

import "slices"

// clockSamples is how many fixes the offset is taken from: 12 s at 10 Hz, two
// minutes at 1 Hz. Long enough that the jitter of arrival averages out, short
// enough to follow a board clock that drifts by 50 ppm within 3 ms.
const clockSamples = 121

// Bounds that tell jitter, a stall of the line and a step of the clock apart.
// Sentences that were held up arrive in a burst, so their offsets fall back as
// fast as receiver time runs; after a step of the clock they stay.
const (
	stepAboveNS  = 500e6
	stepSpreadNS = 200e6
	stepSettleNS = 1e9
	stepSamples  = 3
)

// clock estimates by how much the session's clock is ahead of receiver time: the
// median of the latest offsets, which no single late arrival moves. The zero
// value knows nothing.
type clock struct {
	ring   [clockSamples]int64
	sorted []int64
	next   int
}

// known tells whether there is an offset yet.
func (c *clock) known() bool { return len(c.sorted) > 0 }

// offsetNS is the session's clock minus receiver time.
func (c *clock) offsetNS() int64 {
	n := len(c.sorted)
	if n == 0 {
		return 0
	}
	return c.sorted[(n-1)/2] + (c.sorted[n/2]-c.sorted[(n-1)/2])/2
}

// add takes the offset of one more fix.
func (c *clock) add(ns int64) {
	if c.sorted == nil {
		c.sorted = make([]int64, 0, clockSamples)
	}
	if len(c.sorted) == clockSamples {
		i, _ := slices.BinarySearch(c.sorted, c.ring[c.next])
		c.sorted = slices.Delete(c.sorted, i, i+1)
	}
	i, _ := slices.BinarySearch(c.sorted, ns)
	c.sorted = slices.Insert(c.sorted, i, ns)
	c.ring[c.next] = ns
	c.next = (c.next + 1) % clockSamples
}

// fits tells whether an offset agrees with those before it.
func (c *clock) fits(ns int64) bool {
	d := ns - c.offsetNS()
	return d <= stepAboveNS && d >= -stepAboveNS
}

// reset starts anew from the given offsets.
func (c *clock) reset(offsets []fixOffset) {
	c.sorted, c.next = c.sorted[:0], 0
	for _, s := range offsets[max(0, len(offsets)-clockSamples):] {
		c.add(s.offsetNS)
	}
}

// fixOffset is the offset that one fix shows.
type fixOffset struct {
	offsetNS, fixNS int64
}

// settled returns the samples at the end of s that show a clock that has
// stepped and runs on steadily, none if it has not been seen for long enough.
func settled(s []fixOffset) []fixOffset {
	if len(s) == 0 {
		return nil
	}
	lo, hi := s[len(s)-1].offsetNS, s[len(s)-1].offsetNS
	from := len(s)
	for from > 0 {
		o := s[from-1].offsetNS
		lo, hi = min(lo, o), max(hi, o)
		if hi-lo > stepSpreadNS {
			break
		}
		from--
	}
	tail := s[from:]
	if len(tail) < stepSamples || tail[len(tail)-1].fixNS-tail[0].fixNS < stepSettleNS {
		return nil
	}
	return tail
}
