package supply

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"drawbar/coverage"
	"drawbar/coverage/plane"
	"drawbar/internal/testkit"
)

// The fields of these tests lie on the Lincolnshire Wolds, on the Greenwich meridian.
var wolds = plane.New(53.3, 0.0)

// field is a boundary given in metres on the plane of the Wolds.
func field(polygons ...[][][2]float64) coverage.Boundary {
	var b coverage.Boundary
	for _, rings := range polygons {
		var p [][][2]float64
		for _, ring := range rings {
			var out [][2]float64
			for _, c := range append(ring, ring[0]) {
				lat, lon := wolds.Inverse(c[0], c[1])
				out = append(out, [2]float64{lon, lat})
			}
			p = append(p, out)
		}
		b = append(b, p)
	}
	return b
}

func box(x0, y0, x1, y1 float64) [][2]float64 {
	return [][2]float64{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}
}

// machine is a snapshot of a bar of widthM in two sections, both on, its middle at x,
// y, heading courseDeg.
func machine(x, y, courseDeg, widthM float64) *coverage.Snapshot {
	sin, cos := math.Sincos(courseDeg * math.Pi / 180)
	s := &coverage.Snapshot{
		SectionsM: []float64{widthM / 2, widthM / 2}, Placed: true, SpeedMPS: 2.5, HasSpeed: true,
		Sections: []coverage.SectionState{coverage.SectionOn, coverage.SectionOn}, Metered: []coverage.SectionState{coverage.SectionOn, coverage.SectionOn},
	}
	for _, d := range []float64{-widthM / 2, 0, widthM / 2} {
		lat, lon := wolds.Inverse(x+d*cos, y-d*sin)
		s.Bar = append(s.Bar, [2]float64{lon, lat})
	}
	return s
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

// The way ahead by hand: where the pass ends and how much of it is work.
func TestWayAhead(t *testing.T) {
	t.Parallel()
	square := [][][2]float64{box(0, 0, 400, 300)}
	// An L: the upper right quarter is missing.
	bent := [][][2]float64{{{0, 0}, {400, 0}, {400, 150}, {200, 150}, {200, 300}, {0, 300}}}
	// A horseshoe, open to the north: a way east along its top crosses it twice.
	horseshoe := [][][2]float64{{{0, 0}, {300, 0}, {300, 300}, {200, 300}, {200, 100}, {100, 100}, {100, 300}, {0, 300}}}
	pond := [][][2]float64{box(0, 0, 400, 300), box(90, 120, 110, 160)}
	slope := [][][2]float64{{{0, 0}, {400, 0}, {400, 300}}}
	for _, c := range []struct {
		name           string
		field          coverage.Boundary
		x, y, course   float64
		endM, workM    float64
		outside, loose bool
	}{
		{name: "north in a square", field: field(square), x: 100, y: 40, course: 0, endM: 260, workM: 260},
		{name: "east in a square", field: field(square), x: 100, y: 40, course: 90, endM: 300, workM: 300},
		{name: "3, 4, 5: to the east side", field: field(square), x: 100, y: 0.5, course: math.Atan2(4, 3) * 180 / math.Pi, endM: 375, workM: 375},
		{name: "an L, into the bend", field: field(bent), x: 300, y: 20, course: 0, endM: 130, workM: 130},
		{name: "an L, along the long side", field: field(bent), x: 100, y: 20, course: 0, endM: 280, workM: 280},
		{name: "a horseshoe: what lies beyond the gap is another pass", field: field(horseshoe), x: 20, y: 200, course: 90, endM: 80, workM: 80},
		{name: "over a pond of 40 m", field: field(pond), x: 100, y: 20, course: 0, endM: 280, workM: 240},
		{name: "past the pond", field: field(pond), x: 120, y: 20, course: 0, endM: 280, workM: 280},
		{name: "out of the pond", field: field(pond), x: 100, y: 150, course: 0, endM: 150, workM: 140},
		{name: "a slanted border: by the bar's middle", field: field(slope), x: 200, y: 10, course: 0, endM: 140, workM: 140},
		{name: "two parcels with a common side", field: field([][][2]float64{box(0, 0, 400, 150)}, [][][2]float64{box(0, 150, 400, 300)}), x: 100, y: 40, course: 0, endM: 260, workM: 260},
		{name: "two parcels half a metre apart: a joint, no end", field: field([][][2]float64{box(0, 0, 400, 150)}, [][][2]float64{box(0, 150.5, 400, 300)}), x: 100, y: 40, course: 0, endM: 260, workM: 259.5},
		{name: "two parcels over each other by 1 m", field: field([][][2]float64{box(0, 0, 400, 150)}, [][][2]float64{box(0, 149, 400, 300)}), x: 100, y: 40, course: 0, endM: 260, workM: 260},
		{name: "a lane of 8 m between parcels", field: field([][][2]float64{box(0, 0, 400, 150)}, [][][2]float64{box(0, 158, 400, 300)}), x: 100, y: 40, course: 0, endM: 110, workM: 110},
		{name: "outside", field: field(square), x: 100, y: -40, course: 0, outside: true},
		{name: "along a corner: not both sides", field: field(square), x: 100, y: 100, course: math.Atan2(300, 200) * 180 / math.Pi, endM: math.Hypot(300, 200), workM: math.Hypot(300, 200), loose: true},
	} {
		b := NewBorder(c.field)
		at, ok := placeOn(b.plane, machine(c.x, c.y, c.course, 12))
		if !ok {
			t.Fatalf("%s: not placed", c.name)
		}
		way := b.ahead(at)
		if way.known == c.outside {
			t.Errorf("%s: known %v", c.name, way.known)
		}
		near(t, c.name+": end", way.endM, c.endM, 1e-3)
		near(t, c.name+": work", way.workM(), c.workM, 1e-3)
	}
}

// GEOS (https://libgeos.org) on drawn stars with holes, one or two parcels a field.
func TestWayAheadAgainstGEOS(t *testing.T) {
	t.Parallel()
	python := testkit.Python(t)
	rng := rand.New(rand.NewPCG(5, 14))
	star := func(x, y, r float64) (ring [][2]float64) {
		n := 5 + rng.IntN(12)
		for i := range n {
			a := 2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / float64(n)
			d := r * (0.3 + 0.7*rng.Float64())
			ring = append(ring, [2]float64{x + d*math.Sin(a), y + d*math.Cos(a)})
		}
		return ring
	}
	var (
		in   bytes.Buffer
		ways []stretches
		n    = 2000
	)
	for range n {
		polygons := [][][][2]float64{{star(0, 0, 300)}}
		for i := range rng.IntN(4) { // holes near the middle, where the star is solid, apart
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 3)
			polygons[0] = append(polygons[0], star(25*sin, 25*cos, 8))
		}
		if rng.IntN(2) == 0 {
			polygons = append(polygons, [][][2]float64{star(700, 100, 300)})
		}
		// In metres of the border's plane, as it sees them.
		b := NewBorder(field(polygons...))
		s := machine(300*rng.Float64()-150, 300*rng.Float64()-150, 360*rng.Float64(), 24)
		at, _ := placeOn(b.plane, s)
		ways = append(ways, b.ahead(at))
		var flat [][][][2]float64
		for _, p := range b.polygons {
			var rings [][][2]float64
			for _, r := range p {
				var ring [][2]float64
				for _, v := range r {
					ring = append(ring, [2]float64{v.x, v.y})
				}
				rings = append(rings, ring)
			}
			flat = append(flat, rings)
		}
		far := at.at.on(at.forward, 5000)
		line, _ := json.Marshal([]any{flat, [2]float64{at.at.x, at.at.y}, [2]float64{far.x, far.y}})
		in.Write(append(line, '\n'))
	}
	run := exec.Command(python, "testdata/ray.py")
	run.Stdin = &in
	out, err := run.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, err.(*exec.ExitError).Stderr)
	}
	dec, inside, holed := json.NewDecoder(bytes.NewReader(out)), 0, 0
	for i, way := range ways {
		var want [3]any
		if err := dec.Decode(&want); err != nil {
			t.Fatal(err)
		}
		in, end, work := want[0].(bool), want[1].(float64), want[2].(float64)
		if way.known != in || math.Abs(way.endM-end) > 1e-6 || math.Abs(way.workM()-work) > 1e-6 {
			t.Errorf("field %d: got %v, %.6f m, %.6f of it work; GEOS says %v, %.6f, %.6f", i, way.known, way.endM, way.workM(), in, end, work)
		}
		if in {
			inside++
		}
		if work < end-1e-3 {
			holed++
		}
	}
	if inside < n/4 || holed < n/50 {
		t.Errorf("%d of %d places inside, %d ways over holes: too few to say anything", inside, n, holed)
	}
}
