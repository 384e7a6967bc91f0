package ground

import (
	"cmp"
	"slices"
	"unsafe"
)

// partIndex knows the parts: those that are large enough to be skips in order, the
// others by their fragments alone.
type partIndex struct {
	length int64    // of all skips, on scanlines
	listed []listed // the skips, by their first fragment
	parts  []*Part  // as handed out last
	fresh  bool     // that is up to date

	// Since they were joined last:
	changed []int64  // numbers of the bands that have other fragments, in ascending order
	hit     []*found // parts that are taken apart

	// Storage that is used again and again.
	nodes       []place64 // fragments of those parts and bands
	spare       []*found
	made        []*found
	gone, grown []listed
}

// place64 is a fragment's band and its number there, so that their order is that of
// the lowest run.
type place64 uint64

func placeOf(band int64, frag int32) place64 {
	return place64(uint64(band+1<<31)<<32 | uint64(uint32(frag)))
}

func (p place64) band() int64 { return int64(p>>32) - 1<<31 }

func (p place64) frag() int32 { return int32(uint32(p)) }

// found is a part: box, sums, and its fragments in order.
type found struct {
	length       int64
	key          uint64
	lo, hi       int32
	rowLo, rowHi int32
	members      []place64
	hit          bool
}

// listed is a part that is a skip.
type listed struct {
	at   place64 // its first fragment
	v    *found
	part *Part // as handed out; nil: not yet
}

// joined says that two fragments on either side of a border between bands are of the
// same part: first those of the lower band are counted, then those of the upper one.
type joined struct{ a, b int32 }

func (p *partIndex) drop() {
	*p = partIndex{}
}

func (p *partIndex) bytes() int {
	n := (cap(p.listed)+cap(p.gone)+cap(p.grown))*int(unsafe.Sizeof(listed{})) +
		(cap(p.nodes)+cap(p.changed)+cap(p.hit)+cap(p.spare)+cap(p.made))*8
	for _, v := range p.listed {
		n += int(unsafe.Sizeof(*v.v)) + cap(v.v.members)*8
	}
	for _, part := range p.parts {
		n += int(unsafe.Sizeof(*part)) + cap(part.runs)*skipRunBytes
	}
	return n
}

// takeApart notes that a band gets other fragments.
func (k *Skips) takeApart(b *band, number int64) {
	k.parts.changed = append(k.parts.changed, number)
	for i := range b.frags {
		k.parts.strike(b.frags[i].part)
	}
}

func (p *partIndex) strike(v *found) {
	if v != nil && !v.hit {
		v.hit = true
		p.hit = append(p.hit, v)
	}
}

// join puts the fragments of bands together into parts, in the order of their lowest
// run. Only parts that have, had or now meet a fragment in a band that changed are
// looked at: the others stay as they are.
func (k *Skips) join() {
	p := &k.parts
	if len(p.changed) == 0 {
		return
	}
	for i, n := range p.changed {
		k.meetBelow(n)
		if i+1 == len(p.changed) || p.changed[i+1] != n+1 {
			k.meetBelow(n + 1)
		}
	}
	k.collect()
	parent := k.singles(len(p.nodes))
	for i, at := range p.nodes {
		if n := at.band(); i == 0 || p.nodes[i-1].band() != n {
			k.unite(parent, n)
		}
	}
	k.make(parent)
	p.unlist()
	p.list(max(1, k.rule.MinArea))
	for _, v := range p.hit {
		*v = found{members: v.members[:0]}
	}
	p.spare = append(p.spare, p.hit...)
	p.changed, p.hit = p.changed[:0], p.hit[:0]
}

// meetBelow finds anew which fragments belong together across the lower border of a
// band.
func (k *Skips) meetBelow(number int64) {
	low, high := k.bandAt(number-1), k.bandAt(number)
	if high == nil {
		return
	}
	high.joins = high.joins[:0]
	if low == nil || len(low.frags) == 0 || len(high.frags) == 0 {
		return
	}
	lows := int32(len(low.frags))
	parent := k.singles(len(low.frags) + len(high.frags))
	k.meetBands(parent, low, high, int32(number*bandRows), 0, lows)
	for i := range parent {
		top := find(parent, int32(i))
		if top == int32(i) {
			continue
		}
		high.joins = append(high.joins, joined{top, int32(i)})
		for _, n := range [2]int32{top, int32(i)} {
			if n < lows {
				k.parts.strike(low.frags[n].part)
			} else {
				k.parts.strike(high.frags[n-lows].part)
			}
		}
	}
}

// meetBands joins the fragments of two bands across the row where the upper one
// begins.
func (k *Skips) meetBands(parent []int32, low, high *band, border, lowBase, highBase int32) {
	n := int32(len(low.runs))
	last, before := n, n // where the last row starts, and the one before it
	for last > 0 && low.runs[last-1].row == border-1 {
		last--
	}
	for before = last; before > 0 && low.runs[before-1].row == border-2; {
		before--
	}
	first := int32(0) // where the first row ends, and the one after it
	for first < int32(len(high.runs)) && high.runs[first].row == border {
		first++
	}
	after := first
	for after < int32(len(high.runs)) && high.runs[after].row == border+1 {
		after++
	}
	lows, highs := naming{lowBase, true}, naming{highBase, true}
	rows := [4][]skipRun{low.runs[before:last], low.runs[last:], high.runs[:first], high.runs[first:after]}
	k.meet(parent, rows[1], nil, rows[2], lows, highs, joinNext, leanNext)
	k.meet(parent, rows[0], rows[1], rows[2], lows, highs, joinOver, leanOver)
	k.meet(parent, rows[1], rows[2], rows[3], lows, highs, joinOver, leanOver)
}

// collect finds all fragments of parts that are taken apart and of bands that
// changed.
func (k *Skips) collect() {
	p := &k.parts
	p.nodes = p.nodes[:0]
	for _, n := range p.changed {
		for i := range k.bandAt(n).frags {
			p.nodes = append(p.nodes, placeOf(n, int32(i)))
		}
	}
	for _, v := range p.hit {
		for _, at := range v.members {
			if _, old := slices.BinarySearch(p.changed, at.band()); !old {
				p.nodes = append(p.nodes, at)
			}
		}
	}
	slices.Sort(p.nodes)
	for i, at := range p.nodes {
		k.fragment(at).node = int32(i)
	}
}

func (k *Skips) fragment(at place64) *fragment { return &k.bandAt(at.band()).frags[at.frag()] }

// unite joins the fragments collected across the lower border of a band.
func (k *Skips) unite(parent []int32, number int64) {
	high := k.bandAt(number)
	if len(high.joins) == 0 {
		return
	}
	low := k.bandAt(number - 1)
	of := func(n int32) *fragment {
		if lows := int32(len(low.frags)); n >= lows {
			return &high.frags[n-lows]
		}
		return &low.frags[n]
	}
	for _, j := range high.joins {
		// Either both are collected or none is.
		if a := of(j.a); a.part == nil || a.part.hit {
			unite(parent, a.node, of(j.b).node)
		}
	}
}

// make makes parts of the trees.
func (k *Skips) make(parent []int32) {
	p := &k.parts
	p.made = p.made[:0]
	for i, at := range p.nodes {
		f := k.fragment(at)
		if top := find(parent, int32(i)); top != int32(i) {
			f.part = k.fragment(p.nodes[top]).part
		} else {
			var v *found
			if n := len(p.spare); n > 0 {
				v, p.spare = p.spare[n-1], p.spare[:n-1]
			} else {
				v = new(found)
			}
			*v = found{lo: f.lo, hi: f.hi, rowLo: f.rowLo, rowHi: f.rowHi, members: v.members[:0]}
			p.made = append(p.made, v)
			f.part = v
		}
		v := f.part
		v.length += f.length
		v.key += f.key
		v.lo, v.hi, v.rowLo, v.rowHi = min(v.lo, f.lo), max(v.hi, f.hi), min(v.rowLo, f.rowLo), max(v.rowHi, f.rowHi)
		v.members = append(v.members, at)
	}
}

func byPlace(a, b listed) int { return cmp.Compare(a.at, b.at) }

func byKey(a, b listed) int { return cmp.Compare(a.v.key, b.v.key) }

// unlist takes the parts that are taken apart from the list, into gone.
func (p *partIndex) unlist() {
	p.gone = p.gone[:0]
	for _, v := range p.hit {
		if i, ok := slices.BinarySearchFunc(p.listed, listed{at: v.members[0]}, byPlace); ok {
			p.gone = append(p.gone, p.listed[i])
			p.length -= v.length
		}
	}
	if len(p.gone) == 0 {
		return
	}
	p.fresh = false
	slices.SortFunc(p.gone, byPlace)
	n, next := 0, 0
	for _, v := range p.listed {
		if next < len(p.gone) && p.gone[next].at == v.at {
			next++
			continue
		}
		p.listed[n] = v
		n++
	}
	clear(p.listed[n:])
	p.listed = p.listed[:n]
}

// list puts those that were made and are large enough into the list.
func (p *partIndex) list(least Area) {
	slices.SortFunc(p.gone, byKey)
	p.grown = p.grown[:0]
	for _, v := range p.made {
		if lengthArea(v.length) < least {
			continue
		}
		p.length += v.length
		n := listed{at: v.members[0], v: v}
		// It may be one that was there before.
		if i, ok := slices.BinarySearchFunc(p.gone, n, byKey); ok && p.gone[i].v.length == v.length {
			n.part = p.gone[i].part
		}
		p.grown = append(p.grown, n)
	}
	if len(p.grown) == 0 {
		return
	}
	p.fresh = false
	// From behind, so that each moves once.
	i, j := len(p.listed)-1, len(p.grown)-1
	p.listed = append(p.listed, p.grown...)
	for at := len(p.listed) - 1; j >= 0; at-- {
		if i >= 0 && p.listed[i].at > p.grown[j].at {
			p.listed[at] = p.listed[i]
			i--
		} else {
			p.listed[at] = p.grown[j]
			j--
		}
	}
}

// Parts are the skips, as of the last Update, in the order of their lowest
// scanline. A part that did not change since the call before is the same pointer.
func (k *Skips) Parts() []*Part {
	p := &k.parts
	if p.fresh {
		return p.parts
	}
	parts := make([]*Part, len(p.listed))
	for i := range p.listed {
		v := &p.listed[i]
		if v.part == nil {
			v.part = k.gather(v.v)
		}
		parts[i] = v.part
	}
	p.parts, p.fresh = parts, true
	return parts
}

// gather copies a part's runs.
func (k *Skips) gather(v *found) *Part {
	n := int32(0)
	for _, m := range v.members {
		f := k.fragment(m)
		n += f.end - f.start
	}
	part := &Part{
		frame: k.frame, key: v.key, length: v.length, runs: make([]skipRun, 0, n),
		lo: v.lo, hi: v.hi, rowLo: v.rowLo, rowHi: v.rowHi,
	}
	for members := v.members; len(members) > 0; {
		same := 1
		for same < len(members) && members[same].band() == members[0].band() {
			same++
		}
		b := k.bandAt(members[0].band())
		if same == 1 {
			f := b.frags[members[0].frag()]
			for _, i := range b.byFrag[f.start:f.end] {
				part.runs = append(part.runs, b.runs[i])
			}
		} else { // row by row over all its fragments in this band
			for _, r := range b.runs {
				if b.frags[r.frag].part == v {
					part.runs = append(part.runs, r)
				}
			}
		}
		members = members[same:]
	}
	return part
}
