package server

import (
	"context"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"drawbar/internal/catalog"
	"drawbar/internal/records"
	"drawbar/internal/records/recordtest"
)

const recordedSession = "000001-20260514T080000Z"

// recordedFarm is a farm with one recorded session of two operations, worked out.
func recordedFarm(t testing.TB) *records.Index {
	t.Helper()
	dir := t.TempDir()
	err := recordtest.Session{
		Name: recordedSession, Start: time.Date(2026, 5, 14, 8, 0, 0, 0, time.UTC),
		Config: recordtest.Width12 + "tanks: [{tank: 1, product: {name: Urea 46, kind: granular}, target: 100 kg/ha}]\n",
		Jobs: []recordtest.Job{
			{
				Say:    []string{`{"field":"Mill Piece","person":"driver","weather":{"wind_mps":3}}`, `{"refill":{"tank":1,"amount":"500 kg","lot":"L-204"}}`},
				Passes: 3, PassS: 50, TurnS: 10, SpeedMPS: 2, SpacingM: 11, Report: "tank.1.rate=100kg/ha", SayAt: map[int]string{60: `{"note":"wet in the dip"}`},
			},
			{Say: []string{`{"field":"Far Reach","operation":"spreading","person":""}`}, Passes: 1, PassS: 50, SpeedMPS: 2, EastM: 300, PauseS: 60, Report: "tank.1.rate=50kg/ha"},
		},
	}.Write(dir)
	if err != nil {
		t.Fatal(err)
	}
	c, err := catalog.Open(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	text := `schema: drawbar.catalog.1
products: [{name: Urea 46, kind: granular, analysis: {n_pct: 46}, price: 320 EUR/t}]
fields:
- {name: Mill Piece, seasons: [{crop: Spring oats, year: 2026, plans: [{order: 1, operation: spreading, product: Urea 46, rate: 100 kg/ha}]}]}
- {name: Far Reach, seasons: [{crop: Spring barley, year: 2026}]}
`
	if _, err := c.Import(t.Context(), "test", []byte(text), false); err != nil {
		t.Fatal(err)
	}
	x, err := records.Open(t.Context(), records.Config{Dir: dir, Catalog: c})
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- x.Run(ctx) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		if err := x.Close(); err != nil {
			t.Error(err)
		}
		if err := c.Close(); err != nil {
			t.Error(err)
		}
	})
	if err := x.Wait(t.Context()); err != nil {
		t.Fatal(err)
	}
	return x
}

// Every answer fits the description, and its figures are those by hand: 3 passes of 50 s
// at 2 m/s, 12 m wide and 11 m apart, are 3,600 m2 gross and 3,400 m2 covered.
func TestRecords(t *testing.T) {
	t.Parallel()
	d := description(t)
	s := serverOf(t, Config{Records: recordedFarm(t)})
	for _, c := range []struct {
		route, path string
		want        int
		holds       []string
	}{
		{"/api/work", "", 200, []string{`"total":2`, `"field":"Mill Piece"`, `"crop":"Spring oats"`, `"applied":36`, `"people":["driver"]`}},
		{"/api/work", "?field=mill%20piece&person=driver&product=urea%2046&season=2026&from=2026-05-14&to=2026-05-14", 200, []string{`"total":1`}},
		{"/api/work", "?person=-", 200, []string{`"total":1`, `"field":"Far Reach"`}},
		{"/api/work", "?from=2026-05-15", 200, []string{`"total":0`}},
		{"/api/work", "?from=noon", 422, []string{`"member":"query.from"`, "2026-05-14T13:05:10Z"}},
		{"/api/work", "?limit=0", 422, []string{`query.limit`}},
		{"/api/work/{session}", "/api/work/" + recordedSession, 200, []string{`"state":"current"`, `"lot":"L-204"`, `"text":"wet in the dip"`, `"wind_mps":3`}},
		{"/api/work/{session}", "/api/work/nowhere", 404, []string{"nowhere"}},
		{"/api/work/{session}/{operation}/record", "/api/work/" + recordedSession + "/1/record", 200, []string{`"n_kg":16.56`, `"currency":"EUR"`, `"tank":1`}},
		{"/api/work/{session}/{operation}/record", "/api/work/" + recordedSession + "/9/record", 404, []string{"no operation 9"}},
		{"/api/work/{session}/{operation}/record", "/api/work/" + recordedSession + "/x/record", 422, []string{"operation"}},
		{"/api/work/{session}/{operation}/complete", "/api/work/" + recordedSession + "/1/complete", 200, []string{"no label database", `"rules":"eu-2023-564"`}},
		{"/api/work/{session}/{operation}/complete", "/api/work/nowhere/1/complete", 404, nil},
		{"/api/work/{session}/ground", "/api/work/" + recordedSession + "/ground", 200, []string{`"kind":"covered"`, `"kind":"overlap"`, `"operation":2`, "MultiPolygon"}},
		{"/api/work/{session}/ground", "/api/work/" + recordedSession + "/ground?operation=2", 200, []string{`"operation":2`}},
		{"/api/work/{session}/ground", "/api/work/" + recordedSession + "/ground?operation=two", 422, []string{"want the number of an operation"}},
		{"/api/work/{session}/ground", "/api/work/nowhere/ground", 404, nil},
		{"/api/totals", "?by=field", 200, []string{`"key":"Far Reach"`, `"key":"Mill Piece"`, `"applied":42`, `"total":2`}},
		{"/api/totals", "?by=season&season=2026&limit=1", 200, []string{`"key":"2026"`}},
		{"/api/totals", "?by=person", 200, []string{`"key":""`, `"key":"driver"`}},
		{"/api/totals", "?by=weather", 422, []string{"query.by"}},
		{"/api/totals", "", 422, []string{"query.by"}},
		{"/api/progress", "?season=2026", 200, []string{`"rate":"100 kg/ha"`, `"product":"Urea 46"`, `"field":"Far Reach"`, `"unplanned_total":1`}},
		{"/api/progress", "", 422, []string{"query.season"}},
	} {
		path := c.path
		if !strings.HasPrefix(path, "/") {
			path = c.route + path
		}
		w := ask(s, "GET", path, "")
		if w.Code != c.want {
			t.Errorf("%s: got %d, want %d: %s", path, w.Code, c.want, w.Body)
			continue
		}
		fits(t, d, "GET", c.route, w.Code, w.Header().Get("Content-Type"), w.Body.Bytes())
		for _, part := range c.holds {
			if !strings.Contains(w.Body.String(), part) {
				t.Errorf("%s: no %s in %s", path, part, w.Body)
			}
		}
	}
	var list struct {
		Operations []struct {
			Field string
			Area  struct {
				Gross   float64 `json:"gross_m2"`
				Covered float64 `json:"covered_m2"`
			}
		}
	}
	if err := json.Unmarshal(ask(s, "GET", "/api/work?field=Mill%20Piece", "").Body.Bytes(), &list); err != nil || len(list.Operations) != 1 {
		t.Fatalf("%v, %+v", err, list)
	}
	if a := list.Operations[0].Area; a.Gross < 3599 || a.Gross > 3601 || a.Covered < 3399 || a.Covered > 3401 {
		t.Errorf("got %+v, want 3,600 and 3,400 m2", a)
	}
}
