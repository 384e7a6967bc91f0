package coverage

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"drawbar/controller"
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
	"drawbar/internal/testkit"
)

// joiner drives sessions whose operations are to be joined: each has an engine of
// its own, so each has a plane of its own. The driver's plane is that of the truth.
type joiner struct {
	driver
	Gathering
	seconds float64
}

func newJoiner(s Setup, startS float64) *joiner {
	j := &joiner{seconds: startS}
	s.Limits, s.StaleS, s.OnGround = DefaultLimits(), 2, j.Add
	j.driver = driver{e: NewEngine(s), plane: plane.New(originLat, originLon)}
	return j
}

// pass works from one place to another, m on the truth's plane, at 2.5 m/s and ten
// fixes a second, after a hole in the record.
func (j *joiner) pass(x0, y0, x1, y1 float64, sections string, tanks ...controller.Reading) {
	j.seconds += 100
	n := int(math.Hypot(x1-x0, y1-y0) / 0.25)
	for i := range n + 1 {
		s := j.seconds + float64(i)/10
		r := controller.Report{Has: controller.HasSections | controller.HasWork, Work: true, Sections: controller.NewSections(len(sections)), Tanks: tanks}
		for k, c := range sections {
			r.Sections.Set(k, c == '1')
		}
		j.e.Report(at(s), r)
		f := float64(i) / float64(n)
		j.fix(s, x0+f*(x1-x0), y0+f*(y1-y0))
	}
	j.seconds += float64(n) / 10
}

// parts ends the session and hands out its operations.
func (j *joiner) parts(session string) []Part {
	j.e.Finish()
	var out []Part
	for _, op := range j.e.Operations() {
		out = append(out, j.Part(session, op))
	}
	return out
}

func mustJoin(t interface {
	Helper()
	Fatal(...any)
}, parts ...Part) *Joint {
	t.Helper()
	j, err := Join(parts, nil)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func sown(tank int, kgPerHa float64) controller.Reading {
	return controller.Reading{Tank: tank, Has: controller.HasRate, Rate: controller.Quantity{SI: kgPerHa / 1e4, Dim: controller.DimMassPerArea}}
}

var drill = Setup{Implement: rigid(3, 3, 3, 3)}

// An operation joined with nothing is itself, to the last digit.
func TestJointOfOne(t *testing.T) {
	t.Parallel()
	d := newJoiner(drill, 0)
	for k := range 5 {
		d.pass(float64(k)*11.4, 0, float64(k)*11.4+7, 150, "1111", sown(1, 100))
	}
	d.pass(0, 5, 60, 5, "1011", sown(1, 120))
	parts := d.parts("a")
	op := d.e.Operations()[0]
	j := mustJoin(t, parts...)
	if j.Gross() != op.Gross || j.Covered() != op.Covered() || j.Overlap() != op.Overlap() || j.Between != 0 {
		t.Errorf("got gross %v covered %v overlap %v between %v, want %v %v %v 0", j.Gross(), j.Covered(), j.Overlap(), j.Between, op.Gross, op.Covered(), op.Overlap())
	}
	got, _ := j.SkipM2()
	if want, ok := op.SkipM2(); !ok || got != want {
		t.Errorf("skips: got %v m2, want %v", got, want)
	}
	if len(j.Products) != 1 || j.Products[0].Gross != op.Products[0].Gross {
		t.Fatalf("products: got %+v", j.Products)
	}
	a, _ := j.Products[0].MeanRatePerM2()
	if b, _ := op.Products[0].MeanRatePerM2(); a != b {
		t.Errorf("mean rate: got %v, want %v", a, b)
	}
}

// Two sessions, each one pass of 12 m by 200 m, 11.4 m apart: by closed form
// 0.6 m by 200 m are worked by both. Neither has any overlap of its own.
func TestJointBetween(t *testing.T) {
	t.Parallel()
	a, b := newJoiner(drill, 0), newJoiner(drill, 86_400)
	a.pass(0, 0, 0, 200, "1111")
	b.pass(11.4, 200, 11.4, 0, "1111")
	j := mustJoin(t, append(b.parts("b"), a.parts("a")...)...)
	if lat, lon := j.Parts[1].plane.Origin(); j.Parts[0].Session != "a" || lat == originLat && lon == originLon {
		t.Errorf("parts: got %s first, the plane of the second at %v %v: want a, and a plane of its own", j.Parts[0].Session, lat, lon)
	}
	near(t, "gross", j.Gross().M2(), 4800, 4800*3e-6)
	near(t, "overlap", j.Overlap().M2(), 120, 4800*20e-6)
	near(t, "between", j.Between.M2(), 120, 4800*20e-6)
	near(t, "covered", j.Covered().M2(), 4680, 4800*20e-6)
	if got := j.End.Sub(j.Start); got < 24*time.Hour || got > 25*time.Hour {
		t.Errorf("from %v to %v", j.Start, j.End)
	}
	// The same operation twice: half of it is overlap.
	twice := mustJoin(t, j.Parts[0], j.Parts[0])
	near(t, "overlap of an operation with itself", twice.Overlap().M2(), twice.Gross().M2()/2, 4800*20e-6)
	if twice.Gross() != 2*j.Parts[0].Gross {
		t.Errorf("gross: got %v, want %v", twice.Gross(), 2*j.Parts[0].Gross)
	}
}

// Drawn sessions: a few straight passes each, somewhere in a field of 200 m.
func drawnSession(t *rapid.T, n int) []Part {
	bar := rapid.SampledFrom([][]float64{{3, 3}, {6}, {2, 2, 2, 2}}).Draw(t, "bar")
	d := newJoiner(Setup{Implement: rigid(bar...)}, float64(n)*86_400+rapid.Float64Range(0, 1e4).Draw(t, "start"))
	xy := rapid.Float64Range(0, 200)
	for range rapid.IntRange(1, 4).Draw(t, "passes") {
		x, y := xy.Draw(t, "x"), xy.Draw(t, "y")
		a, l := rapid.Float64Range(0, 2*math.Pi).Draw(t, "course"), rapid.Float64Range(3, 60).Draw(t, "length")
		d.pass(x, y, x+l*math.Sin(a), y+l*math.Cos(a), strings.Repeat("1", len(bar)), sown(rapid.IntRange(1, 2).Draw(t, "tank"), rapid.Float64Range(0, 300).Draw(t, "rate")))
	}
	return d.parts(string(rune('a' + n)))
}

// figures are all that a Joint says.
func figures(j *Joint) []float64 {
	skip, _ := j.SkipM2()
	out := []float64{float64(j.Gross()), float64(j.Covered()), float64(j.Overlap()), float64(j.Between), skip}
	for _, p := range j.Products {
		applied, _ := p.Applied()
		mean, _ := p.MeanRatePerM2()
		out = append(out, float64(p.Gross), applied, mean)
	}
	return out
}

func TestJointProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var parts []Part
		for n := range rapid.IntRange(1, 4).Draw(t, "sessions") {
			parts = append(parts, drawnSession(t, n)...)
		}
		if len(parts) == 0 || !slices.ContainsFunc(parts, func(p Part) bool { return len(p.laid.codes) > 0 }) {
			t.Skip("no ground")
		}
		j := mustJoin(t, parts...)
		if got, want := figures(mustJoin(t, rapid.Permutation(parts).Draw(t, "order")...)), figures(j); !slices.Equal(got, want) {
			t.Fatalf("in another order: got %v, want %v", got, want)
		}
		gross, most, sum := ground.Area(0), 0.0, 0.0
		for _, p := range j.Parts {
			gross += p.Gross
			most, sum = max(most, p.Covered().M2()), sum+p.Covered().M2()
		}
		if j.Gross() != gross || j.Gross() != j.Covered()+j.Overlap() {
			t.Fatalf("gross %v, covered %v, overlap %v: want %v, the sum of the parts and of both", j.Gross(), j.Covered(), j.Overlap(), gross)
		}
		// Corners and scanlines differ from plane to plane.
		tol := max(gross.M2()*1e-4, 0.05)
		if c := j.Covered().M2(); c < most-tol || c > sum+tol {
			t.Fatalf("covered %v m2: want between %v, the largest part, and %v, the sum", c, most, sum)
		}
		own := 0.0
		for _, p := range j.Parts {
			own += p.Overlap.M2()
		}
		if d := own + j.Between.M2() - j.Overlap().M2(); d < -1e-6 || d > tol {
			t.Fatalf("overlap %v m2: want %v within parts and %v between them", j.Overlap().M2(), own, j.Between.M2())
		}
		// Apart by 500 m they have nothing in common.
		if len(j.Parts) > 1 {
			return
		}
		away := newJoiner(drill, 9e6)
		away.pass(700, 0, 700, 80, "1111")
		both := mustJoin(t, append(away.parts("z"), j.Parts...)...)
		if want := j.Covered().M2() + both.Parts[1].Covered().M2(); math.Abs(both.Covered().M2()-want) > tol {
			t.Fatalf("covered apart: got %v m2, want %v", both.Covered().M2(), want)
		}
	})
}

// What is kept of the ground comes out as it went in.
func TestGatheringKeepsQuads(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Custom(func(t *rapid.T) plane.Coord {
			return plane.Coord{X: rapid.Int64Range(-1e9, 1e9).Draw(t, "x"), Y: rapid.Int64Range(-5, 5).Draw(t, "y")}
		})
		var want, got []ground.Quad
		var g Gathering
		ops := []*Operation{{Plane: plane.New(originLat, originLon)}, {}}
		for range rapid.IntRange(0, 80).Draw(t, "quads") {
			q := ground.Quad{at.Draw(t, "0"), at.Draw(t, "1"), at.Draw(t, "2"), at.Draw(t, "3")}
			if n := len(want); n > 0 && rapid.Bool().Draw(t, "goes on") {
				from := want[rapid.IntRange(max(0, n-20), n-1).Draw(t, "from")]
				q[0], q[1] = from[3], from[2]
			}
			want = append(want, q)
			g.Add(ops[0], q)
			if rapid.Bool().Draw(t, "another") {
				g.Add(ops[1], q)
			}
		}
		p := g.Part("a", ops[0])
		p.laid.quads(func(c plane.Coord) plane.Coord { return c }, func(q ground.Quad) { got = append(got, q) })
		if !slices.Equal(got, want) || p.laid.lost != 0 {
			t.Fatalf("got %d quads %v, lost %d; want %d %v", len(got), got, p.laid.lost, len(want), want)
		}
	})
}

// Two machines on two days, on planes of their own, noise of the course by the
// angles: the union as GEOS (https://libgeos.org) makes it of the same quads, within
// what coverage/ground promises: 4 ppm of gross for covered ground, 8 for overlap.
func TestJointAgainstGEOS(t *testing.T) {
	t.Parallel()
	a, b := newJoiner(drill, 0), newJoiner(Setup{Implement: rigid(slices.Repeat([]float64{2}, 9)...)}, 86_400)
	for k := range 6 {
		x := float64(k) * 11.7
		a.pass(x, 0, x+40, 180, []string{"1111", "1101"}[k%2])
	}
	for k := range 4 {
		x := 65 + float64(k)*17.8
		b.pass(x+40, 180, x, 0, "111111111")
		b.pass(-10, 30*float64(k), 150, 30*float64(k)+9, "110111011")
	}
	j := mustJoin(t, append(b.parts("b"), a.parts("a")...)...)
	// To the truth's plane, which is neither's.
	var quads []ground.Quad
	truth := plane.New(originLat, originLon)
	for _, p := range j.Parts {
		p.laid.quads(func(c plane.Coord) plane.Coord { out, _ := truth.ForwardCoord(p.plane.InverseCoord(c)); return out },
			func(q ground.Quad) { quads = append(quads, q) })
	}
	grossM2, unionM2 := geosUnion(t, quads)
	ppm := func(got, want float64) float64 { return (got - want) / grossM2 * 1e6 }
	gross, covered, overlap := ppm(j.Gross().M2(), grossM2), ppm(j.Covered().M2(), unionM2), ppm(j.Overlap().M2(), grossM2-unionM2)
	t.Logf("%d quads, %.0f m2: gross %+.2f, covered %+.2f, overlap %+.2f ppm off GEOS", len(quads), grossM2, gross, covered, overlap)
	if math.Abs(gross) > 1 || math.Abs(covered) > 4 || math.Abs(overlap) > 8 {
		t.Errorf("off GEOS by more than 1, 4 and 8 ppm of gross")
	}
	if overlap := grossM2 - unionM2; overlap < 0.05*grossM2 || j.Between.M2() < 0.02*grossM2 {
		t.Errorf("overlap %.1f m2, %.1f between: the sessions do not cross", overlap, j.Between.M2())
	}
}

// geosUnion asks the script of coverage/ground.
func geosUnion(t *testing.T, quads []ground.Quad) (grossM2, unionM2 float64) {
	t.Helper()
	numbers := []int64{int64(len(quads))}
	for _, q := range quads {
		for _, c := range q {
			numbers = append(numbers, c.X, c.Y)
		}
	}
	numbers = append(numbers, 0, 0, 0)
	var in bytes.Buffer
	if err := binary.Write(&in, binary.NativeEndian, numbers); err != nil {
		t.Fatal(err)
	}
	run := exec.Command(testkit.Python(t), "ground/testdata/union.py")
	run.Stdin = &in
	out, err := run.Output()
	if err != nil {
		t.Fatal(err)
	}
	var u struct {
		GrossM2 float64 `json:"gross_m2"`
		UnionM2 float64 `json:"union_m2"`
	}
	if err := json.Unmarshal(out, &u); err != nil {
		t.Fatal(err)
	}
	return u.GrossM2, u.UnionM2
}

// mill is a field of 130 m by 160 m.
func mill(d *driver) Boundary {
	var ring [][2]float64
	for _, p := range [][2]float64{{-6, 0}, {124, 0}, {124, 160}, {-6, 160}, {-6, 0}} {
		lat, lon := d.plane.Inverse(p[0], p[1])
		ring = append(ring, [2]float64{lon, lat})
	}
	return Boundary{{ring}}
}

// fourPasses leaves two strips of 1.5 m, one within the work of each half, one
// between them, and ends short of the field's far side.
func fourPasses(half int, d *joiner) {
	for _, x := range [][]float64{{0, 13.5}, {27, 40.5}}[half] {
		d.pass(x, -2, x, 150, "1111")
	}
}

// Skips of a Joint are those of one session that did all the work: the same to the
// last digit on the same plane, as after an operation that was split; within 1 % of
// the skips and 0.005 % of the field (D-009) where each session has its own.
func TestJointSkips(t *testing.T) {
	t.Parallel()
	setup := drill
	setup.Boundary, setup.Field = mill(&driver{plane: plane.New(originLat, originLon)}), "Mill Piece"
	one := newJoiner(setup, 0)
	fourPasses(0, one)
	fourPasses(1, one)
	whole := mustJoin(t, one.parts("one")...)

	split := newJoiner(setup, 0)
	fourPasses(0, split)
	again := "seeding"
	split.e.Say(Statement{At: at(split.seconds + 50), Operation: &again})
	fourPasses(1, split)
	parts := split.parts("split")
	if len(parts) != 2 {
		t.Fatalf("got %d operations, want 2", len(parts))
	}
	joined := mustJoin(t, parts...)
	if got, want := figures(joined)[:3], figures(whole)[:3]; !slices.Equal(got, want) {
		t.Errorf("split and joined: got %v, want %v", got, want)
	}
	areas := func(j *Joint) (skip, left, field, outside float64) {
		skip, _ = j.SkipM2()
		left, _ = j.RemainingM2()
		field, _ = j.FieldAreaM2()
		outside, _ = j.OutsideM2()
		return skip, left, field, outside
	}
	skip, left, field, outside := areas(whole)
	if s, l, f, o := areas(joined); s != skip || l != left || f != field || o != outside {
		t.Errorf("split and joined: got skip %v left %v field %v outside %v, want %v %v %v %v", s, l, f, o, skip, left, field, outside)
	}

	a, b := newJoiner(setup, 0), newJoiner(setup, 86_400)
	fourPasses(0, a)
	fourPasses(1, b)
	apart := mustJoin(t, append(a.parts("a"), b.parts("b")...)...)
	s, l, f, o := areas(apart)
	near(t, "skips of two sessions", s, skip, 0.01*skip)
	near(t, "left of two sessions", l, left, 5e-5*field)
	near(t, "field of two sessions", f, field, 1e-6*field)
	near(t, "outside of two sessions", o, outside, 1e-5*field)
	// By hand: three strips of 1.5 m, 150 m long inside the field, less what is
	// open at the far end; four passes stick out by 12 m times 2 m each.
	near(t, "skips by hand", s, 3*1.5*150, 15)
	near(t, "outside by hand", o, 4*12*2, 0.2)
	near(t, "field by hand", f, 130*160, 0.1)
	if skips := apart.Skips(); len(skips) != 3 || skips[0].State != SkipOpen {
		t.Errorf("got %d skips: %+v", len(skips), skips)
	}
}

// The same product from two tanks on the same ground: each lays 60 and 40 kg/ha on
// 12 m by 100 m, together 100 on 0.12 ha. Another session lays it from one tank at
// 50 on 12 m by 50 m: 15 kg on 0.18 ha in all.
func TestJointProducts(t *testing.T) {
	t.Parallel()
	oats := Product{Name: "Spring oats", Kind: KindSeed}
	setup := drill
	setup.Tanks = []Tank{{Number: 1, Product: oats}, {Number: 2, Product: oats}, {Number: 3, Product: Product{Name: "Starter 18-46", Kind: KindGranular}}}
	a, b := newJoiner(setup, 0), newJoiner(setup, 86_400)
	a.pass(0, 0, 0, 100, "1111", sown(1, 60), sown(2, 40), sown(3, 0))
	b.pass(20, 0, 20, 50, "1111", sown(1, 0), sown(2, 50), sown(3, 200))
	j := mustJoin(t, append(a.parts("a"), b.parts("b")...)...)
	if len(j.Products) != 2 || j.Products[0].Name != "Spring oats" || !slices.Equal(j.Products[0].Tanks, []int{1, 2}) || j.Products[1].Name != "Starter 18-46" {
		t.Fatalf("got products %+v", j.Products)
	}
	check := func(p *ProductSum, areaM2, kg, perHa float64) {
		t.Helper()
		near(t, p.Name+": area", p.Gross.M2(), areaM2, areaM2*1e-5)
		got, ok := p.Applied()
		near(t, p.Name+": applied", got, kg, kg*1e-5)
		mean, known := p.MeanRatePerM2()
		near(t, p.Name+": mean", mean*1e4, perHa, perHa*1e-5)
		if _, target := p.MeanTargetPerM2(); !ok || !known || target {
			t.Errorf("%s: applied known %v, mean known %v, target known %v; want true, true, false", p.Name, ok, known, target)
		}
	}
	check(&j.Products[0], 1800, 15, 15/0.18)
	check(&j.Products[1], 600, 12, 200)
	if metered, ok := j.Products[0].Metered(); !ok || math.Abs(metered-15) > 1e-3 {
		t.Errorf("metered: got %v, %v; want 15", metered, ok)
	}
}

func TestJoinRefuses(t *testing.T) {
	t.Parallel()
	worked := func(field string, x float64) []Part {
		s := drill
		s.Field = field
		d := newJoiner(s, x)
		d.pass(x, 0, x, 20, "1111")
		return d.parts(field)
	}
	idle := newJoiner(drill, 0)
	idle.pass(0, 0, 0, 20, "0000")
	for _, c := range []struct {
		name  string
		parts []Part
		want  string
	}{
		{"none", nil, "nothing to join"},
		{"no ground", idle.parts("a"), "nothing to join"},
		{"two fields", append(worked("Mill Piece", 0), worked("Far Reach", 50)...), "operations of different fields (Mill Piece, Far Reach)"},
		{"150 km apart", append(worked("", 0), worked("Mill Piece", 150_000)...), "lies too far from the first one"},
	} {
		if j, err := Join(c.parts, nil); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, %v; want an error with %q", c.name, j, err, c.want)
		}
	}
	if j, err := Join(append(worked("Mill Piece", 0), worked("", 50)...), nil); err != nil || j.Field != "Mill Piece" {
		t.Errorf("one without a name: got %v, %v", j, err)
	}
}
