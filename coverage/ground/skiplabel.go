package ground

import "unsafe"

// fragment is what one band holds of a part.
type fragment struct {
	length     int64 // on scanlines
	lo, hi     int32
	rowLo      int32
	rowHi      int32
	start, end int32  // of its runs in byFrag
	key        uint64 // sum over its runs
	part       *found // nil: not joined yet
	node       int32  // its number among those that are joined
}

// How far apart two runs may be along the scanlines to belong together, on one
// row, on neighbouring rows and with a row between: places 0.1 m apart.
const (
	joinSame = 1000
	joinNext = 866 // and 500 up
	joinOver = 0   // and 1000 up
	leanNext = maxLean * rowHeight
	leanOver = 1000
	// joinLeast is the least length of a run at a tip; what is shorter may be a slit
	// between quads whose corners were rounded.
	joinLeast = 20
)

// label finds the fragments of a band.
func (k *Skips) label(b *band, number int64) {
	start := k.rowStarts(b, number)
	parent := k.singles(len(b.runs))
	for y := range int32(bandRows) {
		for i := start[y] + 1; i < start[y+1]; i++ {
			if b.runs[i].lo-b.runs[i-1].hi <= joinSame {
				unite(parent, i-1, i)
			}
		}
		this, next, over := b.runs[start[y]:start[y+1]], b.runs[start[y+1]:start[y+2]], b.runs[start[y+2]:start[y+3]]
		k.meet(parent, this, nil, next, naming{base: start[y]}, naming{base: start[y+1]}, joinNext, leanNext)
		k.meet(parent, this, next, over, naming{base: start[y]}, naming{base: start[y+2]}, joinOver, leanOver)
	}
	b.frags = b.frags[:0]
	for i := range b.runs {
		r := &b.runs[i]
		if top := find(parent, int32(i)); top == int32(i) {
			r.frag = int32(len(b.frags))
			b.frags = append(b.frags, fragment{lo: r.lo, hi: r.hi, rowLo: r.row, rowHi: r.row})
		} else {
			r.frag = b.runs[top].frag
		}
		f := &b.frags[r.frag]
		f.length += int64(r.hi) - int64(r.lo)
		f.lo, f.hi, f.rowHi = min(f.lo, r.lo), max(f.hi, r.hi), r.row
		f.key += r.key()
		f.end++
	}
	at := int32(0)
	for i := range b.frags {
		f := &b.frags[i]
		f.start, f.end, at = at, at, at+f.end
	}
	if cap(b.byFrag) < len(b.runs) {
		b.byFrag = make([]int32, len(b.runs), cap(b.runs))
	}
	b.byFrag = b.byFrag[:len(b.runs)]
	for i := range b.runs {
		f := &b.frags[b.runs[i].frag]
		b.byFrag[f.end] = int32(i)
		f.end++
	}
}

// rowStarts is where each row's runs start in a band; two rows more than it has.
func (k *Skips) rowStarts(b *band, number int64) *[bandRows + 3]int32 {
	start, n := &k.work.start, int32(0)
	for y := range start {
		for n < int32(len(b.runs)) && int64(b.runs[n].row)-number*bandRows < int64(y) {
			n++
		}
		start[y] = n
	}
	return start
}

// singles is a forest of that many trees.
func (k *Skips) singles(n int) []int32 {
	parent := k.work.parent[:0]
	for i := range n {
		parent = append(parent, int32(i))
	}
	k.work.parent = parent
	return parent
}

func find(parent []int32, i int32) int32 {
	for parent[i] != i {
		parent[i] = parent[parent[i]]
		i = parent[i]
	}
	return i
}

// unite joins two trees; the root is the lowest number.
func unite(parent []int32, a, b int32) {
	a, b = find(parent, a), find(parent, b)
	parent[max(a, b)] = min(a, b)
}

// meet joins runs of two rows that are no more than gap apart; then those that
// met nothing, tip to tip across up to lean: a strip that is thin and lies
// aslant, of which scanlines show the tips too far apart. Where a row is between
// them, nothing on it may go on from either tip.
func (k *Skips) meet(parent []int32, low, between, high []skipRun, lows, highs naming, gap, lean int32) {
	if len(low) == 0 || len(high) == 0 {
		return
	}
	met := k.work.met[:0]
	for range len(low) + len(high) {
		met = append(met, false)
	}
	k.work.met = met
	b := 0
	for a := range low {
		for b < len(high) && high[b].hi+gap < low[a].lo {
			b++
		}
		for c := b; c < len(high) && high[c].lo <= low[a].hi+gap; c++ {
			met[a], met[len(low)+c] = true, true
			unite(parent, lows.of(low, a), highs.of(high, c))
		}
	}
	b = 0
	for a := range low {
		if met[a] || low[a].hi-low[a].lo < joinLeast {
			continue
		}
		for b < len(high) && high[b].hi <= low[a].lo {
			b++
		}
		// The nearest on either side.
		for c := max(0, b-1); c < min(b+1, len(high)); c++ {
			if met[len(low)+c] || high[c].hi-high[c].lo < joinLeast {
				continue
			}
			left, right := low[a], high[c]
			if left.lo > right.lo {
				left, right = right, left
			}
			if right.lo-left.hi <= lean && alone(low, left.hi, right.lo) && alone(high, left.hi, right.lo) &&
				alone(between, left.lo-joinNext, right.hi+joinNext) {
				unite(parent, lows.of(low, a), highs.of(high, c))
			}
		}
	}
}

// alone says that no run lies anywhere between lo and hi.
func alone(row []skipRun, lo, hi int32) bool {
	for i := range row {
		if row[i].hi > lo && row[i].lo < hi {
			return false
		}
	}
	return true
}

// naming is how runs are known in a forest: by number or by fragment, counted from
// a base.
type naming struct {
	base   int32
	byFrag bool
}

func (n naming) of(runs []skipRun, i int) int32 {
	if n.byFrag {
		return n.base + runs[i].frag
	}
	return n.base + int32(i)
}

// key is a number that hardly any other run has.
func (r skipRun) key() uint64 {
	v := uint64(uint32(r.row))*0x9e3779b97f4a7c15 + uint64(uint32(r.lo))*0xc2b2ae3d27d4eb4f + uint64(uint32(r.hi))*0x165667b19e3779f9
	v ^= v >> 29
	v *= 0xbf58476d1ce4e5b9
	return v ^ v>>32
}

const skipRunBytes = int(unsafe.Sizeof(skipRun{}))
