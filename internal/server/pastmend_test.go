package server

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/internal/mend"
	"drawbar/internal/recorded"
	"drawbar/internal/store"
	"drawbar/internal/testkit/recordings"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// pathOf is the described path that an address is at; the address itself where none is.
func (d described) pathOf(address string) string {
	steps := strings.Split(address, "/")
	for path := range d.doc["paths"].(map[string]any) {
		of := strings.Split(path, "/")
		fits := len(of) == len(steps)
		for i := 0; fits && i < len(of); i++ {
			fits = of[i] == steps[i] || strings.HasPrefix(of[i], "{") && steps[i] != ""
		}
		if fits && (path == address || strings.Contains(path, "{")) {
			return path
		}
	}
	return address
}

// menders is a Mender of session S with one correction in everything that the
// description has.
type menders struct{ err error }

func (m *menders) number(session string) (int, error) {
	if session != "S" {
		return 0, mend.ErrNoSession
	}
	return 4, m.err
}

func (m *menders) Correct(session string, _ []byte, _ string) (int, error) { return m.number(session) }

func (m *menders) Try(session string, _ []byte) (string, error) {
	_, err := m.number(session)
	return "a", err
}

func (m *menders) Later(session string) ([]mend.Said, error) {
	if _, err := m.number(session); err != nil {
		return nil, err
	}
	why, by := "wrong bag", "drill operator"
	return []mend.Said{
		{Later: statement.Later{Number: 1, Operator: statement.Operator{From: &noon, To: &noon, Made: &noon, Why: &why, By: &by, Person: &by}}, Undone: 2},
		{Later: statement.Later{Number: 2, Undo: 1, Operator: statement.Operator{Why: &why}}},
	}, nil
}

func (m *menders) Trial(id string) (mend.Trial, bool) {
	kg := func(v float64) *float64 { return &v }
	record := replay.OperationRecord{
		OperationFigures: replay.OperationFigures{Field: "Mill Piece", Operation: "seeding", Products: []replay.ProductFigures{{Tank: 1, Name: "Spring oats", Unit: "kg", Applied: kg(310)}}},
		Number:           1, Start: noon, End: noon, WorkingS: 100, Implement: coverage.Implement{Name: "12 m drill", SectionsM: []float64{6, 6}},
		People: []replay.PersonFigures{{GrossM2: 5}}, Weighed: []replay.WeighedFigures{{Tank: 1, From: noon, To: noon, Unit: "kg", Weighed: kg(320), Metered: kg(310), Applied: kg(310), Ticket: "T-88"}, {Tank: 2}},
	}
	switch id {
	case "a":
		return mend.Trial{Session: "S", Stage: mend.Done, Share: 1, Before: []replay.OperationRecord{record}, After: []replay.OperationRecord{record}}, true
	case "b":
		return mend.Trial{Session: "S", Share: 0.3}, true
	case "c":
		return mend.Trial{Session: "S", Stage: mend.Failed, Err: errors.New("no line of it can be read")}, true
	}
	return mend.Trial{}, false
}

func (m *menders) Join(store.Join) (int, error) { return 1, m.err }

func (m *menders) Joins() ([]store.Join, error) {
	return []store.Join{{Join: []store.JoinedOperation{{Session: "S", At: noon}, {Session: "S", At: noon}}, Why: "one job", By: "x", Made: noon, Number: 1, Undone: 2}, {Undo: 1, Why: "two jobs", Number: 2}}, nil
}

// yard is a server on a recorded session.
type yard struct {
	*Server
	t       *testing.T
	dir     string
	session string
}

func newYard(t *testing.T, example string) *yard {
	t.Helper()
	y := &yard{t: t, dir: t.TempDir()}
	y.session = recordings.Of(t, y.dir, example)
	m := mend.New(mend.Config{Dir: y.dir})
	ended := make(chan struct{})
	ctx := t.Context()
	go func() {
		defer close(ended)
		m.Run(ctx)
	}()
	t.Cleanup(func() { <-ended })
	y.Server = serverOf(t, Config{Mend: m})
	return y
}

func (y *yard) path() string { return "/api/work/" + y.session + "/corrections" }

// ask asks and wants the status.
func (y *yard) ask(method, path, body string, want int, into any) {
	y.t.Helper()
	w := ask(y.Server, method, path, body)
	if w.Code != want {
		y.t.Fatalf("%s %s %s: status %d, want %d: %s", method, path, body, w.Code, want, w.Body)
	}
	if into != nil {
		if err := json.Unmarshal(w.Body.Bytes(), into); err != nil {
			y.t.Fatal(err)
		}
	}
}

// correct adds a correction and returns its number.
func (y *yard) correct(body string) int {
	y.t.Helper()
	var n numberedJSON
	y.ask("POST", y.path(), body, http.StatusOK, &n)
	return n.Number
}

// try waits for the figures of a trial.
func (y *yard) try(body string) (t trialFiguresJSON) {
	y.t.Helper()
	var p previewJSON
	y.ask("POST", y.path()+"/preview", body, http.StatusOK, &p)
	for range 2000 {
		y.ask("GET", "/api/previews/"+p.Preview, "", http.StatusOK, &t)
		if t.State != "working" {
			break
		}
		time.Sleep(5 * time.Millisecond)
	}
	if t.State != "done" {
		y.t.Fatalf("the trial of %s: %s, %v", body, t.State, t.Error)
	}
	return t
}

// replayed is what replaying the session gives, as the command does it: the figures, and
// the summary to the byte.
func (y *yard) replayed() (records []replay.OperationRecord, summary string) {
	y.t.Helper()
	in, err := recorded.Open([]string{filepath.Join(y.dir, y.session+".mcap")}, recorded.Options{})
	if err != nil {
		y.t.Fatal(err)
	}
	defer in.Close()
	_, setup, err := in.Setup(nil)
	if err != nil {
		y.t.Fatal(err)
	}
	s, err := replay.NewSession(setup)
	if err != nil {
		y.t.Fatal(err)
	}
	if err := in.Play(replay.Player{}, func(e replay.Event) error { s.Feed(e); return nil }); err != nil {
		y.t.Fatal(err)
	}
	s.Finish()
	text, err := json.Marshal(s.Summary())
	if err != nil {
		y.t.Fatal(err)
	}
	return s.Records(), string(text)
}

func asJSON(t *testing.T, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// What a trial says before it is written is what the replay says once it is; taken back,
// the replay gives the first bytes again. The figures by hand are those of
// testdata/sessions/two-tanks/about.md.
func TestTrialIsWhatTheReplayGives(t *testing.T) {
	t.Parallel()
	y := newYard(t, "two-tanks")
	first, summary := y.replayed()
	for _, c := range []struct{ what, states string }{
		{"product", `"adjust":[{"tank":1,"product":{"name":"Winter barley","kind":"seed"},"target":"150 kg/ha"}]`},
		{"rate basis", `"adjust":[{"tank":1,"rate":"target"}]`},
		{"lag", `"adjust":[{"tank":1,"lag_s":2}]`},
		{"factor", `"adjust":[{"tank":1,"factor":1.05}]`},
		{"width", `"implement":{"name":"9 m drill","operation":"seeding","antenna_to_hitch_m":1.8,"mount":"rigid","hitch_to_bar_m":1.2,"sections_m":[2,2.5,2.5,2]}`},
		{"field", `"field":"Far Reach"`},
		{"operation", `"operation":"undersowing"`},
		{"person", `"person":"Relief driver"`},
	} {
		body := fmt.Sprintf(`{%s,"from":"2026-05-14T09:20:10Z","to":"2026-05-14T09:20:20Z","why":"%s was wrong"}`, c.states, c.what)
		trial := y.try(body)
		if trial.Changes == nil || !*trial.Changes {
			t.Errorf("%s: nothing changes", c.what)
		}
		if got, want := asJSON(t, trial.Before), asJSON(t, wireMended(first)); got != want {
			t.Errorf("%s, before:\n%s\nwant\n%s", c.what, got, want)
		}
		if after, _ := y.replayed(); asJSON(t, after) != asJSON(t, first) {
			t.Errorf("%s: the trial changed the session", c.what)
		}
		n := y.correct(body)
		after, _ := y.replayed()
		if got, want := asJSON(t, trial.After), asJSON(t, wireMended(after)); got != want {
			t.Errorf("%s, after:\n%s\nwant\n%s", c.what, got, want)
		}
		back := y.try(fmt.Sprintf(`{"undo":%d,"why":"it was right"}`, n))
		if asJSON(t, back.After) != asJSON(t, wireMended(first)) {
			t.Errorf("%s: the trial of taking it back does not come to what was", c.what)
		}
		y.ask("POST", fmt.Sprintf("%s/%d/undo", y.path(), n), `{"why":"it was right"}`, http.StatusOK, nil)
		if _, now := y.replayed(); now != summary {
			t.Errorf("%s: taken back, the summary is\n%s\nwant\n%s", c.what, now, summary)
		}
	}
	var said correctionsJSON
	y.ask("GET", y.path(), "", http.StatusOK, &said)
	if len(said.Corrections) != 16 {
		t.Fatalf("%d lines were kept, want 16", len(said.Corrections))
	}
	one, two := said.Corrections[0], said.Corrections[1]
	if one.Number != 1 || one.UndoneBy == nil || *one.UndoneBy != 2 || one.By == nil || *one.By != "at the recorder" || one.Made == nil || one.Why != "product was wrong" ||
		!strings.Contains(one.Line, "Winter barley") || strings.Contains(one.Line, "why") || two.Undo == nil || *two.Undo != 1 {
		t.Errorf("the trail: %+v %+v", one, two)
	}
}

// A pass of 647.775 m2 at 112 kg/ha is 7.25508 kg. Weighed were 7.6 kg: 4.754 % more.
// The record scaled to it says 7.6 kg.
func TestWeighedAndScaled(t *testing.T) {
	t.Parallel()
	y := newYard(t, "two-tanks")
	span := `"from":"2026-05-14T09:20:00Z","to":"2026-05-14T09:20:40Z"`
	trial := y.try(`{"weighed":{"tank":1,"amount":"7.6 kg","ticket":"T-88"},` + span + `,"why":"weighed at the store"}`)
	if len(trial.After) != 1 || len(trial.After[0].Weighed) != 1 {
		t.Fatalf("the weighing: %s", asJSON(t, trial.After))
	}
	w := trial.After[0].Weighed[0]
	near := func(what string, got *float64, want, within float64) {
		t.Helper()
		if got == nil || math.Abs(*got-want) > within {
			t.Errorf("%s: %v, want %g within %g", what, got, want, within)
		}
	}
	near("metered", w.Metered, 7.25508, 0.0002)
	near("difference", w.Difference, 7.6-7.25508, 0.0002)
	near("as a part", w.DifferencePart, 7.6/7.25508-1, 0.0001)
	near("factor", w.Factor, 7.6/7.25508, 0.0001)
	y.correct(fmt.Sprintf(`{"adjust":[{"tank":1,"factor":%g}],%s,"why":"scaled to the ticket T-88"}`, *w.Factor, span))
	after, _ := y.replayed()
	near("applied, scaled", after[0].Products[0].Applied, 7.6, 0.001)
	// 0.025 kg a turn let out more than it was said to: 0.025 x 7.6 / 7.25508
	var c calibrationJSON
	y.ask("GET", fmt.Sprintf("/api/calibration?figure=0.025&weighed=7.6&metered=%g", *w.Metered), "", http.StatusOK, &c)
	near("an amount a turn", &c.AmountPerCount, 0.0261885, 1e-6)
	// 40 turns a kg: 40 x 7.25508 / 7.6
	y.ask("GET", fmt.Sprintf("/api/calibration?figure=40&weighed=7.6&metered=%g", *w.Metered), "", http.StatusOK, &c)
	near("turns for an amount", &c.CountsPerAmount, 38.18463, 1e-3)
}

// An operation that is split at a moment is two, whose ground adds up to that of the one.
func TestSplit(t *testing.T) {
	t.Parallel()
	y := newYard(t, "two-tanks")
	trial := y.try(`{"operation":"seeding","from":"2026-05-14T09:20:16Z","to":"2026-05-14T09:20:40Z","why":"another day's work"}`)
	if len(trial.After) != 2 {
		t.Fatalf("%d operations after it: %s", len(trial.After), asJSON(t, trial.After))
	}
	if sum, want := trial.After[0].Area.GrossM2+trial.After[1].Area.GrossM2, trial.Before[0].Area.GrossM2; math.Abs(sum-want) > 0.001 {
		t.Errorf("the two have %g m2, the one had %g", sum, want)
	}
	if v := trial.After[0].Area.GrossM2; math.Abs(v-300) > 0.5 { // 10 s at 2.5 m/s, 12 m wide
		t.Errorf("the first has %g m2, want 300", v)
	}
}

// Two screens that correct the same session are both heard, each with its own number.
func TestTwoScreensCorrect(t *testing.T) {
	t.Parallel()
	y := newYard(t, "two-tanks")
	const each = 10
	var screens sync.WaitGroup
	numbers := make([][]int, 2)
	for screen := range numbers {
		screens.Go(func() {
			for i := range each {
				body := fmt.Sprintf(`{"person":"screen %d, %d","from":"2026-05-14T09:20:10Z","to":"2026-05-14T09:20:20Z","why":"who it was","by":"screen %d"}`, screen, i, screen)
				w := ask(y.Server, "POST", y.path(), body)
				var n numberedJSON
				if err := json.Unmarshal(w.Body.Bytes(), &n); err != nil || w.Code != http.StatusOK {
					t.Errorf("status %d: %s", w.Code, w.Body)
				}
				numbers[screen] = append(numbers[screen], n.Number)
			}
		})
	}
	screens.Wait()
	var said correctionsJSON
	y.ask("GET", y.path(), "", http.StatusOK, &said)
	if len(said.Corrections) != 2*each {
		t.Fatalf("%d are kept, want %d", len(said.Corrections), 2*each)
	}
	for screen, of := range numbers {
		for i, n := range of {
			if want := fmt.Sprintf("screen %d, %d", screen, i); !strings.Contains(said.Corrections[n-1].Line, want) {
				t.Errorf("number %d is %s, want that of %s", n, said.Corrections[n-1].Line, want)
			}
		}
	}
}

// What is at fault is refused member by member, and nothing is written.
func TestCorrectionsAreChecked(t *testing.T) {
	t.Parallel()
	y := newYard(t, "two-tanks")
	for body, member := range map[string]string{
		`{"person":"x"}`: "from",
		`{"person":"x","from":"2026-05-14T09:20:10Z","to":"2026-05-14T09:20:20Z"}`:                                                                   "why",
		`{"person":"x","from":"2026-05-14T09:20:20Z","to":"2026-05-14T09:20:10Z","why":"x"}`:                                                         "to",
		`{"adjust":[{"tank":1,"factor":9}],"from":"2026-05-14T09:20:10Z","to":"2026-05-14T09:20:20Z","why":"x"}`:                                     "adjust[0].factor",
		`{"person":"x","from":"2026-05-14T09:20:10Z","to":"2026-05-14T09:20:20Z","why":"x","made":"2020-01-01T00:00:00Z"}`:                           "made",
		`{"persons":"x","from":"2026-05-14T09:20:10Z","to":"2026-05-14T09:20:20Z","why":"x"}`:                                                        "persons",
		`{"adjust":[{"tank":1,"product":{"name":"Spring oats","kind":"sand"}}],"from":"2026-05-14T09:20:10Z","to":"2026-05-14T09:20:20Z","why":"x"}`: "adjust[0].product.kind",
	} {
		for _, path := range []string{y.path(), y.path() + "/preview"} {
			var f failureJSON
			y.ask("POST", path, body, http.StatusUnprocessableEntity, &f)
			found := false
			for _, fault := range f.Faults {
				found = found || fault.Member == member
			}
			if !found {
				t.Errorf("%s: faults %+v, want one of %s", body, f.Faults, member)
			}
		}
	}
	y.ask("POST", y.path()+"/1/undo", `{"why":"x"}`, http.StatusConflict, nil)
	y.ask("POST", y.path()+"/preview", `{"undo":1,"why":"x"}`, http.StatusConflict, nil)
	y.ask("POST", "/api/work/000009-20260514T092000Z/corrections", `{"person":"x","from":"2026-05-14T09:20:10Z","to":"2026-05-14T09:20:20Z","why":"x"}`, http.StatusNotFound, nil)
	if _, err := os.Stat(store.CorrectionsFile(filepath.Join(y.dir, y.session+".mcap"))); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("something was written: %v", err)
	}
}
