package ground

import (
	"math"
	"testing"

	"drawbar/coverage/plane"
)

// offScanlines is the angle in degrees, 0 to 90, between a direction and the
// scanlines.
func (s *Set) offScanlines(dirDeg float64) float64 {
	scan := math.Atan2(float64(s.frame.sin), float64(s.frame.cos)) * 180 / math.Pi
	off := math.Mod(math.Abs(dirDeg-scan), 180)
	return math.Min(off, 180-off)
}

// TestScanlineAngle measures how far overlap is off by the angle between the
// passes and the scanlines (go test -v prints the table), against the closed
// form (n-1) (w-s) l. It holds the reason for turning the frame: below 2 degrees
// the error may be any, from 6 degrees on, of passes and of bars, it is below
// 20 ppm of gross. 45 degrees is as good as any.
func TestScanlineAngle(t *testing.T) {
	t.Parallel()
	const w, l, n = 12.0, 100.0, 6
	worst := map[float64]float64{}
	angles := []float64{0, 0.1, 0.3, 1, 2, 3, 4, 6, 8, 12, 20, 30, 45, 60, 70, 78, 82, 84, 86, 88, 89, 89.7, 90}
	for _, spacing := range []float64{11.432, 11.981, 11.77, 9.013, 11.94, 11.25} {
		for _, angle := range angles {
			s := fixed(23 + 90 - angle)
			for i := range n {
				pass(s, float64(i)*spacing, -w/2, w/2, 0, l)
			}
			off := ppm((s.Gross() - s.Covered()).M2(), (n-1)*(w-spacing)*l, n*w*l)
			worst[angle] = math.Max(worst[angle], math.Abs(off))
		}
	}
	for _, angle := range angles {
		t.Logf("passes %4.1f degrees off the scanlines: overlap off by up to %8.2f ppm of gross", angle, worst[angle])
		if angle >= 6 && angle <= 84 && worst[angle] > 20 {
			t.Errorf("%g degrees: overlap off by %.2f ppm of gross, limit 20", angle, worst[angle])
		}
	}
	if worst[0] < 100 {
		t.Errorf("0 degrees: overlap off by only %.2f ppm: nothing would need turning", worst[0])
	}
}

func TestFirstFrame(t *testing.T) {
	t.Parallel()
	for dir := 0.0; dir < 360; dir += 7.3 {
		sin, cos := math.Sincos(dir * math.Pi / 180)
		turned := func(x, y float64) plane.Coord { return at(x*cos-y*sin, x*sin+y*cos) }
		// Along the x axis, then turned.
		sweep := Quad{turned(0, 6), turned(0, -6), turned(0.3, -6), turned(0.3, 6)}
		standing := Quad{turned(0, 6), turned(0, -6), turned(0, -6), turned(0, 6)}
		for what, q := range map[string]Quad{"sweep": sweep, "standing": standing} {
			s := add([]Quad{q})
			if off := s.offScanlines(dir); off < 70 || off > 82 {
				t.Errorf("%s along %g degrees: scanlines %g degrees off, want about 78", what, dir, off)
			}
			if c, sn := float64(s.frame.cos), float64(s.frame.sin); math.Abs(math.Hypot(c, sn)/(1<<fixedBits)-1) > 2e-9 {
				t.Errorf("frame %+v is not a rotation", s.frame)
			}
		}
	}
	if s := add([]Quad{{}}); s.Covered() != 0 || s.frame.cos == 0 && s.frame.sin == 0 {
		t.Errorf("a quad that is one point: frame %+v covered %d", s.frame, s.Covered())
	}
}

func TestFrameRoundTrip(t *testing.T) {
	t.Parallel()
	c := newCompass()
	for i := range sectors {
		f := c.frame(plane.Coord{X: 12_345, Y: -67_890}, i)
		for _, p := range []plane.Coord{at(0, 0), at(5000.1234, -3000.5), at(-90_000, 80_000)} {
			back := f.plane(f.scan(p))
			if d := math.Hypot(float64(back.X-p.X), float64(back.Y-p.Y)); d > 3 {
				t.Errorf("sector %d: %v comes back as %v", i, p, back)
			}
		}
	}
}

// Work that begins in one direction and goes on along the first scanlines must
// turn the frame, and the areas must then be as good as ever.
func TestSurveyTurnsTheFrame(t *testing.T) {
	t.Parallel()
	const w, l, spacing = 12.0, 100.0, 11.432
	for _, first := range []int{40, 300, 1500} { // quads of the first direction
		s := New()
		dir := 23.0 + 90 // of the passes
		// Begin so that the scanlines would lie along the passes.
		sin, cos := math.Sincos((dir - 78) * math.Pi / 180)
		for i := range first {
			turned := func(x, y float64) plane.Coord { return at(5000+x*cos-y*sin, x*sin+y*cos) }
			x := float64(i) * 0.25
			s.Add(Quad{turned(x, w/2), turned(x, -w/2), turned(x+0.25, -w/2), turned(x+0.25, w/2)})
		}
		if off := s.offScanlines(dir); off > 6 {
			t.Fatalf("the scanlines are %g degrees off the passes to come, want them along", off)
		}
		covered, gross := s.Covered(), s.Gross()
		n := 0
		for ; !s.survey.done; n++ {
			pass(s, float64(n)*spacing, -w/2, w/2, 0, l)
		}
		if off := s.offScanlines(dir); off < 10 {
			t.Errorf("%d quads first: the scanlines stay %g degrees off the passes", first, off)
		}
		overlap := (s.Gross() - gross - s.Covered() + covered).M2()
		if off := ppm(overlap, float64(n-1)*(w-spacing)*l, s.Gross().M2()); math.Abs(off) > 20 {
			t.Errorf("%d quads first: overlap off by %.2f ppm of gross", first, off)
		}
		if cap(s.survey.log) != 0 {
			t.Errorf("the log of %d quads is still held", cap(s.survey.log))
		}
	}
}

// Work in two directions at a right angle, as with a headland, needs no turning:
// neither lies near the scanlines.
func TestSurveyLeavesAGoodFrame(t *testing.T) {
	t.Parallel()
	s := New()
	d := field(4)
	d.headland = true
	var first frame
	for i, q := range d.quads() {
		s.Add(q)
		if i == 0 {
			first = s.frame
		}
	}
	if s.frame != first {
		t.Errorf("the frame was turned from %+v to %+v", first, s.frame)
	}
	for _, dir := range []float64{d.angleDeg, d.angleDeg + 90} {
		if off := s.offScanlines(dir); off < 6 {
			t.Errorf("scanlines %g degrees off the work", off)
		}
	}
}
