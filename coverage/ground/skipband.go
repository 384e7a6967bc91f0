package ground

import "unsafe"

// band is a stack of rows with what was found on them.
type band struct {
	eroded [bandRows][]span // every pitch-th row; the others are nil
	open   [bandRows]int64  // uncovered length, where there is a boundary
	runs   []skipRun        // what is left over, by row and from left to right
	byFrag []int32          // the runs' numbers, fragment by fragment
	frags  []fragment
	joins  []joined // with fragments of the band below
}

// skipRun is a run of skipped ground.
type skipRun struct {
	row    int32
	lo, hi int32
	frag   int32 // fragment of the band
}

func (b *band) bytes() int {
	n := int(unsafe.Sizeof(*b)) + cap(b.runs)*int(unsafe.Sizeof(skipRun{})) + cap(b.byFrag)*4 + cap(b.frags)*int(unsafe.Sizeof(fragment{})) + cap(b.joins)*8
	for _, e := range b.eroded {
		n += cap(e) * spanBytes
	}
	return n
}

// band is the band of that number, made if it is not there.
func (k *Skips) band(number int64) *band {
	if len(k.bands) == 0 {
		k.firstBand = number
	}
	if number < k.firstBand {
		grown := make([]*band, int(k.firstBand-number)+len(k.bands))
		copy(grown[k.firstBand-number:], k.bands)
		k.bands, k.firstBand = grown, number
	}
	for number >= k.firstBand+int64(len(k.bands)) {
		k.bands = append(k.bands, nil)
	}
	at := &k.bands[number-k.firstBand]
	if *at == nil {
		*at = &band{}
		if k.rule.Field == nil {
			for i := int64(0); i < bandRows; i += k.pitch {
				(*at).eroded[i] = k.everywhere
			}
		}
	}
	return *at
}

// bandAt is the band of that number, nil where there is none.
func (k *Skips) bandAt(number int64) *band {
	if at := number - k.firstBand; at >= 0 && at < int64(len(k.bands)) {
		return k.bands[at]
	}
	return nil
}

// erodedRow is the eroded ground on a row that is eroded.
func (k *Skips) erodedRow(row int64) []span {
	number, i := floorDiv(row, bandRows)
	if b := k.bandAt(number); b != nil {
		return b.eroded[i]
	}
	if k.rule.Field == nil {
		return k.everywhere
	}
	return nil
}

// splice is the row with the part in the window replaced; dst is storage. same is
// true where nothing changed.
func splice(dst, row, part []span, w window) (out []span, same bool) {
	out = dst[:0]
	add := func(lo, hi int32) {
		if n := len(out); n > 0 && out[n-1].hi == lo {
			out[n-1].hi = hi
		} else if lo < hi {
			out = append(out, span{lo, hi})
		}
	}
	i := 0
	for ; i < len(row) && row[i].lo < w.lo; i++ {
		add(row[i].lo, min(row[i].hi, w.lo))
		if row[i].hi > w.lo {
			break
		}
	}
	for _, s := range part {
		add(s.lo, s.hi)
	}
	for ; i < len(row); i++ {
		if row[i].hi > w.hi {
			add(max(row[i].lo, w.hi), row[i].hi)
		}
	}
	if len(out) != len(row) {
		return out, false
	}
	for i := range out {
		if out[i] != row[i] {
			return out, false
		}
	}
	return out, true
}
