package ground

import "unsafe"

// partIndex knows the parts that are large enough to be skips.
type partIndex struct {
	length  int64 // of all of them, on scanlines
	found   []found
	members []member // of each part from start to end
	parts   []*Part  // as handed out last
	fresh   bool     // that is up to date

	all  []found // large or not
	of   []int32 // part of each fragment, by its number over all bands
	base []int32 // number of each band's first fragment
}

// found is a part: box, sums, and where its members are.
type found struct {
	length       int64
	key          uint64
	lo, hi       int32
	rowLo, rowHi int32
	start, end   int32
}

// member is one fragment of a part.
type member struct {
	band int32 // index
	frag int32
}

func (p *partIndex) drop() {
	p.length, p.found, p.members, p.fresh = 0, p.found[:0], p.members[:0], false
}

func (p *partIndex) bytes() int {
	n := (cap(p.found)+cap(p.all))*int(unsafe.Sizeof(found{})) + cap(p.members)*8 + (cap(p.of)+cap(p.base))*4
	for _, part := range p.parts {
		n += int(unsafe.Sizeof(*part)) + cap(part.runs)*skipRunBytes
	}
	return n
}

// join puts the fragments of all bands together into parts, in the order of
// their lowest run.
func (k *Skips) join() {
	p := &k.parts
	p.drop()
	p.base = p.base[:0]
	total := int32(0)
	for _, b := range k.bands {
		p.base = append(p.base, total)
		if b != nil {
			total += int32(len(b.frags))
		}
	}
	if total == 0 {
		return
	}
	parent := k.singles(int(total))
	for n := 1; n < len(k.bands); n++ {
		if low, high := k.bands[n-1], k.bands[n]; low != nil && high != nil {
			k.meetBands(parent, low, high, int32((k.firstBand+int64(n))*bandRows), p.base[n-1], p.base[n])
		}
	}
	p.all, p.of = p.all[:0], p.of[:0]
	for n, b := range k.bands {
		if b == nil {
			continue
		}
		for i := range b.frags {
			f := &b.frags[i]
			number := p.base[n] + int32(i)
			top := find(parent, number)
			if top == number {
				p.of = append(p.of, int32(len(p.all)))
				p.all = append(p.all, found{lo: f.lo, hi: f.hi, rowLo: f.rowLo, rowHi: f.rowHi})
			} else {
				p.of = append(p.of, p.of[top])
			}
			v := &p.all[p.of[number]]
			v.length += f.length
			v.key += f.key
			v.lo, v.hi, v.rowLo, v.rowHi = min(v.lo, f.lo), max(v.hi, f.hi), min(v.rowLo, f.rowLo), max(v.rowHi, f.rowHi)
			v.end++
		}
	}
	least := max(1, k.rule.MinArea)
	at := int32(0)
	for i := range p.all {
		v := &p.all[i]
		if lengthArea(v.length) < least {
			v.start, v.end = -1, -1
			continue
		}
		v.start, v.end, at = at, at, at+v.end
	}
	if cap(p.members) < int(at) {
		p.members = make([]member, at, at+at/8)
	}
	p.members = p.members[:at]
	for n, b := range k.bands {
		if b == nil {
			continue
		}
		for i := range b.frags {
			if v := &p.all[p.of[p.base[n]+int32(i)]]; v.start >= 0 {
				p.members[v.end] = member{int32(n), int32(i)}
				v.end++
			}
		}
	}
	for _, v := range p.all {
		if v.start >= 0 {
			p.length += v.length
			p.found = append(p.found, v)
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

// Parts are the skips, as of the last Update, in the order of their lowest
// scanline. A part that did not change since the call before is the same pointer.
func (k *Skips) Parts() []*Part {
	p := &k.parts
	if p.fresh {
		return p.parts
	}
	known := make(map[uint64]*Part, len(p.parts))
	for _, part := range p.parts {
		if part.frame == k.frame {
			known[part.key] = part
		}
	}
	p.parts = make([]*Part, 0, len(p.found))
	for i := range p.found {
		v := &p.found[i]
		part := known[v.key]
		if part == nil || part.length != v.length {
			part = k.gather(v)
		}
		p.parts = append(p.parts, part)
	}
	p.fresh = true
	return p.parts
}

// gather copies a part's runs.
func (k *Skips) gather(v *found) *Part {
	n := int32(0)
	for _, m := range k.parts.members[v.start:v.end] {
		f := k.bands[m.band].frags[m.frag]
		n += f.end - f.start
	}
	part := &Part{
		frame: k.frame, key: v.key, length: v.length, runs: make([]skipRun, 0, n),
		lo: v.lo, hi: v.hi, rowLo: v.rowLo, rowHi: v.rowHi,
	}
	members := k.parts.members[v.start:v.end]
	for len(members) > 0 {
		same := 1
		for same < len(members) && members[same].band == members[0].band {
			same++
		}
		b := k.bands[members[0].band]
		if same == 1 {
			f := b.frags[members[0].frag]
			for _, i := range b.byFrag[f.start:f.end] {
				part.runs = append(part.runs, b.runs[i])
			}
		} else { // row by row over all its fragments in this band
			for _, r := range b.runs {
				for _, m := range members[:same] {
					if m.frag == r.frag {
						part.runs = append(part.runs, r)
					}
				}
			}
		}
		members = members[same:]
	}
	return part
}
