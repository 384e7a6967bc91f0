package locate

import (
	"fmt"
	"math"
	"testing"
	"time"

	"drawbar/coverage"

	"pgregory.net/rapid"
)

// withoutTree is an index that looks at every field each time.
func withoutTree(t interface{ Fatal(...any) }, fields []Field) *Index {
	ix, err := NewIndex(fields)
	if err != nil {
		t.Fatal(err)
	}
	for i := range ix.tree {
		ix.tree[i].box = box{-1e3, -1e3, 1e3, 1e3}
	}
	return ix
}

// insideBrute counts the sides of all outer rings that lie due east of a place, in
// degrees: the textbook rule, ring by ring.
func insideBrute(b coverage.Boundary, latDeg, lonDeg float64) bool {
	for _, polygon := range b {
		in := false
		for i, c := range polygon[0] {
			a := polygon[0][(i+len(polygon[0])-1)%len(polygon[0])]
			if (a[1] > latDeg) != (c[1] > latDeg) && lonDeg < (c[0]-a[0])*(latDeg-a[1])/(c[1]-a[1])+a[0] {
				in = !in
			}
		}
		if in {
			return true
		}
	}
	return false
}

// stars are fields of any shape, some over one another, all over a few kilometres.
func stars(t *rapid.T) []Field {
	var fields []Field
	for i := range rapid.IntRange(0, 60).Draw(t, "fields") {
		x, y := rapid.Float64Range(-2000, 2000).Draw(t, "x"), rapid.Float64Range(-2000, 2000).Draw(t, "y")
		n := rapid.IntRange(3, 12).Draw(t, "corners")
		var ring [][2]float64
		for k := range n {
			r := rapid.Float64Range(20, 400).Draw(t, "r")
			s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
			ring = append(ring, [2]float64{x + r*c, y + r*s})
		}
		b := coverage.Boundary{{onEarth(farmPlane, ring)}}
		if rapid.Bool().Draw(t, "pond") {
			b[0] = append(b[0], onEarth(farmPlane, [][2]float64{{x - 5, y - 5}, {x + 5, y - 5}, {x, y + 5}}))
		}
		fields = append(fields, Field{fmt.Sprint("field ", i), b})
	}
	return fields
}

// The tree finds what looking at every field finds, on any drive; and the machine
// is in a field only within reach of it, is offered none that it works or declined,
// and is offered one field until a reason ends that.
func TestAgainstBruteForce(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		fields := stars(t)
		ix, err := NewIndex(fields)
		if err != nil {
			t.Fatal(err)
		}
		quick, slow := New(ix), New(withoutTree(t, fields))
		x, y, course := 0.0, 0.0, rapid.Float64Range(0, 360).Draw(t, "course")
		turn, work, ns := 0.0, "", begin.UnixNano()
		for range rapid.IntRange(1, 400).Draw(t, "fixes") {
			switch rapid.IntRange(0, 40).Draw(t, "event") {
			case 0:
				turn = rapid.Float64Range(-30, 30).Draw(t, "turn")
			case 1:
				turn = 0
			case 2:
				work = fmt.Sprint("field ", rapid.IntRange(0, 60).Draw(t, "work"))
			case 3:
				name := quick.State().Offer.Name
				quick.Decline(name)
				slow.Decline(name)
			case 4:
				x, y = rapid.Float64Range(-2000, 2000).Draw(t, "to x"), rapid.Float64Range(-2000, 2000).Draw(t, "to y")
			}
			v := rapid.SampledFrom([]float64{0, 0.3, 2, 5, 15}).Draw(t, "speed")
			dt := rapid.SampledFrom([]float64{0.1, 1, 1, 7}).Draw(t, "step")
			course = math.Mod(course+turn*dt+360, 360)
			s, c := math.Sincos(course * math.Pi / 180)
			x, y, ns = x+v*dt*s, y+v*dt*c, ns+int64(dt*1e9)
			lat, lon := farmPlane.Inverse(x, y)
			f := Fix{Time: time.Unix(0, ns), LatDeg: lat, LonDeg: lon, SpeedMPS: v, CourseDeg: course, HasSpeed: true, HasCourse: true, HalfBarM: 6, Work: work}
			before := quick.State()
			got, want := quick.Step(f), slow.Step(f)
			if got != want {
				t.Fatalf("at %.1f, %.1f: got %+v, without the tree %+v", x, y, got, want)
			}
			if o := got.Offer; o.OK && (o.Name == work || o.Inside != (got.In && got.Field == o.Field) || o.InS < 0 || o.InS > keepS) {
				t.Fatalf("work %q: offered %+v in %+v", work, o, got)
			}
			if a, b := before.Offer, got.Offer; a.OK && a.Name != work && b.Field != a.Field && a.Inside && before.In && got.In && before.Field == got.Field {
				t.Fatalf("offer %+v became %+v in the same field", a, b)
			}
			var at []int
			for i := range fields {
				if insideBrute(fields[i].Boundary, lat, lon) {
					at = append(at, i)
				}
			}
			if found := ix.At(nil, lat, lon); fmt.Sprint(found) != fmt.Sprint(at) {
				t.Fatalf("at %.7f, %.7f: got fields %v, want %v", lat, lon, found, at)
			}
		}
	})
}
