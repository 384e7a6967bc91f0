package replay

import (
	"testing"
	"time"

	"drawbar/coverage"
)

// gathered replays a capture, with what was corrected beside it, and takes the
// operation worked at a moment as a part of a Joint. This is what whoever joins
// recorded sessions does with each of them; the sessions can then be let go.
func gathered(t *testing.T, name string, setup Setup, capture string, at time.Time) (coverage.Part, OperationFigures) {
	t.Helper()
	var ground coverage.Gathering
	setup.Coverage.OnGround = ground.Add
	s, summary := run(t, setup, capture)
	var op *coverage.Operation
	for _, o := range s.Operations() {
		if o.Worked() && !at.Before(o.Start) && !at.After(o.End) {
			op = o
		}
	}
	if op == nil {
		t.Fatalf("%s: nothing was worked at %v", name, at)
	}
	return ground.Part(name, op), summary.Operations[op.Number-1]
}

// Two machines, two days, one field: a drill of 12 m sows 60 s at x = 0, and 60 s at
// x = 100 that a correction calls a test strip; the day after, one of 6 m sows 60 s at
// x = 8.5, its clock 3 s fast. By hand: 12 and 6 m by 150 m, of which 0.5 m by 150 m
// are worked by both, 20.16 and 5.04 kg.
func TestJoinSessions(t *testing.T) {
	t.Parallel()
	first := newTape()
	first.pass(0, 60, 0, on)
	for i := range 601 {
		s := 100 + float64(i)/10
		if i%2 == 0 {
			first.report(s, on(s))
		}
		first.fix(s, 100, 0.25*float64(i))
	}
	first.line(170, "operator", `{"from":"2026-05-14T13:06:40Z","to":"2026-05-14T13:08:00Z","operation":"test strip","why":"another variety"}`)
	a, figures := gathered(t, "000001-a", drill(), first.String(), begin.Add(30*time.Second))
	near(t, "first day: gross", figures.Area.GrossM2, 1800, 0.01)

	narrow := drill()
	narrow.Coverage.Implement = &coverage.Implement{Name: "6 m drill", Operation: "seeding", SectionsM: []float64{3, 3}}
	second := newTape()
	second.clock = func(float64) time.Duration { return 3 * time.Second }
	for i := range 601 {
		s := 86_400 + float64(i)/10
		if i%2 == 0 {
			second.report(s, "work=1 sections=11 tank.1.rate=56kg/ha tank.1.target=56kg/ha")
		}
		second.fix(s, 8.5, 0.25*float64(i))
	}
	b, figures := gathered(t, "000002-b", narrow, second.String(), begin.Add(86_430*time.Second))
	near(t, "second day: gross", figures.Area.GrossM2, 900, 0.01)

	j, err := coverage.Join([]coverage.Part{b, a}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Parts) != 2 || j.Parts[0].Session != "000001-a" || j.Field != "Mill Piece" || j.Name != "seeding" {
		t.Errorf("got %d parts, %s first, field %s, %s", len(j.Parts), j.Parts[0].Session, j.Field, j.Name)
	}
	near(t, "gross", j.Gross().M2(), 2700, 0.02)
	near(t, "overlap", j.Overlap().M2(), 75, 0.05)
	near(t, "between", j.Between.M2(), 75, 0.05)
	if len(j.Products) != 1 {
		t.Fatalf("got products %+v, want one", j.Products)
	}
	kg, _ := j.Products[0].Applied()
	near(t, "applied", kg, 25.2, 0.001)
	mean, _ := j.Products[0].MeanRatePerM2()
	near(t, "mean rate, kg/ha", mean*1e4, 25.2/0.27, 0.01)
	target, _ := j.Products[0].MeanTargetPerM2()
	near(t, "mean target, kg/ha", target*1e4, (110*0.18+56*0.09)/0.27, 0.01)

	// The test strip is another operation.
	strip, _ := gathered(t, "000001-a", drill(), first.String(), begin.Add(110*time.Second))
	if j, err = coverage.Join([]coverage.Part{a, strip}, nil); err != nil {
		t.Fatal(err)
	}
	near(t, "with the strip: gross", j.Gross().M2(), 3600, 0.02)
	near(t, "with the strip: overlap", j.Overlap().M2(), 0, 0.02)
}
