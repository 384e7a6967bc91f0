package ground

// skipWork is storage that is used again and again.
type skipWork struct {
	eroded, left, over windows // where those have to be looked at
	rows               rowCache
	a, b, row          []span
	runs               []skipRun
	parent             []int32
	met                []bool
	start              [bandRows + 3]int32
}

func (w *skipWork) bytes() int {
	return (cap(w.eroded.w)+cap(w.left.w)+cap(w.over.w))*8 + cap(w.rows.spans)*spanBytes + cap(w.rows.starts)*4 +
		(cap(w.a)+cap(w.b)+cap(w.row))*spanBytes + cap(w.runs)*16 + cap(w.parent)*4 + cap(w.met)
}

// chunk is how many strips are eroded at a time.
const chunk = 48

// refresh computes anew what the dirty windows reach.
func (k *Skips) refresh() {
	r := k.rule.Width / 2
	dirty, work := &k.dirty, &k.work
	if k.rule.Field != nil {
		k.countOpen(dirty)
	}
	dirty.reach(&work.eroded, r+1)
	// What has been eroded otherwise than before, and what was dirty.
	changed := &work.over
	changed.first, changed.w = dirty.first, append(changed.w[:0], dirty.w...)
	for s := work.eroded.first; s < work.eroded.end(); s += chunk {
		k.erodeStrips(s, min(s+chunk, work.eroded.end()), changed)
	}
	changed.reach(&work.left, r+k.growth()+1)
	// Left over is what is uncovered: nothing can change on rows without ground.
	first, _ := floorDiv(work.left.first, bandRows/stripRows)
	last, _ := floorDiv(work.left.end()-1, bandRows/stripRows)
	for n := first; n <= last; n++ {
		k.leaveBand(n)
	}
	dirty.w = dirty.w[:0]
}

// countOpen counts the uncovered ground of the field on rows that may have
// changed.
func (k *Skips) countOpen(v *windows) {
	first := max(v.first*stripRows, k.field.first)
	end := min(v.end()*stripRows, k.field.first+k.field.rows())
	for row := first; row < end; row++ {
		strip, _ := floorDiv(row, stripRows)
		if v.at(strip).empty() {
			continue
		}
		k.work.row = k.open(k.work.row[:0], row, window{-wide, wide})
		sum := int64(0)
		for _, s := range k.work.row {
			sum += int64(s.hi) - int64(s.lo)
		}
		number, i := floorDiv(row, bandRows)
		b := k.band(number)
		k.uncovered += sum - b.open[i]
		b.open[i] = sum
	}
}

// rowCache holds the uncovered ground of rows, every pitch-th from first.
type rowCache struct {
	first, pitch int64
	starts       []int32
	spans        []span
}

// row is the row of an index.
func (c *rowCache) row(i int) []span { return c.spans[c.starts[i]:c.starts[i+1]] }

// erodeStrips erodes the rows of the strips from first to end within their
// windows, and marks where that changed anything.
func (k *Skips) erodeStrips(first, end int64, changed *windows) {
	windows := &k.work.eroded
	for first < end && windows.at(first).empty() {
		first++
	}
	for first < end && windows.at(end-1).empty() {
		end--
	}
	if first == end {
		return
	}
	var (
		reach = int64(len(k.inner)-1) * k.pitch
		c     = &k.work.rows
		r     = k.rule.Width / 2
		view  window
	)
	for s := first; s < end; s++ {
		view = view.with(windows.at(s))
	}
	view = view.wider(r + 2)
	quotient, _ := floorDiv(first*stripRows, k.pitch)
	c.first, c.pitch, c.starts, c.spans = quotient*k.pitch-reach, k.pitch, c.starts[:0], c.spans[:0]
	for row := c.first; row < end*stripRows+reach; row += k.pitch {
		c.starts = append(c.starts, int32(len(c.spans)))
		c.spans = k.open(c.spans, row, view)
	}
	c.starts = append(c.starts, int32(len(c.spans)))
	for s := first; s < end; s++ {
		w := windows.at(s)
		if w.empty() {
			continue
		}
		for row := s * stripRows; row < (s+1)*stripRows; row++ {
			if _, rest := floorDiv(row, k.pitch); rest != 0 {
				continue
			}
			part := k.erode(row, w)
			old := k.erodedRow(row)
			next, same := splice(k.work.row, old, part, w)
			k.work.row = next
			if same {
				continue
			}
			changed.mark(s, w)
			number, i := floorDiv(row, bandRows)
			b := k.band(number)
			if own := b.eroded[i]; cap(own) >= len(next) && k.owns(own) {
				b.eroded[i] = append(own[:0], next...)
			} else {
				b.eroded[i] = append(make([]span, 0, len(next)+1), next...)
			}
		}
	}
}

// owns is false for the row that stands for all that were never looked at.
func (k *Skips) owns(row []span) bool {
	return cap(row) > 0 && &row[:1][0] != &k.everywhere[0]
}

// erode is the ground of a row, within the window, that a disc around it does
// not leave.
func (k *Skips) erode(row int64, w window) []span {
	var (
		c    = &k.work.rows
		r    = int32(k.rule.Width / 2)
		out  = k.work.a[:0]
		swap = k.work.b
	)
	at := int((row - c.first) / c.pitch)
	for _, s := range c.row(at) {
		if lo, hi := max(s.lo+r, w.lo), min(s.hi-r+1, w.hi); lo < hi {
			out = append(out, span{lo, hi})
		}
	}
	for d := 1; d < len(k.inner) && len(out) > 0; d++ {
		swap = cutDown(swap[:0], out, c.row(at-d), k.inner[d])
		out, swap = swap, out
		swap = cutDown(swap[:0], out, c.row(at+d), k.inner[d])
		out, swap = swap, out
	}
	k.work.a, k.work.b = out, swap
	return out
}

// cutDown appends what s and the spans of by, a half chord shorter at both ends,
// have in common.
func cutDown(dst, s, by []span, chord int32) []span {
	i := 0
	for _, v := range s {
		if i < len(by) && by[i].hi-chord < v.lo {
			i += search(by[i:], v.lo+chord)
		}
		for j := i; j < len(by) && by[j].lo+chord < v.hi; j++ {
			if lo, hi := max(v.lo, by[j].lo+chord), min(v.hi, by[j].hi-chord+1); lo < hi {
				dst = append(dst, span{lo, hi})
			}
			i = j
		}
	}
	return dst
}

// leaveBand finds what is left over on a band's rows, within their windows.
func (k *Skips) leaveBand(number int64) {
	var (
		v    = &k.work.left
		runs = k.work.runs[:0]
		old  []skipRun
		next []span
		same = true
	)
	if b := k.bandAt(number); b != nil {
		old = b.runs
	}
	touched := false
	for strip := int64(0); strip < bandRows/stripRows; strip++ {
		touched = touched || !v.at(number*(bandRows/stripRows)+strip).empty()
	}
	if !touched {
		return
	}
	k.work.runs = runs
	n := 0
	for row := number * bandRows; row < (number+1)*bandRows; row++ {
		before := len(runs)
		from := n
		for n < len(old) && int64(old[n].row) == row {
			n++
		}
		strip, _ := floorDiv(row, stripRows)
		if w := v.at(strip); w.empty() {
			runs = append(runs, old[from:n]...)
		} else {
			k.work.row = k.work.row[:0]
			for _, o := range old[from:n] {
				k.work.row = append(k.work.row, span{o.lo, o.hi})
			}
			next, _ = splice(next, k.work.row, k.leave(row, w), w)
			for _, s := range next {
				runs = append(runs, skipRun{row: int32(row), lo: s.lo, hi: s.hi})
			}
		}
		if same && len(runs)-before == n-from {
			for i := range n - from {
				same = same && runs[before+i].lo == old[from+i].lo && runs[before+i].hi == old[from+i].hi
			}
		} else {
			same = false
		}
	}
	k.work.runs = runs
	if same {
		return
	}
	b := k.band(number)
	k.takeApart(b, number)
	if cap(b.runs) < len(runs) || cap(b.runs) > 2*len(runs)+64 {
		b.runs = make([]skipRun, 0, len(runs)+len(runs)/8)
	}
	b.runs = append(b.runs[:0], runs...)
	k.label(b, number)
}

// leave is the uncovered ground of a row, within the window, that the opened and
// grown ground does not reach.
func (k *Skips) leave(row int64, w window) []span {
	left, swap := k.open(k.work.a[:0], row, w), k.work.b
	quotient, _ := floorDiv(row, k.pitch)
	below, above := quotient*k.pitch, (quotient+1)*k.pitch
	for limit := int64(len(k.outer)); len(left) > 0; below, above = below-k.pitch, above+k.pitch {
		down, up := row-below, above-row
		if down >= limit && up >= limit {
			break
		}
		if down < limit {
			if e := k.erodedRow(below); len(e) > 0 {
				swap = without(swap[:0], left, e, k.outer[down])
				left, swap = swap, left
			}
		}
		if up < limit {
			if e := k.erodedRow(above); len(e) > 0 {
				swap = without(swap[:0], left, e, k.outer[up])
				left, swap = swap, left
			}
		}
	}
	k.work.a, k.work.b = left, swap
	return left
}

// without appends what is left of s outside the spans of by, a half chord longer
// at both ends.
func without(dst, s, by []span, chord int32) []span {
	i := 0
	for _, v := range s {
		if i < len(by) && by[i].hi+chord <= v.lo {
			i += search(by[i:], v.lo-chord+1)
		}
		x := v.lo
		for j := i; j < len(by) && by[j].lo-chord < v.hi; j++ {
			if lo := by[j].lo - chord; lo > x {
				dst = append(dst, span{x, lo})
			}
			x = max(x, by[j].hi+chord)
			i = j
		}
		if x < v.hi {
			dst = append(dst, span{x, v.hi})
		}
	}
	return dst
}
