package ground

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"drawbar/coverage/plane"
)

func TestEmptySet(t *testing.T) {
	t.Parallel()
	for name, s := range map[string]*Set{"New": New(), "zero value": {}} {
		if s.Covered() != 0 || s.Gross() != 0 || s.Outline(1) != nil || s.Within([][]plane.Coord{{{}, {X: 9}, {Y: 9}}}) != 0 {
			t.Errorf("%s: an empty set has ground", name)
		}
		if _, _, ok := s.Bounds(); ok {
			t.Errorf("%s: an empty set has bounds", name)
		}
		s.Add(Quad{at(0, 0), at(10, 0), at(10, 10), at(0, 10)})
		near1e6(t, name, s.Covered().M2(), 100, 10_000)
		s.Clone().Add(Quad{at(0, 0), at(10, 0), at(10, 10), at(0, 10)})
	}
}

func TestBounds(t *testing.T) {
	t.Parallel()
	s := add([]Quad{{at(5, 5), at(9, 5), at(9, 6), at(5, 6)}, {at(-3, 7), at(-2, 7), at(-2, 8), at(-3, 8)}})
	lo, hi, ok := s.Bounds()
	if !ok || lo != at(-3, 5) || hi != at(9, 8) {
		t.Errorf("bounds %v %v %v, want %v %v", lo, hi, ok, at(-3, 5), at(9, 8))
	}
}

// fixed is an empty set whose scanlines lie at a fixed angle and stay there.
func fixed(angleDeg float64) *Set {
	s := New()
	sin, cos := math.Sincos(angleDeg * math.Pi / 180)
	s.fix(newFrame(plane.Coord{X: 17, Y: -4}, cos, sin))
	return s
}

// fix makes an empty set use a frame and keep it.
func (s *Set) fix(f frame) {
	s.frame, s.started, s.survey.done = f, true, true
}

// For a fixed frame the order of the quads changes nothing at all, nor does it
// which end they are listed from.
func TestOrderDoesNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		quads := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Quad { return drawQuad(t, "quad") }), 1, 12).Draw(t, "quads")
		angle := rapid.Float64Range(0, 360).Draw(t, "angle")
		one, two := fixed(angle), fixed(angle)
		for _, q := range quads {
			one.Add(q)
		}
		for _, q := range rapid.Permutation(quads).Draw(t, "order") {
			k := rapid.IntRange(0, 3).Draw(t, "start")
			q = Quad{q[k], q[(k+1)%4], q[(k+2)%4], q[(k+3)%4]}
			if rapid.Bool().Draw(t, "backwards") {
				q[1], q[3] = q[3], q[1]
			}
			two.Add(q)
		}
		if one.Covered() != two.Covered() || one.Gross() != two.Gross() {
			t.Fatalf("covered %d gross %d, in another order %d %d", one.Covered(), one.Gross(), two.Covered(), two.Gross())
		}
		for times := 1; times <= 2; times++ {
			if diff := cmp.Diff(one.Outline(times), two.Outline(times)); diff != "" {
				t.Fatalf("outline %d in another order (-first +second):\n%s", times, diff)
			}
		}
	})
}

// Covered never exceeds gross nor the sum over pieces, adding again adds only
// overlap, and what Add returns adds up.
func TestSums(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		quads := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Quad { return drawQuad(t, "quad") }), 1, 12).Draw(t, "quads")
		s := New()
		var newA, again Area
		for _, q := range quads {
			n, a := s.Add(q)
			if n < 0 || a < 0 {
				t.Fatalf("%v: new %d again %d", q, n, a)
			}
			newA, again = newA+n, again+a
		}
		covered, gross := s.Covered(), s.Gross()
		if newA != covered || newA+again != gross || covered > gross {
			t.Fatalf("new %d again %d; covered %d gross %d", newA, again, covered, gross)
		}
		for _, q := range quads {
			if n, _ := s.Add(q); n != 0 {
				t.Fatalf("%v: %d new though it was added before", q, n)
			}
		}
		if s.Covered() != covered || s.Gross() != 2*gross {
			t.Fatalf("added twice: covered %d, want %d; gross %d, want %d", s.Covered(), covered, s.Gross(), 2*gross)
		}
	})
}

// drawSweep draws a quad as a bar makes it that goes forward with both its ends.
func drawSweep(t *rapid.T) Quad {
	x, y := rapid.Float64Range(-50, 50).Draw(t, "x"), rapid.Float64Range(-50, 50).Draw(t, "y")
	heading := rapid.Float64Range(0, 2*math.Pi).Draw(t, "heading")
	half := rapid.Float64Range(0.1, 20).Draw(t, "half width")
	forward := rapid.Float64Range(0.05, 8).Draw(t, "forward")
	turn := rapid.Float64Range(-0.9, 0.9).Draw(t, "turn") * min(0.8, forward/half)
	end := func(across, along, h float64) plane.Coord {
		sin, cos := math.Sincos(heading)
		ax, ay := across*math.Cos(h), across*math.Sin(h)+along
		return at(x+ax*cos-ay*sin, y+ax*sin+ay*cos)
	}
	return Quad{end(-half, 0, 0), end(half, 0, 0), end(half, forward, turn), end(-half, forward, turn)}
}

// Splitting a quad between its two moments moves its two long sides by the
// rounding of the corners, at most 1.5 steps (0.15 mm), and their crossings by a
// step more: on each scanline crossed by 1 + 1.5 / sin(angle to the scanlines)
// steps. A side that rises less than 2 mm may lose or gain a scanline.
func TestSplittingChangesRoundingOnly(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		q := drawSweep(t)
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		between := func(a, b plane.Coord) plane.Coord {
			return plane.Coord{X: a.X + int64(math.Round(float64(b.X-a.X)*share)), Y: a.Y + int64(math.Round(float64(b.Y-a.Y)*share))}
		}
		left, right := between(q[0], q[3]), between(q[1], q[2])
		angle := rapid.Float64Range(0, 360).Draw(t, "angle")
		whole, parts := fixed(angle), fixed(angle)
		whole.Add(q)
		parts.Add(Quad{q[0], q[1], right, left})
		parts.Add(Quad{left, right, q[2], q[3]})
		bound := 0.0
		for _, side := range [][2]plane.Coord{{q[0], q[3]}, {q[1], q[2]}} {
			a, b := whole.frame.scan(side[0]), whole.frame.scan(side[1])
			dx, dy := math.Abs(float64(b.x-a.x)), math.Abs(float64(b.y-a.y))
			if dy < 20 {
				bound += rowHeight * (dx + 20)
				continue
			}
			bound += (dy + 2*rowHeight) * (1 + 1.5*math.Hypot(dx, dy)/(dy-2))
		}
		for what, d := range map[string]Area{"covered": parts.Covered() - whole.Covered(), "gross": parts.Gross() - whole.Gross()} {
			if math.Abs(d.M2()) > bound/1e8 {
				t.Fatalf("%v split at %.3f: %s changes by %.6f m2, bound %.6f", q, share, what, d.M2(), bound/1e8)
			}
		}
	})
}

// On a field: every quad split in two changes covered and gross by less than 1
// ppm.
func TestSplittingAField(t *testing.T) {
	t.Parallel()
	d := randomDrive(4)
	d.curveM = 5
	quads := d.quads()
	var parts []Quad
	for _, q := range quads {
		mid := func(a, b plane.Coord) plane.Coord { return plane.Coord{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2} }
		left, right := mid(q[0], q[3]), mid(q[1], q[2])
		parts = append(parts, Quad{q[0], q[1], right, left}, Quad{left, right, q[2], q[3]})
	}
	whole, split := New(), New()
	f := firstFrame(quads[0])
	whole.fix(f)
	split.fix(f)
	for _, q := range quads {
		whole.Add(q)
	}
	for _, q := range parts {
		split.Add(q)
	}
	gross := whole.Gross().M2()
	if off := ppm(split.Covered().M2(), whole.Covered().M2(), gross); math.Abs(off) > 1 {
		t.Errorf("covered changed by %.2f ppm", off)
	}
	if off := ppm(split.Gross().M2(), gross, gross); math.Abs(off) > 1 {
		t.Errorf("gross changed by %.2f ppm", off)
	}
}

// Moving and turning a whole field changes its areas by less than 20 ppm of
// gross.
func TestRigidMotion(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		d := randomDrive(seed)
		d.merged = true
		home := d.quads()
		base := add(home)
		gross := base.Gross().M2()
		rng := rand.New(rand.NewPCG(seed, 9))
		for range 6 {
			sin, cos := math.Sincos(rng.Float64() * 2 * math.Pi)
			dx, dy := rng.Float64()*2e8-1e8, rng.Float64()*2e8-1e8
			moved := slices.Clone(home)
			for i := range moved {
				for k, c := range moved[i] {
					moved[i][k] = plane.Coord{
						X: int64(math.Round(float64(c.X)*cos - float64(c.Y)*sin + dx)),
						Y: int64(math.Round(float64(c.X)*sin + float64(c.Y)*cos + dy)),
					}
				}
			}
			s := add(moved)
			if off := ppm(s.Covered().M2(), base.Covered().M2(), gross); math.Abs(off) > 20 {
				t.Errorf("seed %d: covered changed by %.2f ppm", seed, off)
			}
			if off := ppm(s.Gross().M2(), gross, gross); math.Abs(off) > 20 {
				t.Errorf("seed %d: gross changed by %.2f ppm", seed, off)
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	small := func(x, y int64) Quad {
		return Quad{{X: x, Y: y}, {X: x + 50_000, Y: y}, {X: x + 50_000, Y: y + 50_000}, {X: x, Y: y + 50_000}}
	}
	const top = math.MaxInt64
	s := New()
	refused := 0
	for _, tt := range []struct {
		q    Quad
		want bool
	}{
		{Quad{{X: 0}, {X: maxExtent + 1}, {X: 9, Y: 9}, {}}, false}, // before there is an origin
		{small(0, 0), true},
		{small(maxReach-50_000, -maxReach), true},
		{small(maxReach+1, 0), false},
		{small(0, -maxReach-50_001), false},
		{small(top-50_000, 0), false},
		{small(-top, -top), false},
		{Quad{{X: -top, Y: top}, {X: top, Y: -top}, {X: -top, Y: -top}, {X: top, Y: top}}, false},
		{small(20_000, 20_000), true},
	} {
		covered, gross := s.Covered(), s.Gross()
		n, a := s.Add(tt.q)
		if !tt.want {
			refused++
		}
		if s.Refused() != refused {
			t.Fatalf("%v: %d refused, want %d", tt.q, s.Refused(), refused)
		}
		if !tt.want && (n != 0 || a != 0 || s.Covered() != covered || s.Gross() != gross) {
			t.Errorf("%v was refused and still counts", tt.q)
		}
		if tt.want && n+a == 0 {
			t.Errorf("%v was not counted", tt.q)
		}
	}
	// Two pieces 140 km apart: the ground between costs next to nothing.
	if s.Bytes() > 400_000 {
		t.Errorf("%d bytes for two small pieces", s.Bytes())
	}
}

// A clone and its origin go separate ways, at any time.
func TestClone(t *testing.T) {
	t.Parallel()
	quads := randomDrive(3).quads()
	third := len(quads) / 3
	whole, first := add(quads), add(quads[:third])
	frozen := first.Clone()
	for _, q := range quads[third:] {
		first.Add(q)
	}
	if diff := cmp.Diff(first.Outline(1), whole.Outline(1)); diff != "" || first.Covered() != whole.Covered() || first.Gross() != whole.Gross() {
		t.Errorf("the origin went wrong after a clone: %s", diff)
	}
	second := frozen.Clone()
	for _, q := range quads[third:] {
		second.Add(q)
	}
	if diff := cmp.Diff(second.Outline(2), whole.Outline(2)); diff != "" || second.Covered() != whole.Covered() || second.Gross() != whole.Gross() {
		t.Errorf("the clone went wrong: %s", diff)
	}
	before := add(quads[:third])
	if diff := cmp.Diff(frozen.Outline(1), before.Outline(1)); diff != "" || frozen.Covered() != before.Covered() {
		t.Errorf("a clone changed although nothing was added to it: %s", diff)
	}
}

// A clone may be read while its origin goes on: run with -race.
func TestCloneIsReadElsewhere(t *testing.T) {
	t.Parallel()
	quads := randomDrive(5).quads()
	s := add(quads[:len(quads)/2])
	snapshot := s.Clone()
	done := make(chan int)
	go func() { done <- countCorners(snapshot.Outline(1)) }()
	for _, q := range quads[len(quads)/2:] {
		s.Add(q)
	}
	if n := <-done; n == 0 {
		t.Error("the clone has no outline")
	}
}

// Once its rows are there, Add asks for no memory.
func TestAddAllocatesNothing(t *testing.T) {
	d := field(1)
	d.noiseM = 0
	quads := d.quads()
	s := New()
	for !s.survey.done {
		for _, q := range quads {
			s.Add(q)
		}
	}
	for range 2 {
		for _, q := range quads {
			s.Add(q)
		}
	}
	i := 0
	if n := testing.AllocsPerRun(2*len(quads), func() {
		s.Add(quads[i%len(quads)])
		i++
	}); n != 0 {
		t.Errorf("%g allocations a quad, want none", n)
	}
}

// 1,000 ha of 18 m passes that overlap by 5 %, with steering noise, stay within
// 40 MB.
func TestMemoryOfALargeField(t *testing.T) {
	if testing.Short() {
		t.Skip("2.3 million quads")
	}
	t.Parallel()
	s := New()
	field(1000).each(func(step []Quad) {
		for _, q := range step {
			s.Add(q)
		}
	})
	if got := s.Covered().M2(); got < 9.9e6 {
		t.Fatalf("covered %.0f m2 of 1,000 ha", got)
	}
	if got := s.Bytes(); got > 40e6 {
		t.Errorf("%d bytes, want at most 40 million", got)
	}
}
