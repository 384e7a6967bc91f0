package ground

import "slices"

// paint marks a quad's ground on the scanlines and returns the sum of its spans
// and how much of it was covered before, both in steps of 0.1 mm.
func (s *Set) paint(q Quad) (length, before int64) {
	var (
		edges   [4]edge
		live    [4]*edge // those with rows to go, by their next row
		n       int
		corners [4]point
	)
	for i, c := range q {
		corners[i] = s.frame.scan(c)
	}
	for i := range edges {
		e := &edges[i]
		if !e.set(corners[i], corners[(i+1)%4]) {
			continue
		}
		at := n
		for at > 0 && live[at-1].row > e.row {
			live[at] = live[at-1]
			at--
		}
		live[at] = e
		n++
	}
	// From corner to corner the same two or four sides are crossed.
	for n > 0 {
		row, end, k := live[0].row, live[0].end, 1
		for k < n && live[k].row == row {
			end = min(end, live[k].end)
			k++
		}
		if k < n {
			end = min(end, live[k].row)
		}
		var l, b int64
		if k == 2 {
			l, b = s.paintBetween(live[0], live[1], row, end)
		} else {
			l, b = s.paintFour(&live, row, end)
		}
		length, before = length+l, before+b
		kept := 0
		for i := range n {
			if live[i].row < live[i].end {
				live[kept] = live[i]
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
func (s *Set) paintBetween(left, right *edge, row, end int64) (length, before int64) {
	a, b := *left, *right // in registers
	for row < end {
		number, first := floorDiv(row, pageRows)
		p := s.page(number)
		stop := min(end, (number+1)*pageRows)
		// The next row of this page whose ground covered twice is kept.
		keep := (first + againPitch - 1) / againPitch * againPitch
		for i := first; row < stop; i, row = i+1, row+1 {
			var twice *[]stretch
			if i == keep {
				twice = &s.waiting
				keep += againPitch
			}
			lo, hi := a.x, b.x
			if lo > hi {
				lo, hi = hi, lo
			}
			if lo < hi {
				length += hi - lo
				before += int64(p.covered[i].add(int32(lo), int32(hi), int32(row), twice))
			}
			a.next()
			b.next()
		}
	}
	left.row, left.x, left.rest = a.row, a.x, a.rest
	right.row, right.x, right.rest = b.row, b.x, b.rest
	return length, before
}

// paintFour does the same where a folded or concave quad is crossed four times:
// the ground is between the first and second and the third and fourth crossing.
func (s *Set) paintFour(active *[4]*edge, row, end int64) (length, before int64) {
	for ; row < end; row++ {
		number, i := floorDiv(row, pageRows)
		p := s.page(number)
		var twice *[]stretch
		if i%againPitch == 0 {
			twice = &s.waiting
		}
		x := [4]int64{active[0].x, active[1].x, active[2].x, active[3].x}
		slices.Sort(x[:])
		if x[1] == x[2] {
			x[1], x[2] = x[3], x[3] // one span, or it would count as two that touch
		}
		for k := 0; k < 4; k += 2 {
			if lo, hi := x[k], x[k+1]; lo < hi {
				length += hi - lo
				before += int64(p.covered[i].add(int32(lo), int32(hi), int32(row), twice))
			}
		}
		for _, e := range active {
			e.next()
		}
	}
	return length, before
}
