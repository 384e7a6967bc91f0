package ground

import "drawbar/coverage/plane"

// Window is the shape of the ground covered at least times (1 or 2) inside the
// box from lo to hi, as a screen shows it on which nothing smaller than coarse
// steps of 0.1 mm can be told apart; nil for any other number, and where there is
// none. Where the box cuts the ground the shape ends at the box, or beyond it by up
// to half of coarse.
//
// Only every so manieth scanline is looked at, the ones nearest to coarse apart,
// counted from the frame so that windows of the same coarse that touch or overlap
// see the same ones. Of ground covered once gaps narrower than coarse along a
// scanline are closed, then runs narrower than half of it left out: passes that
// miss one another by a hand's breadth look whole from afar. Of ground covered
// twice it is the other way round: thin strips of overlap vanish and do not run
// together into broad ones. Corners are
// moved by up to a quarter of coarse, at least 1 cm, to save others. Otherwise the
// shape is made as Outline makes it, and the polygons are as valid; but the shapes
// of the views of several causes (Only) may overlap by up to coarse.
//
// Two sets that hold the same inside the box, on the same scanlines (SameLines),
// have the same shape there.
//
// The cost is that of the scanlines and runs inside the box.
func (s *Set) Window(lo, hi plane.Coord, coarse int64, times int) []Polygon {
	return new(Tracer).Window(s, lo, hi, coarse, times)
}

// Tracer finds windows of sets with storage that it uses again for the next one. The
// zero value is ready; it belongs to one goroutine.
type Tracer struct {
	lines       stack
	outline     outline
	cut, merged []span
}

// Window is Set.Window of s.
func (t *Tracer) Window(s *Set, lo, hi plane.Coord, coarse int64, times int) []Polygon {
	if times != 1 && times != 2 || !s.started {
		return nil
	}
	coarse = min(max(coarse, 0), maxReach)
	// As far as ground may lie, whatever ground there is so far.
	at := s.frame.origin
	lo = plane.Coord{X: max(lo.X, at.X-maxReach), Y: max(lo.Y, at.Y-maxReach)}
	hi = plane.Coord{X: min(hi.X, at.X+maxReach), Y: min(hi.Y, at.Y+maxReach)}
	if lo.X >= hi.X || lo.Y >= hi.Y {
		return nil
	}
	if times == 2 {
		s = s.settled()
	}
	w := newSlant(s.frame, lo, hi)
	play := max(maxSmoothing, int32(coarse/4))
	// As in outlineOf, rounding must not make the sides of a narrow slit cross.
	for slit := max(8, int32(coarse)); ; slit *= 4 {
		t.stack(s, w, coarse, times, slit)
		t.outline.trace(&t.lines, slit, play)
		polygons := t.outline.polygons(s.frame)
		if slit > maxSlit || !anyCrossing(polygons) {
			return polygons
		}
	}
}

// SameLines tells whether two sets have the same scanlines: else what they hold
// of the same ground differs by rounding.
func (s *Set) SameLines(o *Set) bool { return s.frame == o.frame }

// stack takes the runs of the scanlines in a window out of a settled set.
func (t *Tracer) stack(s *Set, w slant, coarse int64, times int, slit int32) {
	const perLine = againPitch
	rows := int64(1) // from one line that can be looked at to the next
	if times == 2 {
		rows = perLine
	}
	step := max(1, (coarse+rowHeight*rows/2)/(rowHeight*rows)) * rows
	first, rest := floorDiv(rowAbove(w.low), step)
	if rest > 0 {
		first++
	}
	l := &t.lines
	*l = stack{
		pitch: step * rowHeight, base: rowCentre(first * step),
		heights: l.heights[:0], starts: l.starts[:0], runs: l.runs[:0], parent: l.parent,
	}
	// Nothing is below the first page, nothing above the last.
	at := max(first, s.firstPage*pageRows/step)
	for ; rowCentre(at*step) <= w.high; at++ {
		number, i := floorDiv(at*step, pageRows)
		if number < s.firstPage {
			continue
		}
		if number >= s.firstPage+int64(len(s.pages)) {
			break
		}
		p := s.pages[number-s.firstPage]
		if p == nil {
			continue
		}
		line := p.covered[i].s
		if times == 2 {
			line, t.merged = s.twice(p, i/perLine, t.merged)
		}
		if len(line) == 0 {
			continue
		}
		lo, hi := w.at(rowCentre(at * step))
		cut := t.cut[:0]
		for _, r := range line[search(line, lo):] {
			if r.lo >= hi {
				break
			}
			if times == 2 && r.hi-r.lo < slit/2 {
				continue
			}
			if r = (span{max(r.lo, lo), min(r.hi, hi)}); r.lo < r.hi {
				cut = append(cut, r)
			}
		}
		if t.cut = cut; len(cut) > 0 {
			l.push(at-first, cut, slit)
		}
	}
	l.ready()
}

// slant is a box of the plane in the frame, where it lies aslant.
type slant struct {
	corners   [4]point
	low, high int64 // y
}

func newSlant(f frame, lo, hi plane.Coord) slant {
	w := slant{corners: [4]point{
		f.scan(lo), f.scan(plane.Coord{X: hi.X, Y: lo.Y}), f.scan(hi), f.scan(plane.Coord{X: lo.X, Y: hi.Y}),
	}}
	w.low, w.high = w.corners[0].y, w.corners[0].y
	for _, c := range w.corners[1:] {
		w.low, w.high = min(w.low, c.y), max(w.high, c.y)
	}
	return w
}

// at is the stretch of the scanline at y that lies in the box.
func (w *slant) at(y int64) (lo, hi int32) {
	left, right := int64(wide), int64(-wide)
	for i, a := range w.corners {
		b := w.corners[(i+1)%4]
		if a.y > b.y {
			a, b = b, a
		}
		if y < a.y || y > b.y {
			continue
		}
		x, end := a.x, b.x
		if a.y < b.y {
			q, _ := floorDiv((b.x-a.x)*(y-a.y), b.y-a.y)
			x += q
			end = x
		}
		left, right = min(left, x, end), max(right, x, end)
	}
	return int32(max(left, -wide)), int32(min(right, wide))
}
