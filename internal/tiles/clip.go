package tiles

import (
	"cmp"
	"slices"
)

// point is a place in a tile's units, y down.
type point struct{ x, y int64 }

// buffer is how far beyond its edges a tile shows what is there, so that outlines
// are drawn across the edges: 8 pixels of 512.
const buffer = 64

// doubleArea is twice the area of a ring without its first point repeated, by the
// surveyor's formula; positive for exterior rings.
func doubleArea(r []point) (sum float64) {
	for i := 2; i < len(r); i++ {
		ax, ay := float64(r[i-1].x-r[0].x), float64(r[i-1].y-r[0].y)
		bx, by := float64(r[i].x-r[0].x), float64(r[i].y-r[0].y)
		sum += ax*by - ay*bx
	}
	return sum
}

// tidy drops doubled points and those on the way between their neighbours, to and
// fro included; nil where nothing with an area is left. It changes r.
func tidy(r []point) []point {
	for {
		n := 0
		for i, p := range r {
			next := r[0]
			if i+1 < len(r) {
				next = r[i+1]
			}
			before := next
			if n > 0 {
				before = r[n-1]
			} else if i < len(r)-1 {
				before = r[len(r)-1]
			}
			if inLine(before, p, next) {
				continue
			}
			r[n] = p
			n++
		}
		if n < 3 {
			return nil
		}
		if n == len(r) {
			return r
		}
		r = r[:n]
	}
}

// inLine tells whether p adds nothing between its neighbours.
func inLine(a, p, b point) bool {
	ux, uy, vx, vy := p.x-a.x, p.y-a.y, b.x-p.x, b.y-p.y
	const exact = 1 << 30
	if max(ux, -ux, uy, -uy, vx, -vx, vy, -vy) < exact {
		return ux*vy == uy*vx
	}
	return float64(ux)*float64(vy) == float64(uy)*float64(vx)
}

// clip appends to dst what is left of a polygon, exterior ring first, holes after it,
// within the tile's edges and the buffer. Rings come without their first point
// repeated, exteriors of positive area; so they go.
func clip(dst [][][]point, rings [][]point) [][][]point {
	const least, most = -buffer, extent + buffer
	lo, hi := rings[0][0], rings[0][0]
	for _, p := range rings[0] {
		lo, hi = point{min(lo.x, p.x), min(lo.y, p.y)}, point{max(hi.x, p.x), max(hi.y, p.y)}
	}
	if hi.x < least || hi.y < least || lo.x > most || lo.y > most {
		return dst
	}
	if lo.x >= least && lo.y >= least && hi.x <= most && hi.y <= most {
		return append(dst, rings)
	}
	turned := func(p point) point { return point{p.y, p.x} }
	negative := func(p point) point { return point{-p.x, p.y} }
	for _, e := range []struct {
		turn, back func(point) point
		limit      int64
	}{
		{func(p point) point { return p }, func(p point) point { return p }, most},
		{negative, negative, -least},
		{turned, turned, most},
		{func(p point) point { return negative(turned(p)) }, func(p point) point { return turned(negative(p)) }, -least},
	} {
		rings = cut(rings, e.turn, e.back, e.limit)
	}
	return append(dst, grouped(rings)...)
}

// chain is a stretch of a ring inside an edge, from where it comes in to where it
// goes out.
type chain struct {
	points  []point
	in, out float64 // where along the edge
	used    bool
}

// end is an end of a chain on the edge.
type end struct {
	at    float64
	chain int
	out   bool
}

// cut keeps what has x <= limit once turned. The edge lies half a unit further
// out, where no point is.
func cut(rings [][]point, turn, back func(point) point, limit int64) (kept [][]point) {
	var chains []chain
	edge := float64(limit) + 0.5
	for _, r := range rings {
		from := slices.IndexFunc(r, func(p point) bool { return turn(p).x > limit })
		if from < 0 {
			kept = append(kept, r)
			continue
		}
		var c chain
		inside := false
		for i := range r {
			a, b := turn(r[(from+i)%len(r)]), turn(r[(from+i+1)%len(r)])
			if b.x <= limit == inside {
				if inside {
					c.points = append(c.points, back(b))
				}
				continue
			}
			at := float64(a.y) + (float64(b.y)-float64(a.y))*((edge-float64(a.x))/(float64(b.x)-float64(a.x)))
			on := back(point{limit, int64(roundHalf(at))})
			if inside {
				c.points, c.out = append(c.points, on), at
				chains = append(chains, c)
				c = chain{}
			} else {
				c.points, c.in = append(c.points, on, back(b)), at
			}
			inside = !inside
		}
	}
	return append(kept, joined(chains)...)
}

// joined closes chains along the edge: between a first and a second of their ends,
// a third and a fourth, and so on, the polygon lies on the edge.
func joined(chains []chain) (rings [][]point) {
	ends := make([]end, 0, 2*len(chains))
	for i, c := range chains {
		ends = append(ends, end{c.in, i, false}, end{c.out, i, true})
	}
	slices.SortStableFunc(ends, func(a, b end) int { return cmp.Compare(a.at, b.at) })
	next := make([]int, len(chains)) // the chain that follows
	for i, e := range ends {
		if !e.out {
			continue
		}
		next[e.chain] = e.chain
		if partner := ends[i^1]; !partner.out {
			next[e.chain] = partner.chain
		}
	}
	for i := range chains {
		var r []point
		for at := i; !chains[at].used; at = next[at] {
			chains[at].used = true
			r = append(r, chains[at].points...)
		}
		if r = tidy(r); r != nil {
			rings = append(rings, r)
		}
	}
	return rings
}

// grouped puts holes to the exterior rings around them.
func grouped(rings [][]point) (polygons [][][]point) {
	for _, r := range rings {
		if doubleArea(r) > 0 {
			polygons = append(polygons, [][]point{r})
		}
	}
	for _, r := range rings {
		if doubleArea(r) >= 0 {
			continue
		}
		for i := range polygons {
			if len(polygons) == 1 || contains(polygons[i][0], r[0]) {
				polygons[i] = append(polygons[i], r)
				break
			}
		}
	}
	return polygons
}

// contains tells whether p lies in a ring.
func contains(r []point, p point) (in bool) {
	for i, b := range r {
		a := r[(i+len(r)-1)%len(r)]
		if (a.y > p.y) != (b.y > p.y) &&
			float64(p.x-a.x) < float64(b.x-a.x)*float64(p.y-a.y)/float64(b.y-a.y) {
			in = !in
		}
	}
	return in
}
