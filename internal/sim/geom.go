package sim

import (
	"errors"
	"math"
)

// Point is a place on the plane: X east, Y north, metres.
type Point struct{ X, Y float64 }

func (p Point) add(q Point) Point     { return Point{p.X + q.X, p.Y + q.Y} }
func (p Point) sub(q Point) Point     { return Point{p.X - q.X, p.Y - q.Y} }
func (p Point) mul(k float64) Point   { return Point{p.X * k, p.Y * k} }
func (p Point) dot(q Point) float64   { return p.X*q.X + p.Y*q.Y }
func (p Point) cross(q Point) float64 { return p.X*q.Y - p.Y*q.X }
func (p Point) len() float64          { return math.Hypot(p.X, p.Y) }

// turned is p turned counter-clockwise about the origin.
func (p Point) turned(rad float64) Point {
	s, c := math.Sincos(rad)
	return Point{p.X*c - p.Y*s, p.X*s + p.Y*c}
}

// polygon is an outline without its closing point, counter-clockwise.
type polygon []Point

// areaM2 is the signed area by the shoelace formula, counter-clockwise positive.
func (pg polygon) areaM2() float64 {
	a := 0.0
	for i, p := range pg {
		// Relative to the first corner, so that a field far from the origin
		// loses no digits.
		a += p.sub(pg[0]).cross(pg[(i+1)%len(pg)].sub(pg[0]))
	}
	return a / 2
}

// contains tells whether p lies inside, by the even-odd rule.
func (pg polygon) contains(p Point) bool {
	in := false
	for i, j := 0, len(pg)-1; i < len(pg); j, i = i, i+1 {
		a, b := pg[i], pg[j]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < (b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y)+a.X {
			in = !in
		}
	}
	return in
}

// turned is the outline turned counter-clockwise about the origin.
func (pg polygon) turned(rad float64) polygon {
	out := make(polygon, len(pg))
	for i, p := range pg {
		out[i] = p.turned(rad)
	}
	return out
}

// span is the extent of the outline along a direction.
func (pg polygon) span(dir Point) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range pg {
		d := p.dot(dir)
		lo, hi = min(lo, d), max(hi, d)
	}
	return lo, hi
}

// bounds is the extent of the outline along x and y.
func (pg polygon) bounds() (lo, hi Point) {
	lo.X, hi.X = pg.span(Point{1, 0})
	lo.Y, hi.Y = pg.span(Point{0, 1})
	return lo, hi
}

// strip is the extent along dir of the part of the outline that lies between
// lo and hi across dir (to the left). ok is false where nothing does.
func (pg polygon) strip(dir Point, lo, hi float64) (from, to float64, ok bool) {
	left := Point{-dir.Y, dir.X}
	from, to = math.Inf(1), math.Inf(-1)
	take := func(p Point) {
		d := p.dot(dir)
		from, to = min(from, d), max(to, d)
	}
	for i, p := range pg {
		q := pg[(i+1)%len(pg)]
		a, b := p.dot(left), q.dot(left)
		if a >= lo && a <= hi {
			take(p)
		}
		for _, cut := range [2]float64{lo, hi} {
			if (a < cut) != (b < cut) {
				take(p.add(q.sub(p).mul((cut - a) / (b - a))))
			}
		}
	}
	return from, to, from < to
}

var errTooNarrow = errors.New("the outline is too narrow for that many headland passes: use fewer, or a larger field")

// inset moves every edge inwards by d (outwards if negative), keeping the
// number of corners. It refuses an outline in which an edge would vanish.
func (pg polygon) inset(d float64) (polygon, error) {
	n := len(pg)
	out := make(polygon, n)
	for i, p := range pg {
		a := p.sub(pg[(i+n-1)%n])
		b := pg[(i+1)%n].sub(p)
		a, b = a.mul(1/a.len()), b.mul(1/b.len())
		// Both edges move along their left normal; the corner moves by the
		// vector whose part along each normal is d.
		den := 1 + a.dot(b)
		if den < 1e-6 {
			return nil, errors.New("the outline has a corner that folds back on itself")
		}
		normals := Point{-a.Y - b.Y, a.X + b.X}
		out[i] = p.add(normals.mul(d / den))
	}
	for i := range out {
		before := pg[(i+1)%n].sub(pg[i])
		after := out[(i+1)%n].sub(out[i])
		if before.dot(after) <= 0 {
			return nil, errTooNarrow
		}
	}
	return out, nil
}
