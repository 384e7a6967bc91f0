package coverage

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand"
	"os/exec"
	"strings"
	"testing"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
	"drawbar/internal/testkit"
	"drawbar/nmea"

	"pgregory.net/rapid"
)

// round drives along a path given by the way, from way 0 to toM, at 2.5 m/s and 10
// fixes a second.
func (d *driver) round(toM float64, path func(wayM float64) (x, y float64)) {
	for i := 0; float64(i)*0.25 <= toM; i++ {
		x, y := path(float64(i) * 0.25)
		d.fix(float64(i)/10, x, y)
	}
}

// noisy adds 2 cm of noise, one standard deviation each way.
func noisy(path func(float64) (float64, float64)) func(float64) (float64, float64) {
	chance := rand.New(rand.NewSource(3))
	return func(w float64) (float64, float64) {
		x, y := path(w)
		return x + 0.02*chance.NormFloat64(), y + 0.02*chance.NormFloat64()
	}
}

// onPlane is the ring of a boundary on the plane of the driver.
func (d *driver) onPlane(b Boundary) []plane.Coord {
	d.t.Helper()
	if len(b) != 1 || len(b[0]) != 1 {
		d.t.Fatalf("got %d polygons, want one ring", len(b))
	}
	ring, ok := project(d.plane, b[0][0])
	if !ok {
		d.t.Fatal("the boundary is nowhere")
	}
	return ring
}

// driven ends the drive; its ring is sound and runs counter-clockwise.
func (d *driver) driven() (ring []plane.Coord, areaM2 float64) {
	d.t.Helper()
	b, err := d.e.DrivenBoundary()
	if err != nil {
		d.t.Fatal(err)
	}
	ring = d.onPlane(b)
	soundRing(d.t, ring)
	return ring, plane.AreaM2(plane.Area2(ring))
}

func soundRing(t interface{ Errorf(string, ...any) }, ring []plane.Coord) {
	if ring[0] != ring[len(ring)-1] || plane.Area2(ring) <= 0 {
		t.Errorf("a ring that is not closed or runs clockwise: %v", ring)
	}
	ground.Contacts(ring, func(i, j int) bool {
		t.Errorf("sides %d and %d of the ring meet: %v", i, j, ring)
		return false
	})
}

func circle(r float64) func(wayM float64) (x, y float64) {
	return func(w float64) (float64, float64) { return r * math.Sin(w/r), r * math.Cos(w/r) }
}

// rounded is a rectangle a by b about the origin whose corners have radius r, driven
// clockwise from the middle of its left side.
func rounded(a, b, r float64) (path func(wayM float64) (x, y float64), lengthM float64) {
	quarter := math.Pi / 2 * r
	lengthM = 2*(a+b) - 8*r + 4*quarter
	return func(w float64) (float64, float64) {
		w = math.Mod(w+b/2-r, lengthM) // from the upper end of the corner at the lower left
		x, y, dx, dy := -a/2, -b/2+r, 0.0, 1.0
		for _, side := range [4]float64{b, a, b, a} {
			if w < side-2*r {
				return x + dx*w, y + dy*w
			}
			x, y, w = x+dx*(side-2*r), y+dy*(side-2*r), w-(side-2*r)
			if w < quarter {
				s, c := math.Sincos(w / r)
				return x + r*(dx*s+dy*(1-c)), y + r*(dy*s-dx*(1-c))
			}
			x, y, w = x+r*(dx+dy), y+r*(dy-dx), w-quarter
			dx, dy = dy, -dx
		}
		return x, y
	}, lengthM
}

// Round a circle clockwise, the antenna on radius R: a rigid 12 m bar at the
// antenna draws R + 6 + offset with its left end, R - 6 - offset with its right
// one, the antenna R - offset. Closed forms; simplifying to 3 cm and then 10 cm
// leaves out up to two thirds of both along the circle.
func TestDrivenCircle(t *testing.T) {
	t.Parallel()
	const r = 252.0
	for _, c := range []struct {
		edge   Edge
		offset float64
		radius float64
	}{{EdgeLeft, 0, r + 6}, {EdgeLeft, 0.5, r + 6.5}, {EdgeRight, 0.5, r - 6.5}, {EdgeAntenna, 1, r - 1}, {EdgeAntenna, -2, r + 2}} {
		for _, path := range []func(float64) (float64, float64){circle(r), noisy(circle(r))} {
			d := newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
			if err := d.e.StartDriving(c.edge, c.offset); err != nil {
				t.Fatal(err)
			}
			d.round(2*math.Pi*r+40, path)
			d.e.Finish()
			at, ok := d.e.Driving()
			if !ok || !at.Closed || at.GapM > 0.5 || at.HoleM != 0 {
				t.Errorf("edge %d: got %+v, want a closed line", c.edge, at)
			}
			near(t, "length", at.LengthM, 2*math.Pi*c.radius, 60)
			_, m2 := d.driven()
			near(t, "area", m2, math.Pi*c.radius*c.radius, 2*math.Pi*c.radius*0.09)
		}
	}
}

// Behind a trailed implement of 7.2 m to the bar the bar's middle runs on the
// tractrix' steady circle, sqrt(R² - L²) for the axle at L = 7.2.
func TestDrivenTowed(t *testing.T) {
	t.Parallel()
	const r, l = 60.0, 7.2
	d := newDriver(t, Setup{Implement: &Implement{Operation: "seeding", Mount: MountTowed, HitchToAxleM: l, HitchToBarM: l, SectionsM: []float64{6, 6}}})
	d.round(200, circle(r)) // the implement comes to trail
	if err := d.e.StartDriving(EdgeLeft, 0.3); err != nil {
		t.Fatal(err)
	}
	for i := 801; i < 801+1520; i++ {
		x, y := circle(r)(float64(i) * 0.25)
		d.fix(float64(i)/10, x, y)
	}
	_, m2 := d.driven()
	radius := math.Sqrt(r*r-l*l) + 6.3
	near(t, "area", m2, math.Pi*radius*radius, 2*math.Pi*radius*0.09)
}

// 20 ha, 500 by 400 m, the bar's left end along the border with corners of 8 m for
// the antenna: the ring is the rectangle less (1 - π/4) 14² m2 at each corner, which
// is within 0.1 % of the field.
func TestDrivenRectangle(t *testing.T) {
	t.Parallel()
	path, length := rounded(500-12, 400-12, 8)
	d := newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
	if err := d.e.StartDriving(EdgeLeft, 0); err != nil {
		t.Fatal(err)
	}
	d.round(length-9, noisy(path)) // 9 m short of its start
	d.e.Finish()
	at, _ := d.e.Driving()
	if !at.Closed || math.Abs(at.GapM-9) > 0.4 {
		t.Errorf("got %+v, want closed over 9 m", at)
	}
	ring, m2 := d.driven()
	near(t, "area", m2, 200_000-4*(1-math.Pi/4)*14*14, 20)
	near(t, "area of the field", m2, 200_000, 200)
	if len(ring) > 80 {
		t.Errorf("got %d corners, want few", len(ring))
	}
	if line := d.e.DrivenPath(0); len(line) < len(ring) {
		t.Errorf("got a line of %d places, the ring has %d", len(line), len(ring))
	}
	if line := d.e.DrivenPath(1 << 30); len(line) != 0 {
		t.Errorf("from beyond its end: %v", line)
	}
}

// corners drives to each place, backs off 18 m at it and turns towards the next on
// an arc of 7 m: the loops that reversing makes.
func (d *driver) corners(places [][2]float64) {
	var path [][2]float64
	line := func(a, b [2]float64) {
		way := math.Hypot(b[0]-a[0], b[1]-a[1])
		for w := 0.0; w < way; w += 0.2 {
			path = append(path, [2]float64{a[0] + (b[0]-a[0])*w/way, a[1] + (b[1]-a[1])*w/way})
		}
	}
	at := places[0]
	for i := 1; i < len(places); i++ {
		to := places[i]
		line(at, to)
		dx, dy := to[0]-at[0], to[1]-at[1]
		way := math.Hypot(dx, dy)
		dx, dy = dx/way, dy/way
		back := [2]float64{to[0] - 18*dx, to[1] - 18*dy}
		line(to, back)
		for a := 0.0; a < math.Pi/2; a += 0.2 / 7 { // to the right
			s, c := math.Sincos(a)
			path = append(path, [2]float64{back[0] + 7*(dx*s+dy*(1-c)), back[1] + 7*(dy*s-dx*(1-c))})
		}
		at = path[len(path)-1]
		if i+1 < len(places) { // on to the border, behind the corner
			onto := [2]float64{to[0] + 7*dy, to[1] - 7*dx}
			line(at, onto)
			at = onto
		}
	}
	for i, p := range path {
		d.fix(float64(i)/10, p[0]+0.02*rand.New(rand.NewSource(int64(i))).NormFloat64(), p[1])
	}
}

// At each corner the machine backs off and turns: the loops are taken out, the ring
// is simple and has the field's area to a bar's length at each corner.
func TestDrivenWithReversing(t *testing.T) {
	t.Parallel()
	for _, mount := range []Mount{MountRigid, MountTowed} {
		for _, edge := range []Edge{EdgeLeft, EdgeRight, EdgeAntenna} {
			d := newDriver(t, Setup{Implement: &Implement{Mount: mount, HitchToAxleM: 6, HitchToBarM: 7.2, SectionsM: []float64{6, 6}}})
			if err := d.e.StartDriving(edge, 0); err != nil {
				t.Fatal(err)
			}
			d.corners([][2]float64{{0, 40}, {0, 300}, {400, 300}, {400, 0}, {0, 0}, {0, 60}})
			d.e.Finish()
			_, m2 := d.driven()
			out := map[Edge]float64{EdgeLeft: 6, EdgeRight: -6}[edge]
			near(t, fmt.Sprintf("mount %d edge %d: area", mount, edge), m2, (400+2*out)*(300+2*out), 4*24*24)
		}
	}
}

// A figure of eight is refused with its place, and the drive goes on.
func TestDrivenFigureOfEight(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{})
	if err := d.e.StartDriving(EdgeLeft, 0); err == nil || !strings.Contains(err.Error(), "choose the antenna") {
		t.Fatalf("without an implement: got %v", err)
	}
	if err := d.e.StartDriving(EdgeAntenna, 0); err != nil {
		t.Fatal(err)
	}
	d.round(2*math.Pi*60, func(w float64) (float64, float64) {
		a := w / 60
		return 100 * math.Sin(2*a), 150 * math.Sin(a+0.3)
	})
	d.e.Finish()
	_, err := d.e.DrivenBoundary()
	if err == nil || !strings.Contains(err.Error(), "crosses itself at ") {
		t.Fatalf("got %v, want the place where it crosses", err)
	}
	var lon, lat float64
	if _, scan := fmt.Sscanf(err.Error()[strings.Index(err.Error(), " at ")+4:], "%f, %f", &lon, &lat); scan != nil {
		t.Fatal(err)
	}
	x, y, _ := d.plane.Forward(lat, lon)
	near(t, "crossing", math.Min(math.Abs(y), math.Hypot(x, y)), 0, 0.2)
	if _, on := d.e.Driving(); !on {
		t.Error("refused: the drive has ended")
	}
	d.e.DropDriving()
	if _, on := d.e.Driving(); on || d.e.DrivenPath(0) != nil {
		t.Error("dropped: still driving")
	}
	if _, err := d.e.DrivenBoundary(); err == nil {
		t.Error("dropped: a boundary")
	}
}

// What makes no field says what to do.
func TestDrivenRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		toM  float64
		path func(float64) (float64, float64)
		want string
	}{
		{"nothing", -1, circle(10), "0 m driven enclose no ground"},
		{"a straight line", 100, func(w float64) (float64, float64) { return 0, w }, "drive round the field"},
		{"there and back", 100, func(w float64) (float64, float64) { return 0, 50 - math.Abs(w-50) }, "drive round the field"},
		{"round a tree", 25, circle(4), "m2, a field has at least 100"},
	} {
		d := newDriver(t, Setup{})
		if err := d.e.StartDriving(EdgeAntenna, 0); err != nil {
			t.Fatal(err)
		}
		d.round(c.toM, c.path)
		d.e.Finish()
		if b, err := d.e.DrivenBoundary(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, %v, want %q", c.name, b, err, c.want)
		}
	}
	d := newDriver(t, Setup{})
	for _, offset := range []float64{51, -51, math.NaN(), math.Inf(1)} {
		if err := d.e.StartDriving(EdgeAntenna, offset); err == nil {
			t.Errorf("an offset of %g m is taken", offset)
		}
	}
	if err := d.e.StartDriving(3, 0); err == nil {
		t.Error("edge 3 is taken")
	}
	if err := d.e.StartDrivingBetween(EdgeAntenna, 0, at(1), at(0)); err == nil {
		t.Error("a drive that ends before it begins is taken")
	}
}

// One fix 10 km off leaves no trace, fixes below the quality asked for make a hole
// that a straight line bridges, and only fixes between the times stated count.
func TestDrivenFaults(t *testing.T) {
	t.Parallel()
	drive := func(spoil bool, has nmea.Has) (float64, Driven) {
		d := newDriver(t, Setup{MinQuality: nmea.QualityFloat})
		if err := d.e.StartDrivingBetween(EdgeAntenna, 0, at(10), at(10+2*math.Pi*40)); err != nil {
			t.Fatal(err)
		}
		for i := range 2900 {
			s := float64(i) / 10
			x, y := circle(100)(s * 2.5)
			lat, lon := d.plane.Inverse(x, y)
			q := nmea.QualityRTK
			switch {
			case spoil && i == 1000:
				lat += 0.1
			case spoil && i >= 1500 && i < 1520:
				q = nmea.QualityAutonomous
			}
			d.e.Fix(nmea.Fix{Time: at(s), LatDeg: lat, LonDeg: lon, Quality: q, HeadingDeg: math.Mod(90+s*2.5/100*180/math.Pi, 360), Has: has})
		}
		d.e.Finish()
		at, _ := d.e.Driving()
		_, m2 := d.driven()
		return m2, at
	}
	for _, has := range []nmea.Has{0, nmea.HasHeading} {
		clean, at := drive(false, has)
		near(t, "area", clean, math.Pi*100*100, 56)
		near(t, "length", at.LengthM, 2*math.Pi*100, 1)
		spoilt, at := drive(true, has)
		near(t, "hole", at.HoleM, 5.25, 0.3)
		near(t, "length with faults", at.LengthM, 2*math.Pi*100, 1)
		near(t, "area with faults", spoilt, clean, 15)
	}
}

// Whatever is driven, the ring is simple, or the error says why there is none.
func TestDrivenRingIsSimple(t *testing.T) {
	t.Parallel()
	rings := 0
	rapid.Check(t, func(t *rapid.T) {
		im := &Implement{SectionsM: []float64{rapid.Float64Range(1, 36).Draw(t, "bar")}, Mount: MountTowed, HitchToAxleM: 5, HitchToBarM: rapid.Float64Range(2, 9).Draw(t, "to bar")}
		e := NewEngine(Setup{Implement: im, Limits: DefaultLimits()})
		if err := e.StartDriving(Edge(rapid.IntRange(0, 2).Draw(t, "edge")), rapid.Float64Range(-3, 3).Draw(t, "offset")); err != nil {
			t.Fatal(err)
		}
		p := plane.New(originLat, originLon)
		chance := rand.New(rand.NewSource(int64(rapid.IntRange(0, 1<<30).Draw(t, "seed"))))
		wave := rapid.Float64Range(0, 30).Draw(t, "wave")
		r := rapid.Float64Range(20, 200).Draw(t, "radius")
		knots := rapid.IntRange(1, 9).Draw(t, "knots")
		part := rapid.Float64Range(0.3, 1.2).Draw(t, "part")
		for i := 0; float64(i)*0.5 < part*2*math.Pi*r; i++ {
			a := float64(i) * 0.5 / r
			// A trochoid: it loops where the wave is high.
			x := r*math.Sin(a) + wave*math.Sin(float64(knots)*a*3) + 0.03*chance.NormFloat64()
			y := r*math.Cos(a) + wave*math.Cos(float64(knots)*a*3) + 0.03*chance.NormFloat64()
			lat, lon := p.Inverse(x, y)
			e.Fix(nmea.Fix{Time: at(float64(i) / 5), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK})
		}
		e.Finish()
		b, err := e.DrivenBoundary()
		if err != nil {
			if b != nil {
				t.Errorf("an error and a boundary: %v", err)
			}
			return
		}
		rings++
		ring, _ := project(e.driven.plane, b[0][0])
		soundRing(t, ring)
	})
	if rings < 10 {
		t.Errorf("only %d drives made a ring", rings)
	}
}

// GEOS (https://libgeos.org) finds the boundaries valid and of the same area, on the
// plane.
func TestDrivenAgainstGEOS(t *testing.T) {
	t.Parallel()
	python := testkit.Python(t)
	var rings [][][2]float64
	var want []float64
	add := func(d *driver) {
		ring, m2 := d.driven()
		var out [][2]float64
		for _, c := range ring {
			x, y := c.M()
			out = append(out, [2]float64{x, y})
		}
		rings, want = append(rings, out), append(want, m2)
	}
	for _, edge := range []Edge{EdgeLeft, EdgeRight} {
		d := newDriver(t, Setup{Implement: &Implement{Mount: MountTowed, HitchToAxleM: 6, HitchToBarM: 7.2, SectionsM: []float64{6, 6}}})
		if err := d.e.StartDriving(edge, 0.5); err != nil {
			t.Fatal(err)
		}
		d.corners([][2]float64{{0, 40}, {0, 300}, {400, 300}, {400, 0}, {0, 0}, {0, 60}})
		d.e.Finish()
		add(d)
		path, length := rounded(488, 388, 8)
		d = newDriver(t, Setup{Implement: rigid(12)})
		if err := d.e.StartDriving(edge, 0.5); err != nil {
			t.Fatal(err)
		}
		d.round(length, noisy(path))
		d.e.Finish()
		add(d)
	}
	in, err := json.Marshal(rings)
	if err != nil {
		t.Fatal(err)
	}
	run := exec.Command(python, "-c", `
import json, sys
from shapely.geometry import Polygon
print(json.dumps([[p.is_valid, p.area, p.exterior.is_ccw] for p in map(Polygon, json.load(sys.stdin))]))`)
	run.Stdin = strings.NewReader(string(in))
	out, err := run.Output()
	if err != nil {
		t.Fatalf("run python3: %v", err)
	}
	var got [][3]any
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for i, g := range got {
		if g[0] != true || g[2] != true {
			t.Errorf("ring %d: valid %v, counter-clockwise %v", i, g[0], g[2])
		}
		near(t, "area by GEOS", want[i], g[1].(float64), 1e-3)
	}
}

// A fix while an edge is followed, and the end of the drive round 20 ha.
func BenchmarkDriven(b *testing.B) {
	path, length := rounded(488, 388, 8)
	path = noisy(path)
	d := &driven{edge: EdgeLeft, fromNS: math.MinInt64, toNS: math.MaxInt64}
	p := plane.New(originLat, originLon)
	stations := make([]station, int(length/0.25))
	for i := range stations {
		x, y := path(float64(i) * 0.25)
		stations[i] = station{tNS: int64(i) * 1e8, at: xy{x, y}, good: true, joined: true, bar: []plane.Coord{plane.Snap(x-6, y), plane.Snap(x+6, y)}}
	}
	b.Run("fixes", func(b *testing.B) {
		b.ReportAllocs()
		i := 0
		for b.Loop() {
			if i == len(stations) {
				i, d.path = 0, drivenPath{}
			}
			d.follow(p, &stations[i])
			i++
		}
	})
	d.path = drivenPath{}
	for i := range stations {
		d.follow(p, &stations[i])
	}
	b.Run("ring", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := d.ring(); err != nil {
				b.Fatal(err)
			}
		}
	})
}
