package ground

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"drawbar/coverage/plane"
)

// found is what Skips sees of a field.
func skipsOf(quads []Quad, rule SkipRule) *Skips {
	k := NewSkips(add(quads), rule)
	k.Update()
	return k
}

// TestSkipsAgainstGEOS compares with opening and closing by GEOS's buffers: area
// within 1 % and 0.005 % of the field, every part found, none invented, centroids
// within 0.5 m.
func TestSkipsAgainstGEOS(t *testing.T) {
	t.Parallel()
	for _, f := range missFields() {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			quads, rule := f.quads(), f.rule()
			k := skipsOf(quads, rule)
			want := geosSkips(t, quads, rule)
			compareSkips(t, k, want)
			for _, place := range f.planted {
				if !slices.ContainsFunc(k.Parts(), func(p *Part) bool { return p.has(f.turned(place)) }) {
					t.Errorf("no skip at %v, which was left out", place)
				}
			}
		})
	}
}

func compareSkips(t *testing.T, k *Skips, want missedAnswer) {
	t.Helper()
	whole := 0.0
	for _, p := range want.Parts {
		whole += p.AreaM2
	}
	got := k.Area().M2()
	limit := 0.01*whole + 0.00005*want.FieldM2
	t.Logf("GEOS %d parts, %.3f m2 in %.0f ms; here %d parts, %.3f m2: off by %+.3f, limit %.3f m2",
		len(want.Parts), whole, want.TookS*1e3, len(k.Parts()), got, got-whole, limit)
	if math.Abs(got-whole) > limit {
		t.Errorf("skips: %.3f m2, GEOS %.3f: off by %.3f, limit %.3f", got, whole, got-whole, limit)
	}
	if want.UncoveredM2 > 0 {
		if off := k.Uncovered().M2() - want.UncoveredM2; math.Abs(off) > 20e-6*want.FieldM2 {
			t.Errorf("uncovered: %.3f m2, GEOS %.3f", k.Uncovered().M2(), want.UncoveredM2)
		}
	}
	taken := make([]bool, len(k.Parts()))
	for _, w := range want.Parts {
		best, least := -1, math.Inf(1)
		for i, p := range k.Parts() {
			x, y := p.Centroid().M()
			if d := math.Hypot(x-w.X, y-w.Y); d < least && !taken[i] {
				best, least = i, d
			}
		}
		if least > 0.5 {
			t.Errorf("part of %.2f m2 at %.1f, %.1f: nearest found is %.2f m off", w.AreaM2, w.X, w.Y, least)
			continue
		}
		taken[best] = true
		p := k.Parts()[best]
		if off := p.Area().M2() - w.AreaM2; math.Abs(off) > 0.02*w.AreaM2+0.00005*want.FieldM2 {
			t.Errorf("part at %.1f, %.1f: %.3f m2, GEOS %.3f", w.X, w.Y, p.Area().M2(), w.AreaM2)
		}
	}
	for i, p := range k.Parts() {
		if !taken[i] {
			x, y := p.Centroid().M()
			t.Errorf("invented: %.2f m2 at %.1f, %.1f; GEOS's next smaller ones: %.2f", p.Area().M2(), x, y, want.Crumbs)
		}
	}
}

// Step by step the same as from scratch: after every stretch of work, with and
// without a boundary, also where the set turns its scanlines on the way.
func TestSkipsStepByStep(t *testing.T) {
	t.Parallel()
	for _, f := range missFields() {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			s := New()
			k := NewSkips(s, f.rule())
			for i, q := range f.quads() {
				s.Add(q)
				k.Note(q)
				if i%41 == 40 {
					k.Update()
				}
				if i%997 == 996 {
					sameSkips(t, k, s, f.rule())
				}
			}
			k.Update()
			sameSkips(t, k, s, f.rule())
		})
	}
}

// sameSkips compares with a computation from scratch on the same ground.
func sameSkips(t *testing.T, k *Skips, s *Set, rule SkipRule) {
	t.Helper()
	k.Update()
	fresh := NewSkips(s, rule)
	fresh.Update()
	if k.Area() != fresh.Area() || k.Uncovered() != fresh.Uncovered() || len(k.Parts()) != len(fresh.Parts()) {
		t.Fatalf("step by step %.4f m2 in %d parts, %.4f uncovered; from scratch %.4f in %d, %.4f", k.Area().M2(), len(k.Parts()), k.Uncovered().M2(),
			fresh.Area().M2(), len(fresh.Parts()), fresh.Uncovered().M2())
	}
	for i, p := range k.Parts() {
		if q := fresh.Parts()[i]; p.key != q.key || !slices.Equal(stripped(p.runs), stripped(q.runs)) {
			t.Fatalf("part %d: step by step %.4f m2, from scratch %.4f", i, p.Area().M2(), q.Area().M2())
		}
	}
}

// stripped are runs without the numbers of their fragments.
func stripped(runs []skipRun) []skipRun {
	out := slices.Clone(runs)
	for i := range out {
		out[i].frag = 0
	}
	return out
}

// Any work at all, in any order and at any pace: step by step and from scratch
// agree to the last bit, and covered, skip and the rest make up the field.
func TestSkipsProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		metres := rapid.IntRange(0, 90)
		rule := SkipRule{
			Width:   rapid.Int64Range(0, 150_000).Draw(t, "width"),
			MinArea: Area(rapid.Int64Range(0, 5*areaPerM2).Draw(t, "least")),
		}
		if rapid.Bool().Draw(t, "boundary") {
			rule.Field = [][]plane.Coord{{at(10, 5), at(85, 0), at(80, 70), at(5, 75)}, {at(40, 30), at(50, 31), at(45, 44)}}
		}
		s := New()
		k := NewSkips(s, rule)
		for range rapid.IntRange(0, 25).Draw(t, "quads") {
			x, y := float64(metres.Draw(t, "x")), float64(metres.Draw(t, "y"))
			w, l := float64(rapid.IntRange(-20, 20).Draw(t, "w")), float64(rapid.IntRange(1, 60).Draw(t, "l"))
			lean := float64(rapid.IntRange(-30, 30).Draw(t, "lean"))
			q := Quad{at(x, y), at(x+w, y+1), at(x+w+lean, y+l), at(x+lean, y+l-2)}
			s.Add(q)
			k.Note(q)
			if rapid.IntRange(0, 3).Draw(t, "update") == 0 {
				k.Update()
			}
		}
		k.Update()
		fresh := NewSkips(s, rule)
		fresh.Update()
		if k.Area() != fresh.Area() || k.Uncovered() != fresh.Uncovered() || len(k.Parts()) != len(fresh.Parts()) {
			t.Fatalf("step by step %v %v %d, from scratch %v %v %d", k.Area(), k.Uncovered(), len(k.Parts()), fresh.Area(), fresh.Uncovered(), len(fresh.Parts()))
		}
		var sum Area
		for _, p := range k.Parts() {
			sum += p.Area()
			if p.Area() < rule.MinArea {
				t.Fatalf("part of %v, least %v", p.Area(), rule.MinArea)
			}
			if !p.has(p.Position()) && p.WidthM() > 0.2 {
				t.Fatalf("position %v is not in the part", p.Position())
			}
			if p.CoveredShare(s) > 0.1 && p.WidthM() > 0.2 { // corners are rounded
				t.Fatalf("%.2f of the part is covered", p.CoveredShare(s))
			}
		}
		if sum != k.Area() {
			t.Fatalf("parts sum to %v, area %v", sum, k.Area())
		}
		if rule.Field != nil && k.Area() > k.Uncovered() {
			t.Fatalf("skips of %v, uncovered %v", k.Area(), k.Uncovered())
		}
	})
}

// Moving, turning or re-ordering the work leaves the skips within 1 % and
// 0.005 % of the field.
func TestSkipsMoved(t *testing.T) {
	t.Parallel()
	for _, f := range missFields() {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			quads, rule := f.quads(), f.rule()
			want := skipsOf(quads, rule)
			limit := 0.01*want.Area().M2() + 0.00005*(want.Uncovered()+want.set.Covered()).M2()
			check := func(how string, quads []Quad, rule SkipRule) {
				t.Helper()
				got := skipsOf(quads, rule)
				if off := math.Abs(got.Area().M2() - want.Area().M2()); off > limit || len(got.Parts()) != len(want.Parts()) {
					t.Errorf("%s: %.3f m2 in %d parts, %.3f in %d before: limit %.3f", how, got.Area().M2(), len(got.Parts()), want.Area().M2(), len(want.Parts()), limit)
				}
			}
			reversed := slices.Clone(quads)
			slices.Reverse(reversed)
			check("the other way round", reversed, rule)
			shuffled := slices.Clone(quads)
			rng := rand.New(rand.NewPCG(8, uint64(len(quads))))
			rng.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
			check("in any order", shuffled, rule)
			for _, turn := range []float64{17, 45, 90, 123.4} {
				f.turnDeg += turn
				check("turned", f.quads(), f.rule())
				f.turnDeg -= turn
			}
			moved := slices.Clone(quads)
			for i := range moved {
				for j := range moved[i] {
					moved[i][j].X += 123_456_7
					moved[i][j].Y -= 7_654_321
				}
			}
			shifted := rule
			shifted.Field = nil
			for _, ring := range rule.Field {
				ring = slices.Clone(ring)
				for j := range ring {
					ring[j].X += 123_456_7
					ring[j].Y -= 7_654_321
				}
				shifted.Field = append(shifted.Field, ring)
			}
			check("moved", moved, shifted)
		})
	}
}

// Closed forms: a gap of 2 m between two passes of 100 m, seen without a boundary
// in full, its ends rounded off by the disc of 4.2 m across, and with one as a
// strip at the border.
func TestSkipClosedForm(t *testing.T) {
	t.Parallel()
	f := missField{width: 4.2, least: 1, turnDeg: 20}
	f.sweep(straight(6, 0, 6, 100, 0.5), sections(4, 3), nil)
	f.sweep(straight(20, 0, 20, 100, 0.5), sections(4, 3), nil)
	k := skipsOf(f.quads(), f.rule())
	// The disc of radius r rests on both corners and enters by r - sqrt(r² - 1).
	r := 2.1
	segment := r*r*math.Asin(1/r) - math.Sqrt(r*r-1)
	want := 2*100 - 2*segment
	// Eroded rows are 5 cm apart: up to that much is lost at either end.
	if got := k.Area().M2(); got > want+0.02 || got < want-2*2*0.05-0.05 {
		t.Errorf("gap of 2 m: %.3f m2, closed form %.3f", got, want)
	}
	if n := len(k.Parts()); n != 1 {
		t.Fatalf("%d parts, want 1", n)
	}
	p := k.Parts()[0]
	if got := p.WidthM(); math.Abs(got-2) > 0.05 {
		t.Errorf("width %.3f m, want 2", got)
	}
	if got := p.LengthM(); math.Abs(got-100) > 1 {
		t.Errorf("length %.2f m, want 100", got)
	}
	if x, y := p.Position().M(); math.Hypot(x-f.metres(13, 50).x, y-f.metres(13, 50).y) > 0.5 {
		t.Errorf("position %.2f, %.2f, want the middle %v", x, y, f.metres(13, 50))
	}
	area := 0.0
	for _, q := range p.Outline() {
		area += q.Area().M2()
	}
	if math.Abs(area-p.Area().M2()) > 0.02 {
		t.Errorf("outline of %.3f m2, area %.3f", area, p.Area().M2())
	}
	if !p.Within(f.turned(xy{5, 110}), f.turned(xy{13, 110}), 11*plane.UnitsPerM) || p.Within(f.turned(xy{5, 110}), f.turned(xy{13, 110}), 9.5*plane.UnitsPerM) {
		t.Error("a line 10 m beyond the end: want within 11 m, not within 9.5 m")
	}
	if covered := p.CoveredShare(add([]Quad{{f.turned(xy{10, -5}), f.turned(xy{16, -5}), f.turned(xy{16, 50}), f.turned(xy{10, 50})}})); math.Abs(covered-0.5) > 0.02 {
		t.Errorf("half covered: got %.2f", covered)
	}
}

func (f *missField) metres(x, y float64) xy {
	x, y = f.turned(xy{x, y}).M()
	return xy{x, y}
}

// Nothing that cannot be seen makes it stumble: no ground at all, no corner, a
// field larger than any.
func TestSkipsOfNothing(t *testing.T) {
	t.Parallel()
	for _, rule := range []SkipRule{
		{}, {Width: 42_000}, {Width: 1 << 40, MinArea: 1 << 60},
		{Width: 42_000, Field: [][]plane.Coord{}}, {Width: 42_000, Field: [][]plane.Coord{nil, {{X: 1, Y: 1}}}},
		{Width: 42_000, MinArea: areaPerM2, Field: [][]plane.Coord{{at(0, 0), at(100, 0), at(100, 100), at(0, 100)}}},
	} {
		s := New()
		k := NewSkips(s, rule)
		k.Update()
		if k.Area() != 0 || len(k.Parts()) != 0 || !k.Known() {
			t.Errorf("no ground: %v, %d parts, known %v", k.Area(), len(k.Parts()), k.Known())
		}
		q := Quad{at(0, 0), at(12, 0), at(12, 5), at(0, 5)}
		s.Add(q)
		k.Note(q)
		k.Note(Quad{{X: 1 << 60}, {}, {}, {}})
		k.Update()
		sameSkips(t, k, s, rule)
	}
	far := []plane.Coord{at(-90_000, -90_000), at(90_000, -90_000), at(90_000, 90_000), at(-90_000, 90_000)}
	k := NewSkips(New(), SkipRule{Width: 42_000, Field: [][]plane.Coord{far}})
	k.Update()
	if k.Known() {
		t.Error("a field of 180 km: want not known")
	}
}
