package ground

import (
	"math"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"pgregory.net/rapid"

	"drawbar/coverage/plane"
)

func TestQuadArea(t *testing.T) {
	t.Parallel()
	quad := func(v ...int64) (q Quad) {
		for i := range q {
			q[i] = plane.Coord{X: v[2*i], Y: v[2*i+1]}
		}
		return q
	}
	const top = math.MaxInt64
	tests := []struct {
		name string
		q    Quad
		want Area // half squares of the grid
	}{
		{"square", quad(0, 0, 10, 0, 10, 10, 0, 10), 200},
		{"square run backwards", quad(0, 10, 10, 10, 10, 0, 0, 0), 200},
		{"dart", quad(0, 0, 4, 2, 8, 0, 4, 10), 64},
		{"triangle", quad(0, 0, 10, 0, 10, 0, 0, 10), 100},
		{"bow-tie of equal halves", quad(0, 0, 10, 0, 0, 10, 10, 10), 100},
		{"bow-tie the other way", quad(0, 0, 0, 10, 10, 0, 10, 10), 100},
		// Sides (0,0)-(0,3) and (6,0)-(6,-6): they cross the long sides at a third.
		{"bow-tie of unequal halves", quad(0, 0, 0, 3, 6, -6, 6, 0), 6 + 24},
		{"line", quad(0, 0, 5, 5, 10, 10, 2, 2), 0},
		{"point", quad(3, 3, 3, 3, 3, 3, 3, 3), 0},
		{"1 km", quad(0, 0, maxExtent, 0, maxExtent, maxExtent, 0, maxExtent), 2 * maxExtent * maxExtent},
		{"too large", quad(0, 0, maxExtent+1, 0, maxExtent, maxExtent, 0, maxExtent), 0},
		{"absurd", quad(-top, -top, top, -top, top, top, -top, top), 0},
		{"absurd but small", quad(top, top, top-9, top, top-9, top-9, top, top-9), 0},
	}
	for _, tt := range tests {
		if got := tt.q.Area(); got != tt.want {
			t.Errorf("%s %v: area %d, want %d", tt.name, tt.q, got, tt.want)
		}
	}
}

// drawQuad draws four corners within 20 m of one another.
func drawQuad(t *rapid.T, label string) Quad {
	span := rapid.Int64Range(-100_000, 100_000)
	base := plane.Coord{X: rapid.Int64Range(-1e6, 1e6).Draw(t, label+" x"), Y: rapid.Int64Range(-1e6, 1e6).Draw(t, label+" y")}
	var q Quad
	for i := range q {
		q[i] = plane.Coord{X: base.X + span.Draw(t, label), Y: base.Y + span.Draw(t, label)}
	}
	return q
}

// The area of any quad, folded or not, is that of the polygons which
// simplefeatures (https://github.com/peterstace/simplefeatures) finds: a bow-tie
// as the union of the four triangles that its corners span, where inside.
func TestQuadAreaAgainstSimplefeatures(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		q := drawQuad(t, "quad")
		// Symmetric difference of two triangles sharing a diagonal is the even-odd
		// fill of the quad.
		one, err1 := triangle(q[0], q[1], q[2])
		two, err2 := triangle(q[0], q[2], q[3])
		if err1 != nil || err2 != nil {
			t.Skip("a triangle without area")
		}
		shape, err := geom.SymmetricDifference(one, two)
		if err != nil {
			t.Skipf("simplefeatures: %v", err)
		}
		want := shape.Area() / 1e8
		if got := q.Area().M2(); math.Abs(got-want) > 1e-7*(1+want) {
			t.Fatalf("%v: %.9f m2, want %.9f", q, got, want)
		}
	})
}

func triangle(a, b, c plane.Coord) (geom.Geometry, error) {
	var flat []float64
	for _, p := range []plane.Coord{a, b, c, a} {
		flat = append(flat, float64(p.X), float64(p.Y))
	}
	ring := geom.NewLineString(geom.NewSequence(flat, geom.DimXY))
	p := geom.NewPolygon([]geom.LineString{ring})
	return p.AsGeometry(), p.Validate()
}

// The scanlines see a quad's area within what they can: half a scanline's
// distance times the width of each side's end, and the grid.
func TestScanAreaOfOneQuad(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		q := drawQuad(t, "quad")
		s := New()
		newA, again := s.Add(q)
		if again < 0 || newA < 0 || newA != s.Covered() || newA+again != s.Gross() {
			t.Fatalf("%v: new %d again %d, covered %d gross %d", q, newA, again, s.Covered(), s.Gross())
		}
		if again != 0 {
			t.Fatalf("%v: one quad covers %d again", q, again)
		}
		if got, want := s.Gross().M2(), q.Area().M2(); math.Abs(got-want) > s.scanErrorM2(q) {
			t.Fatalf("%v: %.5f m2 on the scanlines, want %.5f within %.5f", q, got, want, s.scanErrorM2(q))
		}
	})
}

// scanErrorM2 bounds the difference between a quad's area and its scan area:
// a side that is crossed moves by at most dx/dy times half a scanline at either
// end, a flatter one is missed at most altogether; and corners and crossings are
// rounded to 0.1 mm.
func (s *Set) scanErrorM2(q Quad) float64 {
	sum := 0.0
	for i, c := range q {
		a, b := s.frame.scan(c), s.frame.scan(q[(i+1)%4])
		dx, dy := math.Abs(float64(b.x-a.x))+2, math.Abs(float64(b.y-a.y))
		slip := dx
		if dy > 2 {
			slip = min(dx, rowHeight*dx/(dy-1))
		}
		sum += rowHeight*slip + 2*(dx+dy+rowHeight)
	}
	return sum / 1e8
}
