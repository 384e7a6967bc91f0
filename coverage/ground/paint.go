package ground

import "slices"

// paint marks a quad's ground on the scanlines and returns the sum of its spans
// and how much of it was covered before, both in steps of 0.1 mm.
func (s *Set) paint(q Quad) (length, before int64) {
	var corners [4]point
	for i, c := range q {
		corners[i] = s.frame.scan(c)
	}
	var edges [4]edge
	n := 0
	for i, a := range corners {
		if e, ok := newEdge(a, corners[(i+1)%4]); ok {
			edges[n] = e
			n++
		}
	}
	// From corner to corner the same two or four sides are crossed.
	for n > 0 {
		row := edges[0].row
		for _, e := range edges[1:n] {
			row = min(row, e.row)
		}
		var active [4]*edge
		k, end := 0, int64(1<<62)
		for i := range edges[:n] {
			if e := &edges[i]; e.row == row {
				active[k] = e
				k++
				end = min(end, e.end)
			} else {
				end = min(end, e.row)
			}
		}
		var l, b int64
		if k == 2 {
			l, b = s.paintBetween(active[0], active[1], row, end)
		} else {
			l, b = s.paintFour(active, row, end)
		}
		length, before = length+l, before+b
		kept := 0
		for _, e := range edges[:n] {
			if e.row < e.end {
				edges[kept] = e
				kept++
			}
		}
		n = kept
	}
	s.gross += length
	s.covered += length - before
	return length, before
}

// paintBetween marks the ground between two sides on the rows from row up to
// end, whichever of them is the left one.
func (s *Set) paintBetween(a, b *edge, row, end int64) (length, before int64) {
	for row < end {
		number, first := floorDiv(row, pageRows)
		p := s.page(number)
		stop := min(end, (number+1)*pageRows)
		// The next row of this page whose ground covered twice is kept.
		keep := (first + againPitch - 1) / againPitch * againPitch
		for i := first; row < stop; i, row = i+1, row+1 {
			var twice *runs
			if i == keep {
				twice = &p.again[i/againPitch]
				keep += againPitch
			}
			lo, hi := a.x, b.x
			if lo > hi {
				lo, hi = hi, lo
			}
			if lo < hi {
				length += hi - lo
				before += int64(p.covered[i].add(int32(lo), int32(hi), twice))
			}
			a.next()
			b.next()
		}
	}
	return length, before
}

// paintFour does the same where a folded or concave quad is crossed four times:
// the ground is between the first and second and the third and fourth crossing.
func (s *Set) paintFour(active [4]*edge, row, end int64) (length, before int64) {
	for ; row < end; row++ {
		number, i := floorDiv(row, pageRows)
		p := s.page(number)
		var twice *runs
		if i%againPitch == 0 {
			twice = &p.again[i/againPitch]
		}
		x := [4]int64{active[0].x, active[1].x, active[2].x, active[3].x}
		slices.Sort(x[:])
		if x[1] == x[2] {
			x[1], x[2] = x[3], x[3] // one span, or it would count as two that touch
		}
		for k := 0; k < 4; k += 2 {
			if lo, hi := x[k], x[k+1]; lo < hi {
				length += hi - lo
				before += int64(p.covered[i].add(int32(lo), int32(hi), twice))
			}
		}
		for _, e := range active {
			e.next()
		}
	}
	return length, before
}
