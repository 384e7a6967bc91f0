package tiles

import (
	"cmp"
	"slices"
)

// Rounding to a tile's units makes sides meet that did not: of thin shapes, mostly.
// The specification wants none to (2.1, section 4.3.3.3), and drawing goes wrong
// where they do. The corner that did it is then left out, which moves the outline by
// about as much as the rounding did.

// side is a side of a ring, from its left end to its right end.
type side struct {
	a, b      point
	from, to  corner // which they are
	low, high int64  // y
}

// corner is a point of a ring.
type corner struct{ ring, at int }

// simplePasses is how often corners are left out before what still meets is left as
// it is.
const simplePasses = 40

// simple leaves out corners until no sides of the polygons meet but where they
// follow one another. What is left of rings is tidy. It changes the rings.
func simple(polygons [][][]point) [][][]point {
	look := make([]bool, len(polygons)) // which to look at
	for i := range look {
		look[i] = true
	}
	for range simplePasses {
		bad := meeting(polygons, look)
		if len(bad) == 0 {
			break
		}
		var changed []box
		polygons, changed = without(polygons, bad)
		// Only sides that are new can meet others that they did not before.
		look = look[:len(polygons)]
		for i, p := range polygons {
			around := boxOf(p[0])
			look[i] = slices.ContainsFunc(changed, around.meets)
		}
	}
	return polygons
}

// box is the smallest around a ring.
type box struct{ lo, hi point }

func boxOf(r []point) box {
	b := box{r[0], r[0]}
	for _, p := range r[1:] {
		b.lo = point{min(b.lo.x, p.x), min(b.lo.y, p.y)}
		b.hi = point{max(b.hi.x, p.x), max(b.hi.y, p.y)}
	}
	return b
}

func (b box) meets(o box) bool {
	return b.lo.x <= o.hi.x && b.lo.y <= o.hi.y && o.lo.x <= b.hi.x && o.lo.y <= b.hi.y
}

// meeting finds a corner to leave out for each pair of sides that meet, of the
// polygons to look at.
func meeting(polygons [][][]point, look []bool) map[corner]bool {
	var sides []side
	ring := 0
	for n, p := range polygons {
		if !look[n] {
			ring += len(p)
			continue
		}
		for _, r := range p {
			for i, a := range r {
				b := r[(i+1)%len(r)]
				s := side{
					a: a, b: b, from: corner{ring, i}, to: corner{ring, (i + 1) % len(r)},
					low: min(a.y, b.y), high: max(a.y, b.y),
				}
				if b.x < a.x {
					s.a, s.b, s.from, s.to = b, a, s.to, s.from
				}
				sides = append(sides, s)
			}
			ring++
		}
	}
	slices.SortFunc(sides, func(s, t side) int { return cmp.Compare(s.a.x, t.a.x) })
	var (
		bad  map[corner]bool
		open []side
	)
	for _, s := range sides {
		kept := open[:0]
		for _, t := range open {
			if t.b.x < s.a.x {
				continue
			}
			kept = append(kept, t)
			if t.high >= s.low && s.high >= t.low && s.meets(t) {
				if bad == nil {
					bad = map[corner]bool{}
				}
				bad[s.culprit(t)] = true
			}
		}
		open = append(kept, s)
	}
	return bad
}

// follows tells whether two sides share a corner of their ring.
func (s side) follows(t side) bool {
	return s.from == t.from || s.from == t.to || s.to == t.from || s.to == t.to
}

func (s side) meets(t side) bool {
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
func (s side) culprit(t side) corner {
	best, least := s.from, t.distance2(s.a)
	for _, e := range [...]struct {
		c corner
		d float64
	}{{s.to, t.distance2(s.b)}, {t.from, s.distance2(t.a)}, {t.to, s.distance2(t.b)}} {
		if e.d < least {
			best, least = e.c, e.d
		}
	}
	return best
}

// distance2 is the square of the distance of p from the side.
func (s side) distance2(p point) float64 {
	vx, vy := float64(s.b.x-s.a.x), float64(s.b.y-s.a.y)
	px, py := float64(p.x-s.a.x), float64(p.y-s.a.y)
	along := max(0, min(1, (px*vx+py*vy)/(vx*vx+vy*vy)))
	px, py = px-along*vx, py-along*vy
	return px*px + py*py
}

// without leaves corners out, and tells the boxes of the polygons that had them.
func without(polygons [][][]point, bad map[corner]bool) (kept [][][]point, changed []box) {
	ring := 0
	kept = polygons[:0]
	for _, p := range polygons {
		around, touched := boxOf(p[0]), false
		rings := p[:0]
		for i, r := range p {
			n := 0
			for k, c := range r {
				if !bad[corner{ring, k}] {
					r[n] = c
					n++
				}
			}
			ring++
			if n < len(r) {
				r, touched = tidy(r[:n]), true
			}
			if exterior := i == 0; r != nil && doubleArea(r) > 0 == exterior && (exterior || len(rings) > 0) {
				rings = append(rings, r)
			}
		}
		if len(rings) > 0 {
			kept = append(kept, rings)
		}
		if touched {
			changed = append(changed, around)
		}
	}
	return kept, changed
}
