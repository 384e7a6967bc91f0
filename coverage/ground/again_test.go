package ground

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"drawbar/coverage/plane"
)

// byCause adds the quads and settles them in batches for a cause that pick names
// by the number of the batch.
func byCause(quads []Quad, batch int, pick func(n int) Cause) *Set {
	s := New()
	for i, q := range quads {
		s.AddWaiting(q)
		if (i+1)%batch == 0 {
			s.Settle(pick(i / batch))
		}
	}
	s.Settle(pick(len(quads) / batch))
	return s
}

// The outlines of the causes are valid for GEOS (https://libgeos.org), have no
// ground in common and together are that of what was covered twice: every place
// once, under the cause of the second time.
func TestOutlinesByCauseAgainstGEOS(t *testing.T) {
	t.Parallel()
	type of struct {
		name  string
		quads []Quad
	}
	var fields []of
	for _, f := range missFields() {
		fields = append(fields, of{f.name, f.quads()})
	}
	d := field(6)
	d.headland, d.curveM, d.switching = true, 6, 0.01
	fields = append(fields, of{"headland, curves, switching", d.quads()})
	rng := rand.New(rand.NewPCG(4, 4))
	var clutter []Quad
	for range 150 {
		x, y := rng.Int64N(400_000), rng.Int64N(400_000)
		near := func() plane.Coord {
			return plane.Coord{X: x + rng.Int64N(80_000), Y: y + rng.Int64N(80_000)}
		}
		clutter = append(clutter, Quad{near(), near(), near(), near()})
	}
	fields = append(fields, of{"clutter", clutter})
	for k, f := range fields {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(uint64(k), 9))
			s := byCause(f.quads, 1+rng.IntN(12), func(int) Cause { return Cause(rng.IntN(Causes)) })
			var all []Polygon
			var sum Area
			for c := range Cause(Causes) {
				outline := s.Only(c).Outline(2)
				whole := s.Only(c).stack(2, 8).area
				var area Area
				for _, p := range outline {
					area += p.Area()
				}
				// Slivers thinner than a millimetre are left out.
				if off := math.Abs((area - whole).M2()); off > 100e-6*whole.M2()+1e-4 {
					t.Errorf("cause %d: outline of %.4f m2, scanlines %.4f", c, area.M2(), whole.M2())
				}
				all, sum = append(all, outline...), sum+whole
			}
			if twice := s.stack(2, 8).area; sum != twice {
				t.Errorf("causes add up to %.6f m2, covered twice %.6f", sum.M2(), twice.M2())
			}
			if len(all) == 0 {
				return
			}
			got := geos(t, question{outline: all})
			if len(got.Bad) > 0 {
				t.Errorf("%q", got.Bad)
			}
			if off := got.OutlineM2 - got.ApartM2; off > 50e-6*got.OutlineM2 {
				t.Errorf("ground in two causes: outlines of %.4f m2, together %.4f", got.OutlineM2, got.ApartM2)
			}
		})
	}
}

// Whatever the causes, the ground, its areas and its shape are the same; every
// place covered twice has one cause, the first that was named for it; a copy has
// what the set has, and what is told later changes no copy.
func TestCausesProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		metres := rapid.Int64Range(0, 300_000)
		plain, s := New(), New()
		type told struct {
			set   *Set // what this step covered again
			cause Cause
		}
		var history []told
		var batch []Quad
		settle := func() {
			cause := Cause(rapid.IntRange(0, Causes-1).Draw(t, "cause"))
			again := New()
			for _, q := range batch {
				again.frame, again.started = s.frame, true
				again.Add(q)
			}
			history = append(history, told{again, cause})
			batch = nil
			s.Settle(cause)
		}
		for range rapid.IntRange(1, 30).Draw(t, "quads") {
			x, y := metres.Draw(t, "x"), metres.Draw(t, "y")
			w, l := rapid.Int64Range(1, 120_000).Draw(t, "w"), rapid.Int64Range(1, 120_000).Draw(t, "l")
			lean := rapid.Int64Range(-50_000, 50_000).Draw(t, "lean")
			q := Quad{{X: x, Y: y}, {X: x + w, Y: y + 100}, {X: x + w + lean, Y: y + l}, {X: x + lean, Y: y + l}}
			plain.Add(q)
			s.AddWaiting(q)
			batch = append(batch, q)
			if rapid.Bool().Draw(t, "settle") {
				settle()
			}
		}
		copied := s.CloneSettled(2)
		before := fmt.Sprint(copied.Outline(2), copied.Only(0).Outline(2), copied.Only(2).Outline(2))
		settle()
		s.workOff(s.told)
		if s.Covered() != plain.Covered() || s.Gross() != plain.Gross() || fmt.Sprint(s.Outline(2)) != fmt.Sprint(plain.Outline(2)) {
			t.Fatalf("with causes %v %v, without %v %v, or their shapes differ", s.Covered(), s.Gross(), plain.Covered(), plain.Gross())
		}
		if got := fmt.Sprint(copied.Outline(2), copied.Only(0).Outline(2), copied.Only(2).Outline(2)); got != before {
			t.Fatal("a copy changed with the set")
		}
		for range 200 {
			row := rapid.Int64Range(-50, 8000).Draw(t, "row") / againPitch * againPitch
			x := rapid.Int64Range(-100_000, 500_000).Draw(t, "at")
			times, want := 0, -1
			for _, h := range history {
				// The batch may have covered the place several times itself.
				n := h.set.holds(row, x)
				if n == 0 {
					continue
				}
				if times+n >= 2 && want < 0 {
					want = int(h.cause)
				}
				times += n
			}
			for c := range Cause(Causes) {
				if got := s.Only(c).holds(row, x) == 2; got != (int(c) == want) {
					t.Fatalf("row %d, %d: covered twice for cause %d %v, want cause %d alone", row, x, c, got, want)
				}
			}
		}
	})
}

// The frame turns while causes are waiting: the causes are kept.
func TestCausesSurviveATurn(t *testing.T) {
	t.Parallel()
	// A short way north, then passes along its scanlines, 78 degrees off it.
	s := New()
	n := 0
	put := func(q Quad, cause Cause) {
		s.AddWaiting(q)
		if n++; n%7 == 0 {
			s.Settle(cause)
		}
	}
	pass := func(x0, y0, dx, dy float64, steps int, cause Cause) {
		for i := range steps {
			a, b := float64(i), float64(i+1)
			px, py := -dy*6, dx*6
			put(Quad{at(x0+dx*a-px, y0+dy*a-py), at(x0+dx*a+px, y0+dy*a+py), at(x0+dx*b+px, y0+dy*b+py), at(x0+dx*b-px, y0+dy*b-py)}, cause)
		}
		s.Settle(cause)
	}
	pass(0, 0, 0, 1, 20, 0)
	first := s.frame
	sin, cos := math.Sincos(12 * math.Pi / 180) // along the scanlines
	for k := range 12 {
		side := float64(k) * 11
		pass(100+side*sin, side*cos, cos, -sin, 200, Cause(1+k%2))
	}
	if s.frame == first {
		t.Fatal("the frame did not turn: the test says nothing")
	}
	// Joins of 1 m by 200 m, each under the later pass's cause.
	for c, want := range []float64{0, 5 * 200, 6 * 200} {
		got := s.Only(Cause(c)).stack(2, 8).area.M2()
		if math.Abs(got-want) > 0.02*want+1 {
			t.Errorf("cause %d: %.1f m2, want %.1f", c, got, want)
		}
	}
}
