package ground

import "slices"

// stack is the runs of a shape, scanline by scanline from the lowest up, made
// ready for tracing: slits and slivers narrower than a limit are gone, and the
// ends of runs on neighbouring scanlines are never so close that only a corner
// would join them.
type stack struct {
	pitch   int64   // distance of scanlines, steps of 0.1 mm
	base    int64   // y of height 0
	heights []int64 // of each line that has runs, in pitches
	starts  []int32 // index of each line's first run, and one past the end
	runs    []span
	area    Area    // of the shape, slivers and slits as they were
	parent  []int32 // of runs, a forest whose trees are the connected pieces
	square  []bool  // of runs whose ground is squared off all round; nil: of none
}

func (l *stack) lines() int { return len(l.heights) }

// block is a range of runs: those of one line.
type block struct{ first, end int32 }

func (l *stack) line(i int) block { return block{l.starts[i], l.starts[i+1]} }

// height is the y in the frame of half scanlines above the lowest.
func (l *stack) height(half int32) int64 { return l.base + int64(half)*l.pitch/2 }

// stack takes the shape's runs out of the set.
func (s *Set) stack(times int, slit int32) *stack {
	if times == 2 {
		s = s.settled()
	}
	l := &stack{pitch: rowHeight}
	rows := int64(pageRows)
	if times == 2 {
		l.pitch, rows = rowHeight*againPitch, pageAgain
	}
	l.base = rowCentre(s.firstPage * pageRows)
	var merged []span
	for n, p := range s.pages {
		if p == nil {
			continue
		}
		for i := range rows {
			line := p.covered[i].s
			if times == 2 {
				line, merged = s.twice(p, i, merged)
			}
			if len(line) > 0 {
				l.area += lengthArea(length(line)) * Area(l.pitch/rowHeight)
				l.push(int64(n)*rows+i, line, slit)
			}
		}
	}
	l.ready()
	if s.only > 0 {
		s.squareBorders(l, slit)
	}
	return l
}

// squareBorders squares off the runs beside ground of another cause, there and on
// the lines next to it: lines straight from run to run and smoothed would make
// both claim a strip of the border.
func (s *Set) squareBorders(l *stack, slit int32) {
	l.square = make([]bool, len(l.runs))
	margin := slit + maxSmoothing
	for i := range l.lines() {
		line := l.line(i)
		for _, height := range [3]int64{l.heights[i] - 1, l.heights[i], l.heights[i] + 1} {
			n, k := floorDiv(height, pageAgain)
			if n < 0 || n >= int64(len(s.pages)) || s.pages[n] == nil {
				continue
			}
			for c, t := range s.pages[n].twice {
				if t == nil || Cause(c) == s.only-1 || len(t[k].s) == 0 {
					continue
				}
				for r := line.first; r < line.end; r++ {
					at := search(t[k].s, l.runs[r].lo-margin)
					l.square[r] = l.square[r] || at < len(t[k].s) && t[k].s[at].lo <= l.runs[r].hi+margin
				}
			}
		}
	}
}

func (l *stack) isSquare(run int32) bool { return l.square != nil && l.square[run] }

// ready closes the stack: no more runs are pushed.
func (l *stack) ready() *stack {
	l.starts = append(l.starts, int32(len(l.runs)))
	l.parent = slices.Grow(l.parent[:0], len(l.runs))[:len(l.runs)]
	for i := range l.parent {
		l.parent[i] = int32(i)
	}
	return l
}

// push adds a scanline's runs.
func (l *stack) push(height int64, runs []span, slit int32) {
	first := len(l.runs)
	var below []span
	if n := len(l.heights); n > 0 && l.heights[n-1] == height-1 {
		below = l.runs[l.starts[n-1]:first]
	}
	for _, r := range runs {
		if n := len(l.runs); n > first && r.lo-l.runs[n-1].hi < slit {
			l.runs[n-1].hi = r.hi
			continue
		}
		l.runs = append(l.runs, r)
	}
	kept, j := first, 0
	for _, r := range l.runs[first:] {
		for j > 0 && below[j-1].hi > r.lo-slit {
			j--
		}
		for j < len(below) && below[j].hi <= r.lo-slit {
			j++
		}
		for k := j; k < len(below) && below[k].lo < r.hi+slit; k++ {
			if near(r.lo, below[k].hi, slit/2) {
				r.lo = below[k].hi + slit/2
			}
			if near(r.hi, below[k].lo, slit/2) {
				r.hi = below[k].lo - slit/2
			}
		}
		if r.hi-r.lo >= slit/2 {
			l.runs[kept] = r
			kept++
		}
	}
	l.runs = l.runs[:kept]
	if kept > first {
		l.heights = append(l.heights, height)
		l.starts = append(l.starts, int32(first))
	}
}

func near(a, b, limit int32) bool { return a-b < limit && b-a < limit }

// piece is the name of the connected piece a run belongs to.
func (l *stack) piece(run int32) int32 {
	for l.parent[run] != run {
		l.parent[run] = l.parent[l.parent[run]]
		run = l.parent[run]
	}
	return run
}

// join says that two runs belong to the same piece.
func (l *stack) join(a, b int32) {
	a, b = l.piece(a), l.piece(b)
	l.parent[max(a, b)] = min(a, b)
}
