package ground

import "slices"

// link is how a run is joined to the neighbouring line.
type link struct {
	count int32 // runs there that it overlaps
	with  int32 // the one it is joined to by straight lines, or none
}

const none = -1

// apart tells whether the run overlaps nothing on the neighbouring line.
func (k link) apart() bool { return k.count == 0 }

// maxLean is how far apart, in pitches, two runs may lie that overlap nothing
// and are still taken for one narrow strip that lies aslant.
const maxLean = 6

// between connects the runs of a line with those of the line above it, half way
// at height + 1/2; either block may be empty.
//
//	one run follows one run       split, merge, start, end
//
//	   |      |  line above            |  |    |  |
//	   /     /                         |  +----+  |   half way
//	  |     |    line                  |          |
//
// Corners are linked so that the ground is on the left: up the right ends, down
// the left ends.
func (o *outline) between(low, high block, height int64) {
	links := o.overlaps(low, high)
	lows, highs := links[:low.end-low.first], links[low.end-low.first:]
	if slices.ContainsFunc(lows, link.apart) && slices.ContainsFunc(highs, link.apart) {
		o.lean(low, high, lows, highs)
	}
	straight := 0
	for i, k := range lows {
		if k.with != none {
			a, b := low.first+int32(i), k.with
			o.next[2*a+1] = 2*b + 1
			o.next[2*b] = 2 * a
			o.lines.join(a, b)
			straight++
		}
	}
	if 2*straight == len(links) {
		return // every run follows one
	}
	o.pin(low, lows)
	o.pin(high, highs)
	o.square(low, high, lows, highs, int32(2*height+1))
}

// overlaps finds which runs of the two lines follow one another.
func (o *outline) overlaps(low, high block) []link {
	n := int(low.end - low.first + high.end - high.first)
	o.links = slices.Grow(o.links[:0], n)[:n]
	for i := range o.links {
		o.links[i] = link{with: none}
	}
	lows, highs := o.links[:low.end-low.first], o.links[low.end-low.first:]
	runs := o.lines.runs
	a, b := low.first, high.first
	for a < low.end && b < high.end {
		if runs[a].lo < runs[b].hi && runs[b].lo < runs[a].hi {
			i, j := &lows[a-low.first], &highs[b-high.first]
			i.count++
			j.count++
			i.with, j.with = b, a
			o.lines.join(a, b)
		}
		if runs[a].hi < runs[b].hi {
			a++
		} else {
			b++
		}
	}
	for i := range lows {
		if k := &lows[i]; k.count == 1 && highs[k.with-high.first].count != 1 {
			k.with = none
		}
	}
	for i := range highs {
		if k := &highs[i]; k.count == 1 && lows[k.with-low.first].count != 1 {
			k.with = none
		}
	}
	for i := range o.links {
		if o.links[i].count > 1 {
			o.links[i].with = none
		}
	}
	for i := range lows {
		if k := &lows[i]; k.with != none && (o.lines.isSquare(low.first+int32(i)) || o.lines.isSquare(k.with)) {
			highs[k.with-high.first].with = none
			k.with = none
		}
	}
	return o.links
}

// lean joins runs that overlap nothing to the nearest such run of the other
// line, where nothing lies between: a narrow strip aslant to the scanlines.
func (o *outline) lean(low, high block, lows, highs []link) {
	runs := o.lines.runs
	limit := int64(maxLean * o.lines.pitch)
	// gap is the distance of a low and a high run where they may be joined.
	gap := func(a, b int32) int64 {
		if a < low.first || a >= low.end || b < high.first || b >= high.end {
			return limit
		}
		if lows[a-low.first].count+highs[b-high.first].count > 0 || o.lines.isSquare(a) || o.lines.isSquare(b) {
			return limit
		}
		d := int64(runs[b].lo) - int64(runs[a].hi)
		if d < 0 {
			d = int64(runs[a].lo) - int64(runs[b].hi)
		}
		return min(d, limit)
	}
	a, b := low.first, high.first
	for a < low.end && b < high.end {
		// The run that ends first is done with unless it is joined to the other. That
		// one may have a nearer run yet to come, or one lies between them.
		lowFirst := runs[a].hi < runs[b].hi
		d, rival := gap(a, b), int64(0)
		switch {
		case lowFirst && !(a+1 < low.end && runs[a+1].lo < runs[b].lo):
			rival = gap(a+1, b)
		case !lowFirst && !(b+1 < high.end && runs[b+1].lo < runs[a].lo):
			rival = gap(a, b+1)
		}
		if d < limit && d < rival {
			lows[a-low.first].with, highs[b-high.first].with = b, a
			a, b = a+1, b+1
			continue
		}
		if lowFirst {
			a++
		} else {
			b++
		}
	}
}

// pin forbids smoothing beside runs that are not followed straight: the squares
// there leave no room.
func (o *outline) pin(line block, links []link) {
	hold := func(i int, side int32) {
		if i < 0 || i >= len(links) || links[i].with == none {
			return
		}
		o.corners[2*(line.first+int32(i))+side].play = 0
		o.corners[2*links[i].with+side].play = 0
	}
	for i, k := range links {
		if k.with == none {
			hold(i-1, 1)
			hold(i+1, 0)
		}
	}
}

// square links the runs that are not followed straight through corners half way
// between the lines.
func (o *outline) square(low, high block, lows, highs []link, y int32) {
	runs := o.lines.runs
	var (
		a, b     = low.first, high.first
		aHi, bHi bool  // the low, the high run in hand has begun
		before   int32 = none
	)
	for {
		for a < low.end && lows[a-low.first].with != none {
			a++
		}
		for b < high.end && highs[b-high.first].with != none {
			b++
		}
		if a == low.end && b == high.end {
			return
		}
		ax, bx := end(runs, a, low.end, aHi), end(runs, b, high.end, bHi)
		if ax == bx { // both begin or both end: straight on
			if aHi {
				o.straight(2*a+1, 2*b+1)
				a, b = a+1, b+1
			} else {
				o.straight(2*b, 2*a)
			}
			aHi, bHi = !aHi, !bHi
			before = none
			continue
		}
		isLow := ax < bx
		run, x := b, bx
		if isLow {
			run, x = a, ax
		}
		here := int32(len(o.corners))
		o.corners = append(o.corners, corner{x: int32(x), y: y, run: run})
		o.next = append(o.next, none)
		switch { // the level side on the left of this corner
		case aHi && !bHi:
			o.next[here] = before
		case bHi && !aHi:
			o.next[before] = here
		}
		before = here
		switch {
		case isLow && !aHi:
			o.next[here] = 2 * a
			aHi = true
		case isLow:
			o.next[2*a+1] = here
			a, aHi = a+1, false
		case !bHi:
			o.next[2*b] = here
			bHi = true
		default:
			o.next[here] = 2*b + 1
			b, bHi = b+1, false
		}
	}
}

// straight links two run ends that lie right above one another.
func (o *outline) straight(from, to int32) {
	o.next[from] = to
	o.corners[from].play, o.corners[to].play = 0, 0
}

// end is the next end of run i: its left one, or its right one once begun.
func end(runs []span, i, stop int32, begun bool) int64 {
	if i >= stop {
		return 1 << 40
	}
	if begun {
		return int64(runs[i].hi)
	}
	return int64(runs[i].lo)
}
