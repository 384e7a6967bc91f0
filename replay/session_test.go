package replay

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/coverage/plane"
)

var begin = time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)

// tape writes capture text for a machine that drives north at 2.5 m/s, 10 fixes
// and 5 reports a second.
type tape struct {
	bytes.Buffer
	clock func(s float64) time.Duration // session's clock minus receiver time
	plane *plane.Plane
}

func newTape() *tape {
	return &tape{clock: func(float64) time.Duration { return 0 }, plane: plane.New(53.3, 0.01)}
}

func checked(body string) string {
	sum := byte(0)
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("%s*%02X", body, sum)
}

func (t *tape) line(s float64, stream, line string) {
	at := begin.Add(time.Duration(math.Round(s*1e9)) + t.clock(s))
	fmt.Fprintf(t, "%s %s %s\n", at.Format("2006-01-02T15:04:05.000000000Z"), stream, line)
}

// fix writes the GGA and RMC of the epoch at s seconds, x metres east and y
// north of the origin, arriving 40 ms after the epoch.
func (t *tape) fix(s, x, y float64) {
	lat, lon := t.plane.Inverse(x, y)
	utc := begin.Add(time.Duration(math.Round(s * 1e9)))
	at, day := utc.Format("150405.00"), utc.Format("020106")
	ns, ew := "N", "E"
	if lon < 0 {
		ew, lon = "W", -lon
	}
	la := fmt.Sprintf("%02d%011.8f", int(lat), (lat-math.Floor(lat))*60)
	lo := fmt.Sprintf("%03d%011.8f", int(lon), (lon-math.Floor(lon))*60)
	t.line(s, "gnss", "$"+checked(fmt.Sprintf("GPGGA,%s,%s,%s,%s,%s,4,12,0.7,80.0,M,47.0,M,1.0,0001", at, la, ns, lo, ew)))
	t.line(s+0.01, "gnss", "$"+checked(fmt.Sprintf("GPRMC,%s,A,%s,%s,%s,%s,4.86,0.0,%s,,,R", at, la, ns, lo, ew, day)))
}

func (t *tape) report(s float64, line string) { t.line(s, "controller", checked(line)) }

// pass drives from fromS to toS seconds.
func (t *tape) pass(fromS, toS, x float64, report func(s float64) string) {
	for i := int(math.Round(fromS * 10)); i <= int(math.Round(toS*10)); i++ {
		s := float64(i) / 10
		if i%2 == 0 {
			t.report(s, report(s))
		}
		t.fix(s, x, 2.5*s)
	}
}

func on(float64) string { return "work=1 sections=1111 tank.1.rate=112kg/ha tank.1.target=110kg/ha" }

func drill() Setup {
	return Setup{Coverage: coverage.Setup{
		Implement: &coverage.Implement{Name: "12 m drill", Operation: "seeding", SectionsM: []float64{3, 3, 3, 3}},
		Tanks:     []coverage.Tank{{Number: 1, Product: coverage.Product{Name: "Spring oats", Kind: coverage.KindSeed}, Target: controller.Quantity{SI: 0.011, Dim: controller.DimMassPerArea}}},
		Field:     "Mill Piece",
		StaleS:    2,
	}}
}

func run(t *testing.T, setup Setup, capture string) (*Session, Summary) {
	t.Helper()
	found, err := LookAhead(NewCaptureReader(strings.NewReader(capture), "tape"))
	if err != nil {
		t.Fatal(err)
	}
	setup.Coverage.Corrections = append(setup.Coverage.Corrections, found.Corrections...)
	s, err := NewSession(setup)
	if err != nil {
		t.Fatal(err)
	}
	if damaged := feedAll(t, s, strings.NewReader(capture)); damaged > 0 {
		t.Fatalf("%d damaged lines in the capture", damaged)
	}
	return s, s.Summary()
}

// feedAll feeds a capture to a session, passing over damaged lines, and ends it.
func feedAll(t *testing.T, s *Session, capture io.Reader) (damaged int) {
	t.Helper()
	r := NewCaptureReader(capture, "tape")
	for {
		e, err := r.Next()
		var corrupt *CorruptError
		switch {
		case errors.As(err, &corrupt):
			damaged++
			continue
		case errors.Is(err, io.EOF):
			s.Finish()
			return damaged
		case err != nil:
			t.Fatal(err)
		}
		s.Feed(e)
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

// 60 s at 2.5 m/s with 12 m on: 1800 m2, 20.16 kg at 112 kg/ha.
func TestSessionPass(t *testing.T) {
	t.Parallel()
	tp := newTape()
	tp.pass(0, 60, 0, on)
	_, sum := run(t, drill(), tp.String())
	if len(sum.Operations) != 1 {
		t.Fatalf("got %d operations, want 1", len(sum.Operations))
	}
	op := sum.Operations[0]
	near(t, "gross", op.Area.GrossM2, 1800, 0.02)
	near(t, "covered", op.Area.CoveredM2, 1800, 0.02)
	near(t, "applied", *op.Products[0].Applied, 20.16, 20.16*1e-4)
	near(t, "mean rate", *op.Products[0].MeanRate, 0.0112, 1e-9)
	near(t, "mean target", *op.Products[0].MeanTarget, 0.011, 1e-9)
	near(t, "working", sum.WorkingS, 60, 1e-6)
	near(t, "distance", sum.DistanceM, 150, 1e-3)
	if *sum.Start != "2026-05-14T13:05:10.000Z" || *sum.End != "2026-05-14T13:06:10.000Z" {
		t.Errorf("from %s to %s", *sum.Start, *sum.End)
	}
	if sum.GNSS.Lines != 1202 || sum.GNSS.Sentences != 1202 || sum.GNSS.Fixes != 601 || sum.Controller.Reports != 301 {
		t.Errorf("counts: %+v %+v", sum.GNSS, sum.Controller)
	}
	if op.Area.SkipM2 == nil || *op.Area.SkipM2 != 0 || op.Area.RemainingM2 != nil || op.Area.FieldM2 != nil || len(sum.Warnings) != 0 {
		t.Errorf("unknown areas or warnings: %+v %v", op.Area, sum.Warnings)
	}
}

// A session's clock that is wrong by years, jitters or is set in the middle of
// work must not move the switch by more than a few milliseconds: at 2.5 m/s and
// 12 m a millisecond is 0.03 m2.
func TestSessionClocks(t *testing.T) {
	t.Parallel()
	switched := func(s float64) string {
		if s >= 20 && s < 40 {
			return "work=0 sections=0000 tank.1.rate=0kg/ha"
		}
		return on(s)
	}
	years := -9 * 365 * 24 * time.Hour
	jitter := func(s float64) time.Duration {
		return time.Duration(math.Sin(s*7919) * 20e6)
	}
	for _, c := range []struct {
		name  string
		clock func(s float64) time.Duration
		tol   float64
	}{
		{"right", func(float64) time.Duration { return 0 }, 0.05},
		{"years behind", func(float64) time.Duration { return years }, 0.05},
		{"jitter", jitter, 0.03*2*20 + 0.2}, // two reports, each off by its own jitter
		{"set on by three hours", func(s float64) time.Duration {
			if s > 30.05 {
				return 3 * time.Hour
			}
			return 0
		}, 0.05},
		{"set back while working", func(s float64) time.Duration {
			if s > 50.15 {
				return -time.Hour
			}
			return years
		}, 0.05},
		{"set on by two seconds at the switch", func(s float64) time.Duration {
			if s > 19.95 {
				return 2 * time.Second
			}
			return 0
		}, 0.05},
	} {
		tp := newTape()
		tp.clock = c.clock
		tp.pass(0, 60, 0, switched)
		_, sum := run(t, drill(), tp.String())
		near(t, c.name, sum.Operations[0].Area.GrossM2, 1200, c.tol)
	}
}

// A line that stalls for two seconds and then arrives in one burst is no step of
// the clock.
func TestSessionStall(t *testing.T) {
	t.Parallel()
	tp := newTape()
	for i := range 601 {
		s := float64(i) / 10
		tp.clock = func(float64) time.Duration { return 0 }
		if i%2 == 0 {
			tp.report(s, on(s))
		}
		if i >= 300 && i < 320 {
			tp.clock = func(float64) time.Duration { return time.Duration(float64(320-i) * 1e8) }
		}
		tp.fix(s, 0, 2.5*s)
	}
	_, sum := run(t, drill(), tp.String())
	near(t, "gross", sum.Operations[0].Area.GrossM2, 1800, 0.1)
	if len(sum.Warnings) != 0 {
		t.Errorf("warnings: %v", sum.Warnings)
	}
}

// Details said late count from then on; a correction fills in the past.
func TestSessionCorrection(t *testing.T) {
	t.Parallel()
	tp := newTape()
	tp.pass(0, 60, 0, on)
	tp.line(70, "operator", `{"tanks":[{"tank":1,"product":{"name":"Winter barley","kind":"seed"},"target":"150 kg/ha"}],"from":"2026-05-14T13:05:30Z","to":"2026-05-14T13:05:50Z","why":"wrong bag"}`)
	tp.line(71, "operator", `{"field":"Long Meadow","from":"2026-05-14T13:05:40Z","to":"2026-05-14T14:00:00Z","why":"over the hedge"}`)
	_, sum := run(t, drill(), tp.String())
	if len(sum.Operations) != 2 {
		t.Fatalf("got %d operations, want 2: %+v", len(sum.Operations), sum.Warnings)
	}
	a, b := sum.Operations[0], sum.Operations[1]
	if a.Field != "Mill Piece" || b.Field != "Long Meadow" || b.Operation != "seeding" {
		t.Errorf("got %s, then %s", a.Field, b.Field)
	}
	near(t, "Mill Piece", a.Area.GrossM2, 900, 0.02)
	near(t, "Long Meadow", b.Area.GrossM2, 900, 0.02)
	got := ""
	for _, o := range sum.Operations {
		for _, p := range o.Products {
			got += fmt.Sprintf("%s %.0f; ", p.Name, p.AreaM2)
		}
	}
	if want := "Spring oats 600; Winter barley 300; Winter barley 300; Spring oats 600; "; got != want {
		t.Errorf("products: got %s, want %s", got, want)
	}
	if len(sum.Warnings) != 0 {
		t.Errorf("warnings: %v", sum.Warnings)
	}
}

// With nothing set up a session still counts, and what is said later acts from
// then on.
func TestSessionNothingSetUp(t *testing.T) {
	t.Parallel()
	tp := newTape()
	tp.pass(0, 20, 0, on)
	tp.line(20.05, "operator", `{"field":"Mill Piece","implement":{"name":"drill","operation":"seeding","mount":"rigid","sections_m":[3,3,3,3]}}`)
	tp.pass(20.1, 40, 0, on)
	tp.line(40.05, "operator", `{"mark":{"kind":"stone","note":"by the hedge","at":"bar"}}`)
	tp.line(40.1, "operator", `not JSON`)
	_, sum := run(t, Setup{}, tp.String())
	near(t, "distance", sum.DistanceM, 100, 0.01)
	op := sum.Operations[0]
	near(t, "gross", op.Area.GrossM2, 12*2.5*19.95, 0.1)
	if op.Products[0].Unit != "kg" || op.Products[0].Name != "" {
		t.Errorf("product: %+v", op.Products[0])
	}
	if len(sum.Marks) != 1 || sum.Marks[0].Kind != "stone" || sum.Marks[0].Lat == nil {
		t.Errorf("marks: %+v", sum.Marks)
	}
	if len(sum.Warnings) != 1 || !strings.Contains(sum.Warnings[0], "operator line") {
		t.Errorf("warnings: %q", sum.Warnings)
	}
}

// The summary's members are those of its published form, in order.
func TestSummaryMembers(t *testing.T) {
	t.Parallel()
	tp := newTape()
	tp.pass(0, 3, 0, on)
	tp.line(3, "operator", `{"mark":{"kind":"stone"}}`)
	_, sum := run(t, drill(), tp.String())
	b, err := json.Marshal(sum)
	if err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	var keys []string
	var depth []bool // true in an object, waiting for a key
	expectKey := false
	for {
		tok, err := dec.Token()
		if err != nil {
			break
		}
		switch v := tok.(type) {
		case json.Delim:
			if v == '{' || v == '[' {
				depth = append(depth, v == '{')
			} else {
				depth = depth[:len(depth)-1]
			}
			expectKey = len(depth) > 0 && depth[len(depth)-1]
		default:
			if expectKey {
				keys = append(keys, tok.(string))
				expectKey = false
			} else {
				expectKey = len(depth) > 0 && depth[len(depth)-1]
			}
		}
	}
	want := "schema gnss lines sentences bad_checksum unparsed fixes gaps gap_s controller lines reports rejected stale_s start end " +
		"working_s distance_m working_distance_m operations field operation start end area field_m2 gross_m2 covered_m2 overlap_m2 " +
		"skip_m2 remaining_m2 outside_m2 overlap_by headland_m2 between_passes_m2 sections_m2 products tank name unit applied area_m2 mean_rate mean_target marks kind note time lon lat warnings"
	if got := strings.Join(keys, " "); got != want {
		t.Errorf("members:\n got %s\nwant %s", got, want)
	}
}

// A mark is withdrawn by its number, once it is there, and by a correction that
// acts before it was left.
func TestMarksWithdrawn(t *testing.T) {
	t.Parallel()
	tape := newTape()
	for s := 0.0; s < 10; s++ {
		tape.fix(s, 0, 2.5*s)
	}
	tape.line(10.1, "operator", `{"mark":{"kind":"stone"}}`)
	tape.line(10.2, "operator", `{"mark":{"kind":"weeds"}}`)
	tape.line(10.3, "operator", `{"mark":{"kind":"wet spot"}}`)
	tape.line(10.4, "operator", `{"mark":{"undo":2}}`)
	tape.line(10.5, "operator", `{"mark":{"undo":9}}`)
	tape.line(10.6, "operator", `{"mark":{"kind":"damage"}}`)
	tape.fix(11, 0, 27.5)
	kinds := func(c ...coverage.Correction) (text string, warnings []string) {
		s, sum := run(t, Setup{Coverage: coverage.Setup{Corrections: c}}, tape.String())
		for _, m := range s.Marks() {
			text += fmt.Sprintf("%d %s;", m.Number, m.Kind)
		}
		if s.Marked() != 4 {
			t.Errorf("marked: got %d, want 4", s.Marked())
		}
		return text, sum.Warnings
	}
	got, warnings := kinds()
	if want := "1 stone;3 wet spot;4 damage;"; got != want {
		t.Errorf("got %s want %s", got, want)
	}
	if text := strings.Join(warnings, "\n"); !strings.Contains(text, "mark 9 is to be withdrawn, and 3 were left so far") {
		t.Errorf("warnings: %s", text)
	}
	wrong := coverage.Correction{From: begin, To: begin.Add(time.Second), Statement: coverage.Statement{Mark: &coverage.MarkWish{Undo: 4}}}
	if got, _ := kinds(wrong); got != "1 stone;3 wet spot;" {
		t.Errorf("corrected: got %s", got)
	}
}

// A mark knows the field that was in force when it was left, as corrected.
func TestFieldOfMark(t *testing.T) {
	t.Parallel()
	tape := newTape()
	for s := 0.0; s < 5; s++ {
		tape.fix(s, 0, 2.5*s)
	}
	tape.line(5.1, "operator", `{"mark":{"kind":"stone"}}`)
	tape.line(5.2, "operator", `{"field":"Far Reach","mark":{"kind":"weeds"}}`)
	tape.fix(6, 0, 15)
	fields := func(c ...coverage.Correction) (out []string) {
		s, _ := run(t, Setup{Coverage: coverage.Setup{Field: "Mill Piece", Corrections: c}}, tape.String())
		for _, m := range s.Marks() {
			out = append(out, m.Field)
		}
		return out
	}
	if got := fields(); !slices.Equal(got, []string{"Mill Piece", "Far Reach"}) {
		t.Errorf("got %q", got)
	}
	meadow := "Long Meadow"
	c := coverage.Correction{From: begin, To: begin.Add(time.Minute), Statement: coverage.Statement{Field: &meadow}}
	if got := fields(c); !slices.Equal(got, []string{"Long Meadow", "Long Meadow"}) {
		t.Errorf("corrected: got %q", got)
	}
}

// A board whose clock is months off, and a receiver that says the day only once a
// second: until it has, the day is that of the board. Nothing of the work that
// follows is lost when the day comes in, whichever way the clock was off.
func TestDayComesInLate(t *testing.T) {
	t.Parallel()
	for _, off := range []time.Duration{195 * 24 * time.Hour, -400 * 24 * time.Hour} {
		tape := newTape()
		tape.clock = func(float64) time.Duration { return off }
		for i := range 200 {
			s := float64(i) / 10
			lat, _ := tape.plane.Inverse(0, 2.5*s)
			utc := begin.Add(time.Duration(i) * 100 * time.Millisecond)
			tape.line(s, "gnss", "$"+checked(fmt.Sprintf("GPGGA,%s,%02d%011.8f,N,00000.60000000,E,4,12,0.7,80.0,M,47.0,M,1.0,0101",
				utc.Format("150405.00"), int(lat), (lat-math.Floor(lat))*60)))
			tape.line(s+0.001, "gnss", "$"+checked("GPVTG,0.0,T,,M,4.86,N,9.0,K,R"))
			if i%10 == 9 {
				tape.line(s+0.002, "gnss", "$"+checked("GPZDA,"+utc.Format("150405.00,02,01,2006")+",00,00"))
			}
			if i%2 == 0 {
				tape.line(s+0.01, "controller", on(s))
			}
		}
		setup := drill()
		setup.Coverage.Tanks[0].LagS = 0
		_, sum := run(t, setup, tape.String())
		if *sum.Start != "2026-05-14T13:05:11.000Z" || *sum.End != "2026-05-14T13:05:29.900Z" {
			t.Errorf("off by %v: from %s to %s", off, *sum.Start, *sum.End)
		}
		near(t, "working", sum.WorkingS, 19.9, 0.25)
		near(t, "distance", sum.DistanceM, 49.75, 0.3)
		if sum.GNSS.Gaps != 0 {
			t.Errorf("off by %v: %d gaps", off, sum.GNSS.Gaps)
		}
		for _, w := range sum.Warnings {
			if strings.Contains(w, "back") {
				t.Errorf("off by %v: warning %q", off, w)
			}
		}
	}
}
