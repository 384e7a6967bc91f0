package ground

import (
	"math"
	"testing"

	"drawbar/coverage/plane"
)

// Closed forms. All are plain geometry, derived beside the case; none is a
// published figure. Lengths in metres, turned to an odd angle so that nothing
// lies along the grid.

// tilt is a place in metres, turned by 23 degrees.
func tilt(x, y float64) plane.Coord {
	sin, cos := math.Sincos(23 * math.Pi / 180)
	return at(1000+x*cos-y*sin, -500+x*sin+y*cos)
}

// pass drives straight from (x, y0) to (x, y1), the bar from left to right
// metres beside x, in steps of a quarter metre.
func pass(s *Set, x, left, right, y0, y1 float64) {
	n := max(1, int(math.Round(math.Abs(y1-y0)/0.25)))
	for i := range n {
		a, b := y0+(y1-y0)*float64(i)/float64(n), y0+(y1-y0)*float64(i+1)/float64(n)
		s.Add(Quad{tilt(x+left, a), tilt(x+right, a), tilt(x+right, b), tilt(x+left, b)})
	}
}

func near1e6(t *testing.T, what string, got, want, whole float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-6*whole {
		t.Errorf("%s: %.4f m2, want %.4f m2 within %.4f", what, got, want, 1e-6*whole)
	}
}

// n passes of width w, s apart, l long: gross n w l; covered
// l (w + (n-1) min(s, w)); overlap (n-1) max(w-s, 0) l.
func TestParallelPasses(t *testing.T) {
	t.Parallel()
	for _, spacing := range []float64{11.4, 12, 12.5} {
		const w, l, n = 12, 400, 10
		s := New()
		for i := range n {
			y0, y1 := 0.0, float64(l)
			left, right := -w/2.0, w/2.0
			if i%2 == 1 { // back again: the left end is on the other side
				y0, y1, left, right = y1, y0, right, left
			}
			pass(s, float64(i)*spacing, left, right, y0, y1)
		}
		gross := float64(n * w * l)
		near1e6(t, "gross", s.Gross().M2(), gross, gross)
		near1e6(t, "covered", s.Covered().M2(), l*(w+(n-1)*math.Min(spacing, w)), gross)
		near1e6(t, "overlap", (s.Gross() - s.Covered()).M2(), (n-1)*math.Max(w-spacing, 0)*l, gross)
	}
}

// n equal sections run into an oblique edge at angle theta, each held on until
// its own last corner: beyond the edge w^2 / (2 n tan theta).
func TestPointedRow(t *testing.T) {
	t.Parallel()
	const w, theta = 24.0, math.Pi / 4
	for n, want := range map[int]float64{1: 288, 8: 36} {
		if f := w * w / (2 * float64(n) * math.Tan(theta)); math.Abs(f-want) > 1e-9 {
			t.Fatalf("closed form for %d sections: %g, want %g", n, f, want)
		}
		s := New()
		for i := range n {
			left := w * float64(i) / float64(n)
			// The edge is x = y: a section ends where its right end reaches it.
			pass(s, 0, left, left+w/float64(n), -20, left+w/float64(n))
		}
		// The field is below the edge: the polygon holds it.
		field := []plane.Coord{tilt(-30, -30), tilt(60, -30), tilt(60, 60)}
		got := (s.Covered() - s.Within([][]plane.Coord{field})).M2()
		if math.Abs(got-want) > 0.02 {
			t.Errorf("%d sections: %.4f m2 beyond the edge, want %g", n, got, want)
		}
	}
}

// A headland ring of width h round a by b: ab - (a-2h)(b-2h).
func TestHeadlandRing(t *testing.T) {
	t.Parallel()
	const a, b, h = 800.0, 400.0, 24.0
	s := New()
	pass(s, h/2, -h/2, h/2, 0, b)
	pass(s, a-h/2, -h/2, h/2, b, 0)
	for i := range 3200 { // along the long sides
		x0, x1 := float64(i)*0.25, float64(i+1)*0.25
		s.Add(Quad{tilt(x0, b), tilt(x0, b-h), tilt(x1, b-h), tilt(x1, b)})
		s.Add(Quad{tilt(x1, 0), tilt(x1, h), tilt(x0, h), tilt(x0, 0)})
	}
	near1e6(t, "ring", s.Covered().M2(), 55_296, 55_296)
	near1e6(t, "overlap in the corners", (s.Gross() - s.Covered()).M2(), 4*h*h, 55_296)
	out := s.Outline(1)
	if len(out) != 1 || len(out[0]) != 2 {
		t.Fatalf("outline has %d polygons, want one with one hole", len(out))
	}
	near1e6(t, "hole", -Polygon{out[0][1]}.Area().M2(), (a-2*h)*(b-2*h), a*b)
}

// A bar of half width w swept about a centre at radius r from its middle, by
// phi: 2 w r phi where r >= w (Pappus), and phi/2 ((r+w)^2 + (w-r)^2) where
// r < w and phi <= pi, the inner end running backwards beyond the centre.
func TestTurningSweep(t *testing.T) {
	t.Parallel()
	tests := []struct{ r, w, phi, want float64 }{
		{30, 12, math.Pi / 2, 1130.973},
		{6, 12, math.Pi / 2, 282.743},
		{12, 12, math.Pi, 904.779},
		{0, 12, math.Pi, 452.389}, // about its own middle: a full disc
	}
	for _, tt := range tests {
		if tt.r >= tt.w {
			if f := 2 * tt.w * tt.r * tt.phi; math.Abs(f-tt.want) > 5e-4 {
				t.Fatalf("closed form %v: %g", tt, f)
			}
		} else if f := tt.phi / 2 * ((tt.r+tt.w)*(tt.r+tt.w) + (tt.w-tt.r)*(tt.w-tt.r)); math.Abs(f-tt.want) > 5e-4 {
			t.Fatalf("closed form %v: %g", tt, f)
		}
		s := New()
		const n = 2000
		ends := func(i int) (inner, outer plane.Coord) {
			sin, cos := math.Sincos(tt.phi * float64(i) / n)
			return tilt((tt.r-tt.w)*cos, (tt.r-tt.w)*sin), tilt((tt.r+tt.w)*cos, (tt.r+tt.w)*sin)
		}
		exact := Area(0)
		for i := range n {
			a0, b0 := ends(i)
			a1, b1 := ends(i + 1)
			q := Quad{a0, b0, b1, a1}
			exact += q.Area()
			s.Add(q)
		}
		// Chords instead of arcs take 1e-6 off at most. The scanlines are off by up
		// to h sqrt(h r) / 6 where the rim runs along them, once at either side.
		rim := 0.05 * math.Sqrt(0.05*(tt.r+tt.w)) / 3
		for what, got := range map[string]Area{"covered": s.Covered(), "gross": s.Gross(), "sum of quads": exact} {
			if math.Abs(got.M2()-tt.want) > 2e-6*tt.want+rim {
				t.Errorf("r %g w %g phi %.3f: %s %.4f m2, want %.3f", tt.r, tt.w, tt.phi, what, got.M2(), tt.want)
			}
		}
	}
}

// Two swaths of widths w1 and w2 that cross at angle theta share
// w1 w2 / sin theta.
func TestCrossingSwaths(t *testing.T) {
	t.Parallel()
	for _, theta := range []float64{90, 60, 35} {
		s := New()
		pass(s, 0, -6, 6, -40, 40)
		sin, cos := math.Sincos((90 - theta) * math.Pi / 180)
		for i := range 320 {
			along := func(k int, across float64) plane.Coord {
				d := -40 + float64(k)*0.25
				return tilt(d*cos-across*sin, d*sin+across*cos)
			}
			s.Add(Quad{along(i, 6), along(i, -6), along(i+1, -6), along(i+1, 6)})
		}
		want := 12 * 12 / math.Sin(theta*math.Pi/180)
		near1e6(t, "overlap", (s.Gross() - s.Covered()).M2(), want, s.Gross().M2())
		twice := Area(0)
		for _, p := range s.Outline(2) {
			twice += p.Area()
		}
		if math.Abs(twice.M2()-want) > 0.002*want {
			t.Errorf("outline of ground covered twice at %g degrees: %.3f m2, want %.3f", theta, twice.M2(), want)
		}
	}
}

// The same pass driven n times covers w l, overlaps (n-1) w l; the ground covered
// at least twice is w l from the second time on. For any record the sum of the
// parts is the gross area.
func TestSamePassAgain(t *testing.T) {
	t.Parallel()
	const w, l = 12.0, 100.0
	s := New()
	for n := 1; n <= 4; n++ {
		before := s.Gross()
		pass(s, 3, -w/2, w/2, 0, l)
		once := s.Gross() - before
		near1e6(t, "one pass", once.M2(), w*l, w*l)
		near1e6(t, "covered", s.Covered().M2(), w*l, w*l)
		near1e6(t, "overlap", (s.Gross() - s.Covered()).M2(), float64(n-1)*w*l, float64(n)*w*l)
		if got := s.Gross() - s.Covered(); got != Area(n-1)*s.Covered() {
			t.Errorf("after %d passes overlap is %d, want exactly %d times %d", n, got, n-1, s.Covered())
		}
		twice := Area(0)
		for _, p := range s.Outline(2) {
			twice += p.Area()
		}
		want := w * l
		if n == 1 {
			want = 0
		}
		if math.Abs(twice.M2()-want) > 0.001*w*l {
			t.Errorf("after %d passes %.3f m2 covered twice, want %.3f", n, twice.M2(), want)
		}
	}
}
