package replay

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/replay/statement"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// day is 60 s of work at 30 m2/s and 112 kg/ha with all that can be said of it: half
// in one field, half in another.
func day(later ...string) string {
	tp := newTape()
	said := map[int]string{
		0:   `{"person":"the operator","crop":"spring oats","refill":{"tank":1,"amount":"900 kg","lot":"L-204","person":"the student"}}`,
		50:  `{"weather":{"wind_mps":3,"temperature_c":-0.5}}`,
		100: `{"growth_stage":0,"note":"wet at the gate"}`,
		200: `{"adjust":[{"tank":1,"factor":1.5}]}`,
		300: `{"field":"Long Meadow","crop":"winter barley"}`,
		400: `{"person":"the contractor","mark":{"kind":"stone"}}`,
		450: `{"mark":{"of":"000016-20260513T080000Z#2","done":true}}`,
		500: `{"refill":{"tank":1,"level":"300 kg"}}`,
	}
	for i := 0; i <= 600; i++ {
		s := float64(i) / 10
		if line := said[i]; line != "" {
			tp.line(s-0.02, "operator", line)
		}
		if i%2 == 0 {
			tp.report(s, on(s))
		}
		tp.fix(s, 0, 2.5*s)
	}
	for _, line := range later {
		tp.line(100, "operator", line)
	}
	return tp.String()
}

// span is from and to of a correction, in seconds.
func span(from, to float64) string {
	at := func(s float64) string { return begin.Add(time.Duration(s * 1e9)).Format(time.RFC3339Nano) }
	return fmt.Sprintf(`"from":%q,"to":%q,"why":"x"`, at(from), at(to))
}

func TestRecords(t *testing.T) {
	t.Parallel()
	s, sum := run(t, drill(), day(
		`{`+span(10, 40)+`,"weighed":{"tank":1,"amount":"14 kg","ticket":"T-88"}}`,
		`{`+span(5, 6)+`,"note":"the gate was open"}`,
		`{`+span(-5, -1)+`,"note":"before all work"}`))
	got := s.Records()
	if len(got) != 2 || len(sum.Operations) != 2 {
		t.Fatalf("got %d records of %d operations", len(got), len(sum.Operations))
	}
	for i := range got {
		if diff := cmp.Diff(sum.Operations[i], got[i].OperationFigures); diff != "" {
			t.Errorf("figures (-summary +record):\n%s", diff)
		}
		if got[i].Number != i+1 || !got[i].HasBounds || got[i].Implement.Name != "12 m drill" {
			t.Errorf("record %d: %+v", i, got[i])
		}
	}
	a, b := got[0], got[1]
	near(t, "worked in Mill Piece", a.WorkingS, 30, 0.05)
	near(t, "way in Long Meadow", b.DistanceM, 75, 0.2)
	if a.Crop != "spring oats" || !a.HasGrowthStage || a.GrowthStage != 0 || b.Crop != "winter barley" || b.HasGrowthStage {
		t.Errorf("crops %q %d, %q %v", a.Crop, a.GrowthStage, b.Crop, b.HasGrowthStage)
	}
	if a.Products[0].Factor != nil || *b.Products[0].Factor != 1.5 {
		t.Errorf("factors %v, %v", a.Products[0].Factor, b.Products[0].Factor)
	}
	near(t, "metered in Long Meadow", *b.Products[0].Metered, 30*0.336, 0.03)
	near(t, "applied in Long Meadow", *b.Products[0].Applied, 30*0.336*1.5, 0.05)

	// 20 s, 10 s of them with the factor; over both fields, so it stands in both.
	for _, r := range got {
		if len(r.Weighed) != 1 {
			t.Fatalf("weighed: %+v", r.Weighed)
		}
		w := r.Weighed[0]
		near(t, "weighed", *w.Weighed, 14, 0)
		near(t, "metered", *w.Metered, 30*0.336, 0.001)
		near(t, "recorded", *w.Applied, 10*0.336+20*0.504, 0.02)
		if w.Tank != 1 || w.Unit != "kg" || w.Ticket != "T-88" || !w.From.Equal(begin.Add(10*time.Second)) {
			t.Errorf("%+v", w)
		}
	}
	if len(a.Refills) != 1 || len(b.Refills) != 1 {
		t.Fatalf("refills %+v, %+v", a.Refills, b.Refills)
	}
	if r := a.Refills[0]; *r.Amount != 900 || r.Level != nil || r.Lot != "L-204" || r.Person != "the student" || r.Product != "Spring oats" || r.Unit != "kg" {
		t.Errorf("%+v", r)
	}
	if r := b.Refills[0]; *r.Level != 300 || r.Amount != nil {
		t.Errorf("%+v", r)
	}
	if len(a.Weather) != 1 || *a.Weather[0].WindMPS != 3 || *a.Weather[0].TemperatureC != -0.5 || a.Weather[0].HumidityPct != nil {
		t.Errorf("%+v", a.Weather)
	}
	var notes []string
	for _, n := range a.Notes {
		notes = append(notes, n.Text)
	}
	if diff := cmp.Diff([]string{"before all work", "the gate was open", "wet at the gate"}, notes); diff != "" || len(b.Notes) != 0 {
		t.Errorf("notes (-want +got):\n%s\nand %v", diff, b.Notes)
	}
	if len(a.People) != 1 || a.People[0].Name != "the operator" || len(b.People) != 2 || b.People[1].Name != "the contractor" {
		t.Fatalf("people %+v, %+v", a.People, b.People)
	}
	near(t, "the contractor's ground", b.People[1].GrossM2, 600, 1.5)
	near(t, "the contractor's seed", *b.People[1].Products[0].Applied, 20*0.504, 0.05)

	settled := s.SettledMarks()
	if len(settled) != 1 || settled[0].Of != "000016-20260513T080000Z#2" || !settled[0].Done || s.Marked() != 1 || len(s.Marks()) != 1 {
		t.Errorf("settled %+v, %d marks", settled, len(s.Marks()))
	}
	// 10 s since it was looked into, with the factor.
	tank := s.Snapshot().Work.Tanks[0]
	near(t, "level", tank.LevelAmount, 300-10*0.504, 0.03)
	if tank.LevelFrom != coverage.LevelFromRefills {
		t.Errorf("%+v", tank)
	}
	// The box holds the ground: 150 m from 53.3 north, 12 m about 0.01 east.
	box := a.Bounds
	if !(box[0] < 0.01 && box[2] > 0.01 && box[1] < 53.3001 && box[3] > 53.3 && box[3]-box[1] < 0.001 && box[2]-box[0] < 0.0003) {
		t.Errorf("bounds %v", box)
	}
}

// The records are the same however often and whenever somebody looks.
func TestRecordsDeterministic(t *testing.T) {
	t.Parallel()
	tape := day()
	want, _ := run(t, drill(), tape)
	s, err := NewSession(drill())
	if err != nil {
		t.Fatal(err)
	}
	r := NewCaptureReader(strings.NewReader(tape), "tape")
	for n := 0; ; n++ {
		e, err := r.Next()
		if err != nil {
			break
		}
		if s.Feed(e); n%97 == 0 {
			s.Records()
			s.Snapshot()
		}
	}
	s.Finish()
	if diff := cmp.Diff(want.Records(), s.Records()); diff != "" {
		t.Errorf("(-asked once +asked often):\n%s", diff)
	}
	if diff := cmp.Diff(want.Summary(), s.Summary()); diff != "" {
		t.Errorf("(-asked once +asked often):\n%s", diff)
	}
}

// A session of which nothing is known has no records, and one without work says so.
func TestRecordsOfNothing(t *testing.T) {
	t.Parallel()
	s, err := NewSession(Setup{})
	if err != nil {
		t.Fatal(err)
	}
	s.Feed(Event{At: begin, Stream: StreamOperator, Line: []byte(`{"note":"x"}`)})
	s.Finish()
	if got := s.Records(); len(got) != 0 {
		t.Errorf("got %+v", got)
	}
	tp := newTape()
	tp.line(0, "operator", `{"field":"Mill Piece","note":"nothing done"}`)
	s, _ = run(t, drill(), tp.String())
	got := s.Records()
	if len(got) != 1 || got[0].HasBounds || len(got[0].People) != 0 || len(got[0].Notes) != 1 || got[0].WorkingS != 0 {
		t.Errorf("got %+v", got)
	}
}

// Corrections that were all taken back leave the session as it was, to the byte.
func TestCorrectionTakenBack(t *testing.T) {
	t.Parallel()
	tape := day()
	bytesOf := func(later []statement.Later) string {
		var out strings.Builder
		setup := drill()
		setup.Coverage.Corrections = Corrections(statement.Effective(later))
		setup.Coverage.OnSwath = func(w coverage.Swath) { fmt.Fprintln(&out, w.Start, w.Section, w.Rings, w.Tanks) }
		s, sum := run(t, setup, tape)
		text, err := json.Marshal([]any{sum, s.Records()})
		if err != nil {
			t.Fatal(err)
		}
		out.Write(text)
		return out.String()
	}
	want := bytesOf(nil)
	what := rapid.SampledFrom([]string{
		`"field":"Far Reach"`, `"operation":"drilling"`, `"adjust":[{"tank":1,"factor":2}]`, `"adjust":[{"tank":1,"rate":"target","lag_s":2}]`,
		`"implement":{"operation":"seeding","sections_m":[2,2,2,2]}`, `"person":"the student"`, `"crop":"rye","growth_stage":3`,
		`"tanks":[{"tank":1,"target":"90 kg/ha"}]`, `"refill":{"tank":1,"level":"5 kg"}`, `"mark":{"undo":1}`, `"weather":{"wind_mps":9}`,
	})
	changed := 0
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 3).Draw(rt, "corrections")
		var lines []statement.Later
		add := func(text string) {
			l, faults := statement.ParseLater([]byte(text))
			if len(faults) > 0 {
				rt.Fatal(faults)
			}
			l.Number = len(lines) + 1
			lines = append(lines, l)
		}
		for range n {
			from := rapid.Float64Range(0, 50).Draw(rt, "from")
			add(`{` + span(from, from+rapid.Float64Range(1, 40).Draw(rt, "for")) + `,` + what.Draw(rt, "what") + `}`)
		}
		if bytesOf(lines) != want {
			changed++
		}
		for i := range n {
			add(fmt.Sprintf(`{"undo":%d,"why":"it was not so"}`, i+1))
		}
		if got := bytesOf(lines); got != want {
			rt.Fatalf("differs:\n%s", cmp.Diff(want, got))
		}
	})
	if changed == 0 {
		t.Error("no correction changed anything")
	}
}
