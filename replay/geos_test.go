package replay

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"slices"
	"testing"

	"drawbar/coverage"
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
	"drawbar/internal/sim"
	"drawbar/internal/testkit"
)

// unionScript adds up quads and outlines by GEOS (https://libgeos.org); its head
// says what it reads and writes.
const unionScript = "../coverage/ground/testdata/union.py"

// union is what it says.
type union struct {
	GrossM2   float64  `json:"gross_m2"`
	UnionM2   float64  `json:"union_m2"`
	Bad       []string `json:"bad"`        // of the outline's polygons
	OutlineM2 float64  `json:"outline_m2"` // their sum
	ApartM2   float64  `json:"apart_m2"`   // their union
}

func askGEOS(t *testing.T, quads []ground.Quad, outline [][]plane.Coord) (u union) {
	t.Helper()
	var numbers []int64
	add := func(corners []plane.Coord) {
		for _, c := range corners {
			numbers = append(numbers, c.X, c.Y)
		}
	}
	numbers = append(numbers, int64(len(quads)))
	for _, q := range quads {
		add(q[:])
	}
	numbers = append(numbers, int64(len(outline)))
	for _, ring := range outline {
		numbers = append(numbers, 1, int64(len(ring)))
		add(ring)
	}
	numbers = append(numbers, 0, 0) // no boundary; ground touched twice is not asked for
	var in, out, complaint bytes.Buffer
	if err := binary.Write(&in, binary.NativeEndian, numbers); err != nil {
		t.Fatal(err)
	}
	run := exec.Command(testkit.Python(t), unionScript)
	run.Stdin, run.Stdout, run.Stderr = &in, &out, &complaint
	if err := run.Run(); err != nil {
		t.Fatalf("run %s: %v\n%s", unionScript, err, complaint.String())
	}
	if err := json.Unmarshal(out.Bytes(), &u); err != nil {
		t.Fatalf("answer of %s: %v\n%s", unionScript, err, out.String())
	}
	return u
}

// single cuts a quad that was booked for sections next to each other into one
// quad a section, by their widths.
func single(q coverage.Quad, widthsM []float64) []ground.Quad {
	own := widthsM[q.From-1 : q.To]
	whole := 0.0
	for _, w := range own {
		whole += w
	}
	along := func(a, b plane.Coord, share float64) plane.Coord {
		return plane.Coord{
			X: a.X + int64(math.Round(float64(b.X-a.X)*share)),
			Y: a.Y + int64(math.Round(float64(b.Y-a.Y)*share)),
		}
	}
	var out []ground.Quad
	left, done := 0.0, 0.0
	for _, w := range own {
		done += w
		right := min(1, done/whole)
		c := q.Corners
		out = append(out, ground.Quad{along(c[0], c[1], left), along(c[0], c[1], right), along(c[3], c[2], right), along(c[3], c[2], left)})
		left = right
	}
	return out
}

// compareWithGEOS drives a scenario and has GEOS unite every booked quad, cut to
// single sections, and every swath.
func compareWithGEOS(t *testing.T, sc sim.Scenario) {
	t.Helper()
	var rings [][]plane.Coord
	swaths := 0
	_, s, quads := driveSwaths(t, sc, func(w coverage.Swath) {
		swaths++
		rings = append(rings, w.Rings...)
	})
	ops := s.Operations()
	if len(ops) != 1 || swaths == 0 {
		t.Fatalf("%d operations, %d swaths; want one operation with ground", len(ops), swaths)
	}
	var cut []ground.Quad
	for _, q := range quads {
		cut = append(cut, single(q, sc.Implement.SectionsM)...)
	}
	want := askGEOS(t, cut, rings)
	gross := ops[0].Gross.M2()
	check := func(what string, got, want, ppm float64) {
		t.Helper()
		if !(math.Abs(got-want) <= gross*ppm*1e-6) {
			t.Errorf("%s: got %.4f m2, GEOS %.4f: off by %.2f ppm of gross, want %g at most", what, got, want, (got-want)/gross*1e6, ppm)
		}
	}
	const ppm = 20
	check("gross", gross, want.GrossM2, ppm)
	check("covered", ops[0].Covered().M2(), want.UnionM2, ppm)
	check("overlap", ops[0].Overlap().M2(), want.GrossM2-want.UnionM2, ppm)
	check("sum of swaths", gross, want.OutlineM2, 1)
	if len(want.Bad) > 0 {
		t.Errorf("%d of %d swath rings are not valid, such as: %s", len(want.Bad), len(rings), want.Bad[0])
	} else {
		check("union of swaths", ops[0].Covered().M2(), want.ApartM2, ppm)
	}
	t.Logf("%d quads of single sections, %d swaths, gross %.1f m2; covered off by %.2f ppm, swaths' sum by %.3f ppm",
		len(cut), swaths, gross, (ops[0].Covered().M2()-want.UnionM2)/gross*1e6, (gross-want.OutlineM2)/gross*1e6)
}

// turned is the scenario with its field and its passes turned by the angle,
// counter-clockwise.
func turned(sc sim.Scenario, deg float64) sim.Scenario {
	sc.Field.TurnDeg += deg
	sc.Drive.HeadingDeg -= deg
	return sc
}

// split gives the scenario's bar n equal sections of the same width in all.
func split(sc sim.Scenario, n int) sim.Scenario {
	w := sc.Implement.WidthM() / float64(n)
	sc.Implement.SectionsM = slices.Repeat([]float64{w}, n)
	return sc
}

// Whole sessions, from the receiver's sentences to the totals, against GEOS:
// covered and overlap within 20 ppm of gross, every swath ring valid, and the
// swaths' areas adding up to gross.
func TestSessionsAgainstGEOS(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(72, 1))
	type job struct {
		name string
		sc   sim.Scenario
	}
	var jobs []job
	for i, sections := range []int{1, 4, 13, 72} {
		for k, deg := range []float64{0, 31, math.Round(rng.Float64()*3600) / 10} {
			width := []float64{3, 12, 24, 36}[i]
			jobs = append(jobs, job{fmt.Sprintf("passes/%d sections/%g degrees", sections, deg), turned(split(sim.ParallelPasses(3, 60, width, width*0.95), sections), deg)})
			if sections < 72 || k == 1 { // many quads: once will do
				jobs = append(jobs, job{fmt.Sprintf("pointed rows/%d sections/%g degrees", sections, deg), turned(sim.PointedRows(math.Pi/5, width, sections), deg)})
			}
		}
	}
	for _, sections := range []int{1, 8, 72} {
		jobs = append(jobs,
			job{fmt.Sprintf("circle/%d sections", sections), split(sim.Circle(30, 12), sections)},
			job{fmt.Sprintf("circle round the bar's own end/%d sections", sections), split(sim.Circle(8, 24), sections)})
	}
	for seed := range uint64(8) {
		jobs = append(jobs, job{fmt.Sprintf("random field/%d", seed), sim.RandomField(seed)})
	}
	jobs = append(jobs, job{"towed/4 sections", sim.Demo(1)}, job{"towed/4 sections/31 degrees", turned(sim.Demo(3), 31)}, job{"towed/72 sections", short(split(sim.Demo(2), 72))})
	for _, j := range jobs {
		t.Run(j.name, func(t *testing.T) {
			t.Parallel()
			compareWithGEOS(t, j.sc)
		})
	}
}

// short leaves a headland pass, one inside it and one tank at a steady rate.
func short(sc sim.Scenario) sim.Scenario {
	sc.Drive.HeadlandPasses, sc.Drive.Passes = 1, 1
	sc.Tanks = sc.Tanks[:1]
	sc.Tanks[0].RateNoise = 0
	return sc
}
