package ground

import (
	"slices"

	"drawbar/coverage/plane"
)

// fieldRows is the ground inside a boundary, row by row from first.
type fieldRows struct {
	first  int64
	starts []int32 // of each row's spans, and one past the end
	spans  []span
	length int64
}

func (f *fieldRows) rows() int64 { return max(0, int64(len(f.starts))-1) }

func (f *fieldRows) row(row int64) []span {
	i := row - f.first
	if i < 0 || i >= f.rows() {
		return nil
	}
	return f.spans[f.starts[i]:f.starts[i+1]]
}

func (f *fieldRows) bytes() int { return cap(f.starts)*4 + cap(f.spans)*spanBytes }

// layField lays the scanlines over a boundary; ok is false where it is too large.
func layField(at frame, rings [][]plane.Coord) (f fieldRows, ok bool) {
	const farRow = farReach / rowHeight * 2
	var sides []longEdge
	for _, ring := range rings {
		for i, b := range ring {
			a := ring[(i+len(ring)-1)%len(ring)]
			if e, ok := newLongEdge(at.far(a), at.far(b), -farRow, farRow); ok {
				sides = append(sides, e)
			}
		}
	}
	if len(sides) == 0 {
		return f, true
	}
	slices.SortStableFunc(sides, func(a, b longEdge) int { return int(a.row - b.row) })
	f.first = sides[0].row
	end := f.first
	for _, e := range sides {
		end = max(end, e.end)
	}
	if end-f.first > maxFieldRows {
		return fieldRows{}, false
	}
	f.starts = make([]int32, 0, end-f.first+1)
	var (
		active []longEdge
		cuts   []int64
	)
	for row := f.first; row < end; row++ {
		f.starts = append(f.starts, int32(len(f.spans)))
		for len(sides) > 0 && sides[0].row <= row {
			active = append(active, sides[0])
			sides = sides[1:]
		}
		active = slices.DeleteFunc(active, func(e longEdge) bool { return e.end <= row })
		cuts = cuts[:0]
		for _, e := range active {
			cuts = append(cuts, min(max(e.crossing(row), -wide), wide))
		}
		slices.Sort(cuts)
		start := len(f.spans)
		for i := 0; i+1 < len(cuts); i += 2 {
			lo, hi := int32(cuts[i]), int32(cuts[i+1])
			f.length += int64(hi) - int64(lo)
			switch n := len(f.spans); {
			case lo >= hi:
			case n > start && f.spans[n-1].hi == lo:
				f.spans[n-1].hi = hi
			default:
				f.spans = append(f.spans, span{lo, hi})
			}
		}
	}
	f.starts = append(f.starts, int32(len(f.spans)))
	return f, true
}

// fieldRow is the field on a row.
func (k *Skips) fieldRow(row int64) []span {
	if k.rule.Field == nil {
		return k.everywhere
	}
	return k.field.row(row)
}

// coveredRow is the covered ground on a row.
func (s *Set) coveredRow(row int64) []span {
	number, i := floorDiv(row, pageRows)
	at := number - s.firstPage
	if at < 0 || at >= int64(len(s.pages)) || s.pages[at] == nil {
		return nil
	}
	return s.pages[at].covered[i].s
}

// open appends the uncovered ground of the field on a row within a window.
func (k *Skips) open(dst []span, row int64, w window) []span {
	field := k.fieldRow(row)
	if len(field) == 0 {
		return dst
	}
	covered := k.set.coveredRow(row)
	i := 0
	if len(covered) > 0 && covered[0].hi < w.lo {
		i = search(covered, w.lo)
	}
	for _, f := range field {
		x, end := max(f.lo, w.lo), min(f.hi, w.hi)
		for ; x < end && i < len(covered) && covered[i].lo < end; i++ {
			if covered[i].lo > x {
				dst = append(dst, span{x, covered[i].lo})
			}
			x = max(x, covered[i].hi)
			if covered[i].hi >= end {
				break
			}
		}
		if x < end {
			dst = append(dst, span{x, end})
		}
	}
	return dst
}
