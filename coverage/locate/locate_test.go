package locate

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/plane"
	"drawbar/internal/testkit"
)

// The fields of the farm lie side by side near the Greenwich meridian:
//
//	y 300 +-----------+-----------+
//	      |           |           |       +----------+
//	      | Mill Piece|Long Meadow| track | Far Reach|
//	      |   (pond)  |           |       |          |
//	    0 +-----------+-----------+       +----------+
//	      x 0        200         400     408        600
const originLat, originLon = 53.3, 0.0

var (
	farmPlane = plane.New(originLat, originLon)
	begin     = time.Date(2026, 5, 14, 13, 0, 0, 0, time.UTC)
)

func rectangle(x0, y0, x1, y1 float64) [][2]float64 {
	return onEarth(farmPlane, [][2]float64{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}})
}

func onEarth(p *plane.Plane, ring [][2]float64) (out [][2]float64) {
	for _, c := range ring {
		lat, lon := p.Inverse(c[0], c[1])
		out = append(out, [2]float64{lon, lat})
	}
	return out
}

func farm(t testing.TB) *Index {
	t.Helper()
	return newIndex(t, []Field{
		{"Mill Piece", coverage.Boundary{{rectangle(0, 0, 200, 300), rectangle(80, 130, 120, 170)}}},
		{"Long Meadow", coverage.Boundary{{rectangle(200, 0, 400, 300)}}},
		{"Far Reach", coverage.Boundary{{rectangle(408, 0, 600, 300)}}},
		{"Not Measured", nil},
	})
}

func newIndex(t testing.TB, fields []Field) *Index {
	t.Helper()
	ix, err := NewIndex(fields)
	if err != nil {
		t.Fatal(err)
	}
	return ix
}

// tractor drives on a plane, ten fixes a second, with noise of 2 cm in place and
// half a degree in course, and keeps what it was told when that changed.
type tractor struct {
	l       *Locator
	on      *plane.Plane
	chance  *rand.Rand
	noiseM  float64
	now     float64 // s
	x, y    float64
	halfBar float64
	work    string
	working bool
	last    State
	story   []string // "in NAME", "offer NAME", "offer NAME inside", "no offer"
	steps   func(tr *tractor, s State)
}

func newTractor(l *Locator, x, y float64) *tractor {
	return &tractor{l: l, on: farmPlane, chance: rand.New(rand.NewSource(1)), noiseM: 0.02, x: x, y: y, halfBar: 6}
}

func (tr *tractor) fix(courseDeg, speedMPS float64) State {
	tr.now += 0.1
	lat, lon := tr.on.Inverse(tr.x+tr.chance.NormFloat64()*tr.noiseM, tr.y+tr.chance.NormFloat64()*tr.noiseM)
	s := tr.l.Step(Fix{
		Time: begin.Add(seconds(tr.now)), LatDeg: lat, LonDeg: lon,
		SpeedMPS: speedMPS, HasSpeed: true, CourseDeg: courseDeg + tr.chance.NormFloat64()*0.5, HasCourse: speedMPS > 0,
		HalfBarM: tr.halfBar, Work: tr.work, Working: tr.working,
	})
	tr.note(s)
	if tr.steps != nil {
		tr.steps(tr, s)
	}
	return s
}

func seconds(s float64) time.Duration { return time.Duration(math.Round(s * 1e9)) }

func (tr *tractor) note(s State) {
	if s.Name != tr.last.Name || s.In != tr.last.In {
		name := "none"
		if s.In {
			name = s.Name
		}
		tr.story = append(tr.story, "in "+name)
	}
	if a, b := s.Offer, tr.last.Offer; a.OK != b.OK || a.Name != b.Name || a.Inside != b.Inside {
		switch {
		case !a.OK:
			tr.story = append(tr.story, "no offer")
		case a.Inside:
			tr.story = append(tr.story, "offer "+a.Name+" inside")
		default:
			tr.story = append(tr.story, "offer "+a.Name)
		}
	}
	tr.last = s
}

// to drives straight to a place.
func (tr *tractor) to(x, y, speedMPS float64) {
	dx, dy := x-tr.x, y-tr.y
	way := math.Hypot(dx, dy)
	course := math.Mod(math.Atan2(dx, dy)*180/math.Pi+360, 360)
	n := int(way / (speedMPS / 10))
	x0, y0 := tr.x, tr.y
	for i := 1; i <= n; i++ {
		f := float64(i) * speedMPS / 10 / way
		tr.x, tr.y = x0+dx*f, y0+dy*f
		tr.fix(course, speedMPS)
	}
}

// stand stands for so many seconds.
func (tr *tractor) stand(s float64) {
	for range int(s * 10) {
		tr.fix(0, 0)
	}
}

func (tr *tractor) told(t *testing.T, want ...string) {
	t.Helper()
	if got := strings.Join(tr.story, "; "); got != strings.Join(want, "; ") {
		t.Errorf("story:\n got %s\nwant %s", got, strings.Join(want, "; "))
	}
	tr.story = nil
}

// From the road into a field and out of it: offered 20 s before, with the seconds
// left to within half a second, entered, left, passed.
func TestEntry(t *testing.T) {
	t.Parallel()
	for _, v := range []float64{2, 3, 5} {
		tr := newTractor(New(farm(t)), 300, -400)
		first := true
		tr.steps = func(tr *tractor, s State) {
			left := -tr.y / v
			if s.Offer.OK && first {
				first = false
				if left > 20.1 || left < 19.5 {
					t.Errorf("at %g m/s: offered %.2f s before, want 20", v, left)
				}
			}
			if s.Offer.OK && left > 0 && (!s.Offer.HasInS || math.Abs(s.Offer.InS-left) > 0.5) {
				t.Errorf("at %g m/s: told %.2f s (%v) before the border, want %.2f", v, s.Offer.InS, s.Offer.HasInS, left)
			}
		}
		tr.to(300, 400, v)
		tr.told(t, "offer Long Meadow", "in Long Meadow", "offer Long Meadow inside", "in none", "no offer")
	}
	// 15 m/s come 300 m in 20 s: not offered before 100 m.
	tr := newTractor(New(farm(t)), 300, -400)
	tr.to(300, -105, 15)
	tr.told(t)
	tr.to(300, -90, 15)
	tr.told(t, "offer Long Meadow")
}

// The border of two fields, along it on either side by up to 4 m, the bar over it:
// the field stays the one that the machine came from, and no other is offered.
func TestAlongTheBorder(t *testing.T) {
	t.Parallel()
	for _, half := range []float64{3, 6, 18} {
		tr := newTractor(New(farm(t)), 100, 20)
		tr.halfBar, tr.work = half, "Mill Piece"
		tr.stand(3)
		tr.told(t, "in Mill Piece")
		tr.to(196, 20, 3)
		tr.story = nil // straight at the border
		tr.to(196, 30, 3)
		tr.stand(3)
		tr.story = nil
		for y := 30.0; y < 280; y++ {
			tr.to(200+4*math.Sin(y/15), y, 2.5)
		}
		for y := 280.0; y > 20; y-- {
			tr.to(199+0.5*math.Sin(y/5), y, 2.5)
		}
		for _, s := range tr.story {
			if strings.HasPrefix(s, "in ") {
				t.Errorf("half bar %g m: %s", half, s)
			}
		}
		tr.story = nil
		for y := 20.0; y < 280; y += 40 { // the course wavers by 3 degrees
			tr.to(199, y+20, 2.5)
			tr.to(199-1, y+40, 2.5)
		}
		tr.told(t)
	}
}

// Across a shared border: one field to the next without a moment in none.
func TestAcross(t *testing.T) {
	t.Parallel()
	tr := newTractor(New(farm(t)), 20, 250)
	tr.work = "Mill Piece"
	tr.to(390, 250, 3)
	tr.told(t, "in Mill Piece", "offer Long Meadow", "in Long Meadow", "offer Long Meadow inside")
	tr.work = "Long Meadow"
	tr.stand(1)
	tr.told(t, "no offer")
	tr.to(550, 250, 3) // 8 m of track between: it is in Far Reach before it has left
	tr.told(t, "offer Far Reach", "in Far Reach", "offer Far Reach inside")
}

// While the field of the work is being worked its passes lead to no offer; the
// turns on the track beside it do not leave it.
func TestHeadlands(t *testing.T) {
	t.Parallel()
	tr := newTractor(New(farm(t)), 300, 20)
	tr.work, tr.working = "Long Meadow", true
	for y := 20.0; y < 280; y += 12 {
		tr.to(398, y, 3)
		tr.working = false
		for a := 0.0; a <= 180; a += 2.5 { // half a circle of 6 m, to 6 m outside
			tr.x, tr.y = 398+6*math.Sin(a*math.Pi/180), y+6-6*math.Cos(a*math.Pi/180)
			tr.fix(90-a, 2.6)
		}
		tr.working = true
		tr.to(300, y+12, 3)
		tr.y = y + 12
	}
	tr.told(t, "in Long Meadow")
}

// A pond is part of the field; another field in a hole is that one.
func TestHoles(t *testing.T) {
	t.Parallel()
	tr := newTractor(New(farm(t)), 20, 150)
	tr.work = "Mill Piece"
	tr.to(100, 150, 2)
	tr.stand(30)
	tr.to(150, 150, 2)
	tr.told(t, "in Mill Piece")
	l := New(farm(t)) // from the first fix on
	tr = newTractor(l, 100, 150)
	tr.stand(3)
	tr.told(t, "in Mill Piece", "offer Mill Piece inside")

	ix := newIndex(t, []Field{
		{"Mill Piece", coverage.Boundary{{rectangle(0, 0, 200, 300), rectangle(80, 130, 120, 170)}}},
		{"Island", coverage.Boundary{{rectangle(80, 130, 120, 170)}}},
	})
	tr = newTractor(New(ix), 20, 150)
	tr.work = "Mill Piece"
	tr.to(180, 150, 2)
	tr.told(t, "in Mill Piece", "offer Island", "in Island", "offer Island inside", "in Mill Piece", "no offer")
}

func TestDecline(t *testing.T) {
	t.Parallel()
	tr := newTractor(New(farm(t)), 300, -100)
	tr.to(300, -20, 3)
	tr.told(t, "offer Long Meadow")
	tr.l.Decline("Long Meadow")
	if tr.l.State().Offer.OK {
		t.Error("declined: still offered")
	}
	tr.l.Decline("Nowhere")
	tr.to(300, 100, 3)
	tr.to(300, -60, 3)
	tr.told(t, "no offer", "in Long Meadow", "in none")
	tr.to(300, -10, 3) // it was left: offered again
	tr.told(t, "offer Long Meadow")
	tr.l.Decline("Long Meadow")
	tr.stand(1)
	tr.work = "Mill Piece" // work elsewhere: as if it had not been declined
	tr.to(300, 50, 3)
	tr.told(t, "no offer", "offer Long Meadow", "in Long Meadow", "offer Long Meadow inside")
}

// Turned away the offer goes, standing before the gate it stays.
func TestTurnedAway(t *testing.T) {
	t.Parallel()
	tr := newTractor(New(farm(t)), 300, -100)
	tr.to(300, -20, 2)
	tr.stand(120)
	tr.told(t, "offer Long Meadow")
	if o := tr.l.State().Offer; o.HasInS {
		t.Errorf("standing: entered in %g s", o.InS)
	}
	tr.to(300, -15, 2)
	tr.told(t)
	tr.to(330, -15, 2)
	tr.told(t, "no offer")
	tr.to(380, -15, 2)
	tr.told(t)

	// On a circle outside, each course leads into the field for a while only.
	tr = newTractor(New(farm(t)), 300, -60)
	for a := 0.0; a < 720; a += 2 {
		tr.x, tr.y = 300+8*math.Sin(a*math.Pi/180), -60+8*math.Cos(a*math.Pi/180)
		tr.fix(math.Mod(a+90, 360), 2.8)
	}
	tr.told(t)
	// Creeping has no course.
	tr = newTractor(New(farm(t)), 300, -5)
	tr.to(300, -1, 0.3)
	tr.told(t)
}

// One fix far off, a hole in the record and time that goes back change nothing.
func TestFaults(t *testing.T) {
	t.Parallel()
	tr := newTractor(New(farm(t)), 100, 20)
	tr.work = "Mill Piece"
	tr.stand(3)
	tr.x = 9000
	tr.fix(0, 0)
	tr.x = 8000
	tr.fix(0, 0)
	tr.x = 100
	tr.stand(3)
	tr.now += 60
	tr.stand(3)
	tr.told(t, "in Mill Piece", "in none", "in Mill Piece") // two fixes far off are believed
	before := tr.l.State()
	for _, f := range []Fix{{}, {Time: begin}, {Time: begin.Add(time.Hour), LatDeg: math.NaN()}, {Time: begin.Add(time.Hour), LatDeg: 91}, {Time: begin.Add(time.Hour), LonDeg: math.Inf(1)}} {
		if got := tr.l.Step(f); got != before {
			t.Errorf("%+v: got %+v, want %+v", f, got, before)
		}
	}
	tr.l.Step(Fix{Time: begin.Add(time.Hour), LatDeg: 53.3, CourseDeg: math.NaN(), SpeedMPS: math.Inf(1), HalfBarM: math.NaN(), HasCourse: true, HasSpeed: true})
}

// With the fields replaced the machine stays where it was, by name.
func TestReplace(t *testing.T) {
	t.Parallel()
	tr := newTractor(New(farm(t)), 300, 20)
	tr.work = "Mill Piece"
	tr.stand(3)
	tr.told(t, "in Long Meadow", "offer Long Meadow inside")
	tr.l.Replace(newIndex(t, []Field{{"Nowhere", nil}, {"Long Meadow", coverage.Boundary{{rectangle(210, 0, 400, 300)}}}}))
	if s := tr.l.State(); !s.In || s.Field != 1 || !s.Offer.Inside || s.Offer.Field != 1 {
		t.Errorf("got %+v, want field 1 inside", s)
	}
	tr.stand(3)
	tr.told(t)
	tr.l.Replace(newIndex(t, nil))
	tr.stand(1)
	tr.told(t, "in none", "no offer")
}

func TestNewIndexRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range [][2]float64{{math.NaN(), 0}, {181, 0}, {0, 90}, {0, math.Inf(-1)}} {
		_, err := NewIndex([]Field{{"Mill Piece", coverage.Boundary{{{c}}}}})
		if err == nil || !strings.Contains(err.Error(), "outline of Mill Piece") {
			t.Errorf("%v: got %v, want a refusal that names the field", c, err)
		}
	}
}

// Across the 180th meridian.
func TestDateLine(t *testing.T) {
	t.Parallel()
	ring := [][2]float64{{179.999, -17}, {-179.999, -17}, {-179.999, -16.998}, {179.999, -16.998}}
	ix := newIndex(t, []Field{{"Far Reach", coverage.Boundary{{ring}}}})
	for _, c := range []struct {
		lon  float64
		want int
	}{{179.9995, 1}, {180, 1}, {-180, 1}, {-179.9995, 1}, {179.998, 0}, {-179.998, 0}, {0, 0}} {
		if got := ix.At(nil, -16.999, c.lon); len(got) != c.want {
			t.Errorf("longitude %g: got fields %v, want %d", c.lon, got, c.want)
		}
	}
	tr := newTractor(New(ix), -300, 110)
	tr.on = plane.New(-17, 180)
	tr.to(300, 110, 4)
	tr.told(t, "offer Far Reach", "in Far Reach", "offer Far Reach inside", "in none", "no offer")
}

func TestNoAllocation(t *testing.T) {
	if testkit.Race {
		t.Skip("the race detector allocates")
	}
	tr := newTractor(New(farm(t)), 20, 250)
	n := 0
	got := testing.AllocsPerRun(5000, func() {
		n++
		tr.now += 0.1
		tr.x = 20 + float64(n%6000)/10
		lat, lon := tr.on.Inverse(tr.x, tr.y)
		tr.l.Step(Fix{Time: begin.Add(time.Duration(n) * 100 * time.Millisecond), LatDeg: lat, LonDeg: lon, SpeedMPS: 1, CourseDeg: 90, HasSpeed: true, HasCourse: true, Work: "Mill Piece"})
	})
	if got > 0 {
		t.Errorf("got %g allocations a fix, want none", got)
	}
}

func ExampleLocator() {
	ring := [][2]float64{{0, 53.3}, {0.003, 53.3}, {0.003, 53.303}, {0, 53.303}, {0, 53.3}}
	ix, err := NewIndex([]Field{{Name: "Long Meadow", Boundary: coverage.Boundary{{ring}}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	l := New(ix)
	s := l.Step(Fix{Time: time.Unix(0, 0), LatDeg: 53.2997, LonDeg: 0.001, SpeedMPS: 3, CourseDeg: 0, HasSpeed: true, HasCourse: true, Work: "Mill Piece"})
	fmt.Printf("%s in %.0f s\n", s.Offer.Name, s.Offer.InS)
	// Output: Long Meadow in 11 s
}
