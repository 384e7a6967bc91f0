package tiles

import (
	"cmp"
	"slices"
)

// Rounding to a tile's units makes sides meet that did not: of thin shapes, mostly.
// The specification wants none to (2.1, section 4.3.3.3), and drawing goes wrong
// where they do. The corner that did it is then left out, which moves the outline by
// about as much as the rounding did.

// simplifier leaves those corners out. It holds storage that is used again and again.
type simplifier struct {
	sides   []side
	entries []uint64 // of sides by strip, then by where they begin in it
	open    []reaching
	bad     []bool // by number of the corner
	near    cells  // where sides are new
}

// side is a side of a ring, from its left end to its right end.
type side struct {
	a, b      point
	from, to  int32 // numbers of its corners, counted over all rings
	low, high int64 // y
}

// reaching is a side that goes on, in its strip up to hi.
type reaching struct {
	side int32
	hi   int64
}

const (
	// simplePasses is how often corners are left out before what still meets is left
	// as it is.
	simplePasses = 40
	// maxStrips, and sidesPerStrip: sides are looked at in so many level strips, fewer
	// where there are few sides, so that those of a long narrow shape that goes up the
	// tile are not all beside one another.
	maxStrips     = 64
	sidesPerStrip = 16
	// fewSides are looked at each with each.
	fewSides = 24
)

// simple leaves out corners until no sides of the polygons meet but where they
// follow one another. What is left of rings is tidy. It changes the rings; they must
// lie within the tile and its buffer.
func (m *simplifier) simple(polygons [][][]point) [][][]point {
	m.near.all()
	for range simplePasses {
		m.gather(polygons)
		if !m.meeting() {
			break
		}
		polygons = m.without(polygons)
	}
	return polygons
}

// gather finds the sides where there are new ones: only those can meet others that
// they did not before.
func (m *simplifier) gather(polygons [][][]point) {
	m.sides = m.sides[:0]
	n := int32(0)
	for _, p := range polygons {
		for _, r := range p {
			first := n
			n += int32(len(r))
			b, to := r[0], first
			for i := len(r) - 1; i >= 0; i-- {
				a, from := r[i], first+int32(i)
				s := side{a: a, b: b, from: from, to: to, low: min(a.y, b.y), high: max(a.y, b.y)}
				if b.x < a.x {
					s.a, s.b, s.from, s.to = b, a, to, from
				}
				if m.near.touch(s.a.x, s.low, s.b.x, s.high) {
					m.sides = append(m.sides, s)
				}
				b, to = a, from
			}
		}
	}
	m.bad = slices.Grow(m.bad[:0], int(n))[:n]
	clear(m.bad)
}

// meeting marks a corner to leave out for each pair of sides that meet, and tells
// whether there is one.
func (m *simplifier) meeting() (found bool) {
	if len(m.sides) <= fewSides {
		for i := range m.sides {
			for k := range i {
				found = m.pair(i, k) || found
			}
		}
		return found
	}
	strips := min(maxStrips, 1+len(m.sides)/sidesPerStrip)
	height := (extent+2*buffer)/int64(strips) + 1
	m.sortInto(height)
	strip := uint64(0)
	m.open = m.open[:0]
	for _, e := range m.entries {
		if e>>56 != strip {
			strip, m.open = e>>56, m.open[:0]
		}
		i := int32(uint32(e))
		s := &m.sides[i]
		lo, hi := s.within(int64(strip)*height-buffer, height)
		kept := m.open[:0]
		for _, o := range m.open {
			if o.hi < lo {
				continue
			}
			kept = append(kept, o)
			if t := &m.sides[o.side]; t.high >= s.low && s.high >= t.low {
				found = m.pair(int(max(i, o.side)), int(min(i, o.side))) || found
			}
		}
		m.open = append(kept, reaching{i, hi})
	}
	return found
}

// sortInto sorts the sides into strips of a height, and there from left to right.
func (m *simplifier) sortInto(height int64) {
	var ends [maxStrips + 1]int32 // of each strip's entries, one further on
	for i := range m.sides {
		s := &m.sides[i]
		for k := (s.low + buffer) / height; k <= (s.high+buffer)/height; k++ {
			ends[k+1]++
		}
	}
	for k := range maxStrips {
		ends[k+1] += ends[k]
	}
	all := int(ends[maxStrips])
	m.entries = slices.Grow(m.entries[:0], all)[:all]
	at := ends
	for i := range m.sides {
		s := &m.sides[i]
		for k := (s.low + buffer) / height; k <= (s.high+buffer)/height; k++ {
			lo, _ := s.within(k*height-buffer, height)
			m.entries[at[k]] = uint64(k)<<56 | uint64(lo+buffer)<<32 | uint64(i)
			at[k]++
		}
	}
	for k := range maxStrips {
		slices.Sort(m.entries[ends[k]:ends[k+1]])
	}
}

// within is how far left and right the side reaches, at most, from y on for a
// height; it begins and ends within the tile and its buffer.
func (s *side) within(y, height int64) (lo, hi int64) {
	if s.low >= y && s.high < y+height {
		return s.a.x, s.b.x
	}
	slope := float64(s.b.x-s.a.x) / float64(s.b.y-s.a.y)
	p := s.a.x + int64(float64(max(y, s.low)-s.a.y)*slope)
	q := s.a.x + int64(float64(min(y+height, s.high)-s.a.y)*slope)
	return max(min(p, q)-1, s.a.x), min(max(p, q)+1, s.b.x)
}

// pair marks a corner to leave out where two sides meet.
func (m *simplifier) pair(i, k int) bool {
	s, t := &m.sides[i], &m.sides[k]
	if !s.meets(t) {
		return false
	}
	m.bad[s.culprit(t)] = true
	return true
}

// follows tells whether two sides share a corner of their ring.
func (s *side) follows(t *side) bool {
	return s.from == t.from || s.from == t.to || s.to == t.from || s.to == t.to
}

func (s *side) meets(t *side) bool {
	if s.follows(t) {
		return false // tidy rings do not turn back onto themselves
	}
	return turn(s.a, s.b, t.a)*turn(s.a, s.b, t.b) <= 0 && turn(t.a, t.b, s.a)*turn(t.a, t.b, s.b) <= 0
}

// turn tells to which side of the way from a to b the point c lies: -1, 0 or 1.
func turn(a, b, c point) int {
	return cmp.Compare((b.x-a.x)*(c.y-a.y), (b.y-a.y)*(c.x-a.x))
}

// culprit is the end of one of two sides that lies nearest to the other.
func (s *side) culprit(t *side) int32 {
	best, least := s.from, t.distance2(s.a)
	for _, e := range [...]struct {
		c int32
		d float64
	}{{s.to, t.distance2(s.b)}, {t.from, s.distance2(t.a)}, {t.to, s.distance2(t.b)}} {
		if e.d < least {
			best, least = e.c, e.d
		}
	}
	return best
}

// distance2 is the square of the distance of p from the side.
func (s *side) distance2(p point) float64 {
	vx, vy := float64(s.b.x-s.a.x), float64(s.b.y-s.a.y)
	px, py := float64(p.x-s.a.x), float64(p.y-s.a.y)
	along := max(0, min(1, (px*vx+py*vy)/(vx*vx+vy*vy)))
	px, py = px-along*vx, py-along*vy
	return px*px + py*py
}

// without leaves the marked corners out, and notes where sides are new by that.
func (m *simplifier) without(polygons [][][]point) (kept [][][]point) {
	m.near = cells{}
	bad := m.bad
	kept = polygons[:0]
	for _, p := range polygons {
		rings := p[:0]
		for i, r := range p {
			if of := bad[:len(r)]; slices.Contains(of, true) {
				m.noteNew(r, of)
				n := 0
				for k, c := range r {
					if !of[k] {
						r[n] = c
						n++
					}
				}
				bad, r = bad[len(r):], tidy(r[:n])
			} else {
				bad = bad[len(r):]
			}
			if exterior := i == 0; r != nil && doubleArea(r) > 0 == exterior && (exterior || len(rings) > 0) {
				rings = append(rings, r)
			}
		}
		if len(rings) > 0 {
			kept = append(kept, rings)
		}
	}
	return kept
}

// noteNew notes where a ring's sides are new once the bad corners are left out: each
// within the box around the corners left out and those before and after.
func (m *simplifier) noteNew(r []point, bad []bool) {
	from := slices.Index(bad, false)
	if from < 0 {
		return // nothing is left
	}
	before := r[from]
	lo, hi, out := before, before, false
	for i := range r {
		at := from + 1 + i
		if at >= len(r) {
			at -= len(r)
		}
		p := r[at]
		lo, hi = point{min(lo.x, p.x), min(lo.y, p.y)}, point{max(hi.x, p.x), max(hi.y, p.y)}
		if bad[at] {
			out = true
			continue
		}
		if out {
			m.near.mark(lo.x, lo.y, hi.x, hi.y)
		}
		lo, hi, out = p, p, false
	}
}

// cells are squares of the tile and its buffer, a bit for each, row by row.
type cells [64]uint64

// cellWidth is in the tile's units.
const cellWidth = (extent+2*buffer)/64 + 1

func (c *cells) all() {
	for i := range c {
		c[i] = ^uint64(0)
	}
}

// columns are the bits of those from x0 to x1.
func columns(x0, x1 int64) uint64 {
	first, last := uint64(x0+buffer)/cellWidth, uint64(x1+buffer)/cellWidth
	return ^uint64(0) << first & (^uint64(0) >> (63 - last))
}

func (c *cells) mark(x0, y0, x1, y1 int64) {
	bits := columns(x0, x1)
	for row := (y0 + buffer) / cellWidth; row <= (y1+buffer)/cellWidth; row++ {
		c[row] |= bits
	}
}

// touch tells whether the box meets a cell that is marked.
func (c *cells) touch(x0, y0, x1, y1 int64) bool {
	bits := columns(x0, x1)
	for row := (y0 + buffer) / cellWidth; row <= (y1+buffer)/cellWidth; row++ {
		if c[row]&bits != 0 {
			return true
		}
	}
	return false
}
