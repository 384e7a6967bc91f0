package ground

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"drawbar/coverage/plane"
)

// model is a small raster beside a Set: it counts for places of the plane how
// many quads hold them, each by the corners alone.
type model struct {
	quads []Quad
}

// count is the number of quads that hold a place; ok is false where the place is
// so near to a side that rounding decides.
func (m *model) count(c plane.Coord) (n int, ok bool) {
	for _, q := range m.quads {
		in := false
		for i, a := range q {
			b := q[(i+1)%4]
			if distance(c, a, b) < 3 {
				return 0, false
			}
			if (a.Y > c.Y) != (b.Y > c.Y) && float64(c.X-a.X) < float64(b.X-a.X)*float64(c.Y-a.Y)/float64(b.Y-a.Y) {
				in = !in
			}
		}
		if in {
			n++
		}
	}
	return n, true
}

// distance from a place to a side, in steps.
func distance(c, a, b plane.Coord) float64 {
	px, py := float64(c.X-a.X), float64(c.Y-a.Y)
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(1, max(0, (px*dx+py*dy)/l))
	}
	return math.Hypot(px-t*dx, py-t*dy)
}

// holds says how often a Set has marked the place on a scanline: 0, 1, or 2 for
// twice and more. Only every third scanline knows of 2.
func (s *Set) holds(row, x int64) int {
	number, i := floorDiv(row, pageRows)
	k := number - s.firstPage
	if k < 0 || k >= int64(len(s.pages)) || s.pages[k] == nil {
		return 0
	}
	in := func(r runs) bool {
		for _, v := range r.s {
			if int64(v.lo) <= x && x < int64(v.hi) {
				return true
			}
		}
		return false
	}
	p := s.pages[k]
	twice := func() bool {
		line, _ := s.twice(p, i/againPitch, nil)
		return in(runs{s: line})
	}
	switch {
	case i%againPitch == 0 && twice():
		return 2
	case in(p.covered[i]):
		return 1
	}
	return 0
}

// wellFormed fails where a row is out of order or spans touch.
func (s *Set) wellFormed(t *rapid.T) {
	sum := int64(0)
	for _, p := range s.pages {
		if p == nil {
			continue
		}
		p.each(func(r *runs) {
			for i, v := range r.s {
				if v.lo >= v.hi || i > 0 && r.s[i-1].hi >= v.lo {
					t.Fatalf("spans out of order: %v", r.s)
				}
			}
		})
		for i := range p.covered {
			sum += length(p.covered[i].s)
		}
	}
	if lengthArea(sum) != s.Covered() {
		t.Fatalf("rows hold %d, covered is %d", lengthArea(sum), s.Covered())
	}
}

// TestSetAgainstModel adds quads to sets and their clones and looks at places on
// the scanlines after each step.
func TestSetAgainstModel(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		type pair struct {
			set   *Set
			model model
		}
		pairs := []pair{{set: New()}}
		choose := func(t *rapid.T) *pair { return &pairs[rapid.IntRange(0, len(pairs)-1).Draw(t, "which")] }
		paint := func(draw func(*rapid.T) Quad) func(*rapid.T) {
			return func(t *rapid.T) {
				p := choose(t)
				q := draw(t)
				p.set.Add(q)
				p.model.quads = append(p.model.quads, q)
			}
		}
		t.Repeat(map[string]func(*rapid.T){
			"any":   paint(func(t *rapid.T) Quad { return drawQuad(t, "quad") }),
			"sweep": paint(drawSweep),
			"clone": func(t *rapid.T) {
				if len(pairs) == 4 {
					t.Skip("enough")
				}
				p := choose(t)
				pairs = append(pairs, pair{p.set.Clone(), model{append([]Quad(nil), p.model.quads...)}})
			},
			"turn": func(t *rapid.T) {
				if p := choose(t); p.set.started && !p.set.survey.done {
					c := newCompass()
					p.set.rebuild(c.frame(p.set.frame.origin, rapid.IntRange(0, sectors-1).Draw(t, "sector")))
				}
			},
			"": func(t *rapid.T) {
				for _, p := range pairs {
					p.set.wellFormed(t)
					if len(p.model.quads) == 0 {
						continue
					}
					// Places near the last quad, on scanlines that know of 2.
					q := p.model.quads[len(p.model.quads)-1]
					for range 8 {
						c := p.set.frame.scan(q[rapid.IntRange(0, 3).Draw(t, "corner")])
						row := (c.y/rowHeight + rapid.Int64Range(-80, 80).Draw(t, "row")) / againPitch * againPitch
						x := c.x + rapid.Int64Range(-100_000, 100_000).Draw(t, "x")
						want, ok := p.model.count(p.set.frame.plane(point{x: x, y: rowCentre(row)}))
						if !ok {
							continue
						}
						if got := p.set.holds(row, x); got != min(want, 2) {
							t.Fatalf("row %d x %d: marked %d times, %d quads hold it: %v", row, x, got, want, p.model.quads)
						}
					}
				}
			},
		})
	})
}
