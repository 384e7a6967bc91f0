package statement

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"drawbar/coverage/plane"

	"github.com/paulmach/orb"
)

// Whether rings enclose what they seem to. Positions are taken to nine decimals
// of a degree (0.1 mm), as whole numbers, so that every answer is exact:
//
//   - a ring neither crosses nor touches itself;
//   - rings of one polygon do not cross, holes lie in the outer ring and not in
//     one another; that they touch is no harm, nor that polygons share a border;
//   - polygons do not overlap. Parcels drawn one by one often do by a hair: up to
//     tolerance of a corner's way into the other is passed over.
//
// Which way round a ring runs, and a ring whose first position was not repeated
// at the end, is nothing to complain of: there is one way only to read it.

// tolerance is how far polygons may reach into one another, 1e-9 degrees: 1 m of
// latitude, so less of longitude.
const tolerance = 9_000

// maxPositions is how many positions a boundary may have: some fifty times more
// than a field has, few enough to compare each with each.
const maxPositions = 50_000

// tooMany refuses what would take too long to look at.
func tooMany(count int, n *Node, at string, faults *Faults) bool {
	if count > maxPositions {
		faults.Add(n, at, fmt.Sprintf("%d positions", count), fmt.Sprintf("%d at most: simplify the outline", maxPositions))
	}
	return count > maxPositions
}

// outlineRing is a ring on the grid: doubled positions are left out.
type outlineRing struct {
	at []plane.Coord // not closed
	of []int         // number of each in the ring as stated
}

func gridRing(r orb.Ring) (g outlineRing) {
	for i, p := range r {
		c := plane.Coord{X: int64(math.Round(p[0] * 1e9)), Y: int64(math.Round(p[1] * 1e9))}
		if n := len(g.at); n == 0 || g.at[n-1] != c {
			g.at, g.of = append(g.at, c), append(g.of, i)
		}
	}
	for n := len(g.at); n > 1 && g.at[n-1] == g.at[0]; n-- {
		g.at, g.of = g.at[:n-1], g.of[:n-1]
	}
	return g
}

// ringSide is a side of a ring, from its left end to its right end.
type ringSide struct {
	a, b        plane.Coord
	low, high   int64
	ring, start int // number of the ring, and of the corner where the side begins
}

func (g outlineRing) sides(dst []ringSide, ring int) []ringSide {
	for i, a := range g.at {
		b := g.at[(i+1)%len(g.at)]
		s := ringSide{a: a, b: b, low: min(a.Y, b.Y), high: max(a.Y, b.Y), ring: ring, start: i}
		if b.X < a.X {
			s.a, s.b = b, a
		}
		dst = append(dst, s)
	}
	return dst
}

// contacts calls do for every two sides that have a point in common, until it
// returns false.
func contacts(sides []ringSide, do func(s, t ringSide) bool) {
	slices.SortFunc(sides, func(s, t ringSide) int {
		return cmp.Or(cmp.Compare(s.a.X, t.a.X), cmp.Compare(s.ring, t.ring), cmp.Compare(s.start, t.start))
	})
	var open []ringSide
	for _, s := range sides {
		kept := open[:0]
		for _, t := range open {
			if t.b.X < s.a.X {
				continue
			}
			kept = append(kept, t)
			if t.high >= s.low && s.high >= t.low && s.meets(t) && !do(s, t) {
				return
			}
		}
		open = append(kept, s)
	}
}

func (s ringSide) meets(t ringSide) bool {
	return plane.Turn(s.a, s.b, t.a)*plane.Turn(s.a, s.b, t.b) <= 0 && plane.Turn(t.a, t.b, s.a)*plane.Turn(t.a, t.b, s.b) <= 0
}

// crosses says that either goes from one side of the other to its other side.
func (s ringSide) crosses(t ringSide) bool {
	return plane.Turn(s.a, s.b, t.a)*plane.Turn(s.a, s.b, t.b) < 0 && plane.Turn(t.a, t.b, s.a)*plane.Turn(t.a, t.b, s.b) < 0
}

// place is where two sides meet, in degrees, for a person to find.
func (s ringSide) place(t ringSide) string {
	for _, c := range [2]plane.Coord{t.a, t.b} {
		if plane.Turn(s.a, s.b, c) == 0 && c.X >= s.a.X && c.X <= s.b.X && c.Y >= s.low && c.Y <= s.high {
			return gridPlace(c)
		}
	}
	ux, uy := float64(s.b.X-s.a.X), float64(s.b.Y-s.a.Y)
	vx, vy := float64(t.b.X-t.a.X), float64(t.b.Y-t.a.Y)
	wx, wy := float64(t.a.X-s.a.X), float64(t.a.Y-s.a.Y)
	d := float64(ux*vy) - float64(uy*vx)
	if d == 0 {
		return gridPlace(s.a)
	}
	f := (float64(wx*vy) - float64(wy*vx)) / d
	return gridPlace(plane.Coord{X: s.a.X + int64(math.Round(float64(f*ux))), Y: s.a.Y + int64(math.Round(float64(f*uy)))})
}

// gridPlace is a place as GeoJSON writes it, to seven decimals (1 cm).
func gridPlace(c plane.Coord) string {
	round := func(v int64) float64 { return math.Round(float64(v)/100) / 1e7 }
	return at2(orb.Point{round(c.X), round(c.Y)})
}

// checkRing finds where a ring crosses or touches itself. n is its list of
// positions, nil where it was not read from a tree.
func checkRing(r orb.Ring, n *Node, at string, faults *Faults) {
	g := gridRing(r)
	if len(g.at) < 3 {
		faults.Add(n, at, "positions on one line", "a ring that encloses ground")
		return
	}
	contacts(g.sides(nil, 0), func(s, t ringSide) bool {
		if d := s.start - t.start; d == 1 || d == -1 || d == len(g.at)-1 || d == 1-len(g.at) {
			return true // neighbours share a corner
		}
		what := "touches"
		if s.crosses(t) {
			what = "crosses"
		}
		i := g.of[max(s.start, t.start)]
		faults.Add(n.item(i), indexed(at, i), fmt.Sprintf("a side by which the ring %s itself at %s", what, s.place(t)), "a ring whose sides meet in its corners only")
		return false
	})
}

// checkPolygon finds where rings of a polygon cross, and holes outside or in one
// another. n is its list of rings or nil.
func checkPolygon(p orb.Polygon, n *Node, at string, faults *Faults) {
	var (
		rings []outlineRing
		sides []ringSide
	)
	for i, r := range p {
		rings = append(rings, gridRing(r))
		sides = rings[i].sides(sides, i)
	}
	crossing := false
	contacts(sides, func(s, t ringSide) bool {
		if s.ring == t.ring || !s.crosses(t) {
			return true
		}
		a, b := min(s.ring, t.ring), max(s.ring, t.ring)
		faults.Add(n.item(b), indexed(at, b), fmt.Sprintf("a ring that crosses ring %d at %s", a, s.place(t)), "rings that do not cross")
		crossing = true
		return false
	})
	if crossing {
		return
	}
	for i := 1; i < len(rings); i++ {
		if c, out := rings[i].firstThat(func(c plane.Coord) bool { return rings[0].side(c) < 0 }); out {
			faults.Add(n.item(i), indexed(at, i), "a hole that is outside at "+gridPlace(c), "holes inside the outer ring")
			continue
		}
		for j := 1; j < i; j++ {
			inner := rings[i].inside()
			other := rings[j].inside()
			if rings[j].side(inner) > 0 || rings[i].side(other) > 0 {
				faults.Add(n.item(i), indexed(at, i), fmt.Sprintf("a hole that lies in or around hole %d at %s", j, gridPlace(inner)), "holes apart from one another")
				break
			}
		}
	}
}

// checkApart finds polygons that overlap. n is what states them all, or nil.
func checkApart(all orb.MultiPolygon, n *Node, at string, faults *Faults) {
	type piece struct {
		rings  []outlineRing
		lo, hi plane.Coord
	}
	count := 0
	for _, p := range all {
		for _, r := range p {
			count += len(r)
		}
	}
	if tooMany(count, n, at, faults) {
		return
	}
	var pieces []piece
	for _, p := range all {
		var v piece
		for _, r := range p {
			v.rings = append(v.rings, gridRing(r))
		}
		v.lo, v.hi = v.rings[0].bounds()
		pieces = append(pieces, v)
	}
	in := func(p *piece, c plane.Coord) bool {
		if c.X < p.lo.X || c.X > p.hi.X || c.Y < p.lo.Y || c.Y > p.hi.Y || p.rings[0].side(c) <= 0 {
			return false
		}
		for _, hole := range p.rings[1:] {
			if hole.side(c) >= 0 {
				return false
			}
		}
		for _, r := range p.rings {
			if r.near(c, tolerance) {
				return false
			}
		}
		return true
	}
	for i := range pieces {
		for j := range i {
			a, b := &pieces[j], &pieces[i]
			if a.hi.X < b.lo.X || b.hi.X < a.lo.X || a.hi.Y < b.lo.Y || b.hi.Y < a.lo.Y {
				continue
			}
			c, overlap := b.rings[0].firstThat(func(c plane.Coord) bool { return in(a, c) })
			if !overlap {
				c, overlap = a.rings[0].firstThat(func(c plane.Coord) bool { return in(b, c) })
			}
			if !overlap {
				c = b.rings[0].inside()
				overlap = in(a, c)
			}
			if overlap {
				faults.Add(n, at, fmt.Sprintf("polygons %d and %d that overlap at %s", j+1, i+1, gridPlace(c)), "polygons apart from one another, an island as a hole of its polygon")
				return
			}
		}
	}
}

func (g outlineRing) bounds() (lo, hi plane.Coord) {
	lo, hi = g.at[0], g.at[0]
	for _, c := range g.at {
		lo = plane.Coord{X: min(lo.X, c.X), Y: min(lo.Y, c.Y)}
		hi = plane.Coord{X: max(hi.X, c.X), Y: max(hi.Y, c.Y)}
	}
	return lo, hi
}

func (g outlineRing) firstThat(is func(plane.Coord) bool) (plane.Coord, bool) {
	for _, c := range g.at {
		if is(c) {
			return c, true
		}
	}
	return plane.Coord{}, false
}

// side is 1 for a place inside the ring, 0 on it, -1 outside.
func (g outlineRing) side(c plane.Coord) int {
	in := -1
	for i, a := range g.at {
		b := g.at[(i+1)%len(g.at)]
		if a.Y > b.Y {
			a, b = b, a
		}
		if c.Y < a.Y || c.Y > b.Y {
			continue
		}
		turn := plane.Turn(a, b, c)
		if turn == 0 && c.X >= min(a.X, b.X) && c.X <= max(a.X, b.X) {
			return 0
		}
		if a.Y <= c.Y && c.Y < b.Y && turn > 0 {
			in = -in
		}
	}
	return in
}

// near says whether a place is within a distance of the ring's sides.
func (g outlineRing) near(c plane.Coord, distance float64) bool {
	for i, a := range g.at {
		b := g.at[(i+1)%len(g.at)]
		ux, uy := float64(b.X-a.X), float64(b.Y-a.Y)
		vx, vy := float64(c.X-a.X), float64(c.Y-a.Y)
		t := max(0, min(1, (float64(ux*vx)+float64(uy*vy))/(float64(ux*ux)+float64(uy*uy))))
		if dx, dy := vx-float64(ux*t), vy-float64(uy*t); float64(dx*dx)+float64(dy*dy) <= float64(distance*distance) {
			return true
		}
	}
	return false
}

// inside is a place inside the ring: half way along the widest stretch of the
// level half way between its lowest corner and the next higher one.
func (g outlineRing) inside() plane.Coord {
	lo, _ := g.bounds()
	next := int64(math.MaxInt64)
	for _, c := range g.at {
		if c.Y > lo.Y {
			next = min(next, c.Y)
		}
	}
	y := lo.Y + (next-lo.Y)/2
	var cuts []float64
	for i, a := range g.at {
		b := g.at[(i+1)%len(g.at)]
		if (a.Y > y) != (b.Y > y) {
			cuts = append(cuts, float64(a.X)+float64(float64(b.X-a.X)*(float64(y-a.Y)/float64(b.Y-a.Y))))
		}
	}
	slices.Sort(cuts)
	best := plane.Coord{X: g.at[0].X, Y: y}
	widest := 0.0
	for i := 0; i+1 < len(cuts); i += 2 {
		if w := cuts[i+1] - cuts[i]; w > widest {
			best.X, widest = int64(math.Round((cuts[i]+cuts[i+1])/2)), w
		}
	}
	return best
}
