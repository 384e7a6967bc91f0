package server

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/coverage/supply"
	"drawbar/internal/catalog"
	"drawbar/internal/live"
	"drawbar/internal/recent"
	"drawbar/nmea"
)

func rateOf(t testing.TB, text string) catalog.Rate {
	t.Helper()
	r, err := catalog.ParseRate(text)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// farm is a catalogue file of Kettle Hollow Farm: Mill Piece with oats and a starter
// to be seeded, then sprayed.
func farm(t testing.TB) *catalog.Catalog {
	t.Helper()
	ctx := context.Background()
	c, err := catalog.Open(ctx, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	mill, err := c.Fields.Add(ctx, catalog.Field{Name: "Mill Piece", Outline: square()})
	must(err)
	season, err := c.Seasons.Add(ctx, catalog.Season{Field: mill.ID, Crop: "Spring oats", Year: 2026})
	must(err)
	plan := func(p catalog.Product, l catalog.Plan) {
		t.Helper()
		p, err := c.Products.Add(ctx, p)
		must(err)
		l.Season, l.Product = season.ID, p.ID
		_, err = c.Plans.Add(ctx, l)
		must(err)
	}
	plan(catalog.Product{Name: "Spring oats", Kind: catalog.Seed, ThousandKernelG: 38}, catalog.Plan{Order: 1, Operation: "seeding", Rate: rateOf(t, "112 kg/ha"), Tank: 1})
	plan(catalog.Product{Name: "Starter", Kind: catalog.Liquid}, catalog.Plan{Order: 1, Operation: "seeding", Rate: rateOf(t, "40 l/ha")})
	plan(catalog.Product{Name: "Rust guard", Kind: catalog.CropProtection, MaxRate: rateOf(t, "1 l/ha")}, catalog.Plan{Order: 2, Operation: "spraying", Rate: rateOf(t, "1 l/ha")})
	_, err = c.Products.Add(ctx, catalog.Product{Name: "Urea 46", Kind: catalog.Granular})
	must(err)
	_, err = c.Implements.Add(ctx, catalog.Implement{Implement: coverage.Implement{Name: "24 m boom", Operation: "spraying", SectionsM: []float64{12, 12}}})
	must(err)
	_, err = c.Tractors.Add(ctx, catalog.Tractor{Name: "Big tractor", AntennaToHitchM: 1.8})
	must(err)
	_, err = c.People.Add(ctx, catalog.Person{Name: "Driver"})
	must(err)
	return c
}

// atGate is a machine in Mill Piece of which nothing is stated but its drill and the
// seed of its first tank.
func atGate() *live.State {
	s := atWork()
	s.Place = live.Place{Field: "Mill Piece", Offer: &live.Offer{Field: "Mill Piece", Inside: true}}
	w := &s.Snapshot.Work
	w.Operation = &coverage.OperationNow{Name: "seeding"}
	unit, _ := controller.ParseUnit("kg/ha")
	w.InForce = coverage.InForce{
		Implement: &coverage.Implement{Name: "12 m drill", Operation: "seeding", SectionsM: []float64{6, 6}}, SectionsReported: 2,
		Tanks: []coverage.TankInForce{
			{Tank: coverage.Tank{Number: 1, Product: coverage.Product{Name: "Spring oats", Kind: coverage.KindSeed, ThousandKernelG: 38}, Target: unit.Quantity(112), Capacity: controller.Quantity{SI: 3800, Dim: controller.DimMass}, Unit: unit}, Metered: true, Reported: controller.DimMass},
			{Tank: coverage.Tank{Number: 2}, Metered: true, Reported: controller.DimVolume},
		},
	}
	return s
}

// farmDesk is a server's parts with a catalogue; operator nil: a recorded session.
func farmDesk(t testing.TB, operator Sayer) Config {
	t.Helper()
	c := Config{Hub: &live.Hub{}, Catalog: farm(t), Fields: &desk{}, MinQuality: nmea.QualityNone}
	c.Hub.Publish(atGate())
	if operator != nil {
		c.Operator = operator
	}
	return c
}

// gone has a catalogue that cannot be read any more.
func gone(t testing.TB) Config {
	t.Helper()
	c := farmDesk(t, &heard{})
	if err := c.Catalog.Close(); err != nil {
		t.Fatal(err)
	}
	return c
}

// answer asks and reads what comes, which must be 200.
func answer[T any](t testing.TB, s *Server, method, path, body string) (out T) {
	t.Helper()
	w := ask(s, method, path, body)
	if w.Code != 200 {
		t.Fatalf("%s %s: status %d: %s", method, path, w.Code, w.Body)
	}
	if err := json.Unmarshal(w.Body.Bytes(), &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// faults asks and reads what is wrong, as "member got".
func faults(t testing.TB, s *Server, path, body string) string {
	t.Helper()
	w := ask(s, "POST", path, body)
	var f failureJSON
	if err := json.Unmarshal(w.Body.Bytes(), &f); err != nil || w.Code != 422 {
		t.Fatalf("%s %s: status %d: %s", path, body, w.Code, w.Body)
	}
	var all []string
	for _, f := range f.Faults {
		all = append(all, f.Member+" "+f.Got)
	}
	return strings.Join(all, "|")
}

// What is suggested is sent back as it came, and one line has it all.
func TestBeginAsSuggested(t *testing.T) {
	t.Parallel()
	said := &heard{}
	s := serverOf(t, farmDesk(t, said))
	c := answer[choicesJSON](t, s, "GET", "/api/choices?field=mill%20piece", "")
	if c.Would.Words != "seeding, Spring oats 112 kg/ha in tank 1, Starter 40 l/ha in tank 2" || len(c.Would.Lacks) > 0 || c.Would.Recorded {
		t.Errorf("would: %+v", c.Would)
	}
	if len(c.Plans) != 3 || !c.Plans[0].Suggested || !c.Plans[1].Suggested || c.Plans[2].Suggested || len(c.Seasons) != 1 || !c.Seasons[0].Current || !c.HasOutline {
		t.Errorf("choices: %+v", c)
	}
	if got := *c.Tanks[0].Capacity; got != "3800 kg" {
		t.Errorf("capacity %q", got)
	}
	if len(said.lines) > 0 {
		t.Fatalf("said without a touch: %v", said.lines)
	}
	body, err := json.Marshal(c.Begin)
	if err != nil {
		t.Fatal(err)
	}
	b := answer[sayingJSON](t, s, "POST", "/api/begin", string(body))
	if !b.Recorded || len(b.Lacks) > 0 || len(said.lines) != 1 {
		t.Fatalf("begun: %+v, lines %v", b, said.lines)
	}
	const outline = `{"type":"MultiPolygon","coordinates":[[[[-0.013,53.35],[-0.011,53.35],[-0.011,53.352],[-0.013,53.352],[-0.013,53.35]]]]}`
	want := `{"field":"Mill Piece","boundary":` + outline + `,"person":"Driver","crop":"Spring oats","adjust":[{"tank":2,"product":{"name":"Starter","kind":"liquid"},"target":"40 l/ha"}]}`
	if said.lines[0] != want {
		t.Errorf("said\n%s\nwant\n%s", said.lines[0], want)
	}
	if strings.Contains(*b.Line, "boundary") {
		t.Errorf("the boundary comes back: %s", *b.Line)
	}
}

// Changed at the last minute: other products, another tank, the other operation.
func TestBeginOtherwise(t *testing.T) {
	t.Parallel()
	said := &heard{}
	s := serverOf(t, farmDesk(t, said))
	b := answer[sayingJSON](t, s, "POST", "/api/begin", `{"field":"Mill Piece","operation":"spraying","implement":"24 M boom","tractor":"big tractor","tanks":[{"tank":2,"product":"rust guard","target":"1.2 l/ha"}]}`)
	if len(b.Cautions) != 1 || !strings.Contains(b.Cautions[0], "no label database") {
		t.Errorf("cautions %v", b.Cautions)
	}
	if want := `{"field":"Mill Piece","operation":"spraying","implement":{"name":"24 m boom","operation":"spraying","antenna_to_hitch_m":1.8,"antenna_right_m":0,"mount":"rigid","hitch_to_bar_m":0,"bar_right_m":0,"sections_m":[12,12]},"crop":"Spring oats","adjust":[{"tank":2,"product":{"name":"Rust guard"},"target":"1.2 l/ha"}]}`; said.lines[0] != want {
		t.Errorf("said\n%s\nwant\n%s", said.lines[0], want)
	}
	for body, want := range map[string]string{
		`{"field":"Mill Piece","tanks":[{"tank":1,"product":"Urea 46","target":"40 l/ha"}]}`:    "tanks[0].target 40 l/ha",
		`{"field":"Mill Piece","tanks":[{"tank":1,"product":"a\tb"}]}`:                          `tanks[0].product "a\tb"`,
		`{"field":"Mill Piece","implement":"plough","season":"s"}`:                              "season s|implement plough",
		`{"field":"Mill Piece","tanks":[{"tank":0}]}`:                                           "tanks[0].tank 0",
		`{"field":"` + strings.Repeat("x", 201) + `"}`:                                          `field "` + strings.Repeat("x", 99) + "…",
		`{"fields":"Mill Piece"}`:                                                               `fields {"fields":"Mill Piece"}`,
		`{"field":"Mill Piece","tanks":[{"tank":1,"product":"Urea 46","target":"Mill Piece"}]}`: "tanks[0].target Mill Piece",
	} {
		if got := faults(t, s, "/api/begin", body); got != want {
			t.Errorf("%s:\ngot  %s\nwant %s", body, got, want)
		}
	}
	if len(said.lines) != 1 {
		t.Errorf("said in spite of faults: %v", said.lines[1:])
	}
}

// Tanks in mid-field: another product, another target, a refill.
func TestTanks(t *testing.T) {
	t.Parallel()
	said := &heard{}
	s := serverOf(t, farmDesk(t, said))
	for _, c := range []struct{ path, body, want string }{
		{"/api/tanks/1/product", `{"product":"Urea 46","target":"50 kg/ha"}`, `{"adjust":[{"tank":1,"product":{"name":"Urea 46","kind":"granular"},"target":"50 kg/ha"}]}`},
		{"/api/tanks/1/product", `{"target":"120 kg/ha"}`, `{"adjust":[{"tank":1,"target":"120 kg/ha"}]}`},
		{"/api/tanks/3/product", `{"product":"Winter rye"}`, `{"adjust":[{"tank":3,"product":{"name":"Winter rye"}}]}`},
		{"/api/tanks/1/refill", `{"amount":"1200 kg","lot":"L-204","person":"Driver"}`, `{"refill":{"tank":1,"amount":"1200 kg","lot":"L-204","person":"Driver"}}`},
		{"/api/tanks/1/refill", `{"level":"300 lb"}`, `{"refill":{"tank":1,"level":"300 lb"}}`},
		{"/api/tanks/2/refill", `{"amount":"800 l"}`, `{"refill":{"tank":2,"amount":"800 l"}}`},
	} {
		said.lines = nil
		if got := answer[sayingJSON](t, s, "POST", c.path, c.body); !got.Recorded || len(said.lines) != 1 || said.lines[0] != c.want {
			t.Errorf("%s %s: said %v, want %s", c.path, c.body, said.lines, c.want)
		}
	}
	said.lines = nil
	if got := answer[sayingJSON](t, s, "POST", "/api/tanks/1/product", `{"product":"Spring oats","target":"112 kg/ha"}`); got.Recorded || got.Line != nil || len(said.lines) > 0 {
		t.Errorf("what is in force is said again: %v", said.lines)
	}
	for _, c := range []struct{ path, body, want string }{
		{"/api/tanks/1/product", `{"product":"Urea 46","target":"50 l/ha"}`, "target 50 l/ha"},
		{"/api/tanks/1/product", `{"product":" "}`, "product neither product nor target"},
		{"/api/tanks/1/refill", `{}`, " neither amount nor level"},
		{"/api/tanks/1/refill", `{"amount":"1 kg","level":"2 kg"}`, " both amount and level"},
		{"/api/tanks/1/refill", `{"amount":"some"}`, "amount some"},
		{"/api/tanks/1/refill", `{"amount":"40 l"}`, "amount l"},
		{"/api/tanks/100/refill", `{"amount":"40 kg"}`, "path.tank 100"},
	} {
		if got := faults(t, s, c.path, c.body); got != c.want {
			t.Errorf("%s %s:\ngot  %s\nwant %s", c.path, c.body, got, c.want)
		}
	}
	if len(said.lines) > 0 {
		t.Errorf("said in spite of faults: %v", said.lines)
	}
}

// A product made on the spot is in the catalogue and in the tank, or nothing is done.
func TestQuickProduct(t *testing.T) {
	t.Parallel()
	said := &heard{}
	c := farmDesk(t, said)
	told := 0
	c.CatalogChanged = func(context.Context, catalog.Kind) error { told++; return nil }
	s := serverOf(t, c)
	got := answer[quickDoneJSON](t, s, "POST", "/api/products/quick", `{"name":"Farm mix","kind":"granular","analysis":{"n_pct":22.8,"p2o5_pct":20.8,"k2o_pct":12},"tank":1,"rate":"250 kg/ha"}`)
	if got.Said == nil || !got.Said.Recorded || got.Problem != nil || told != 1 {
		t.Errorf("%+v, told %d times", got, told)
	}
	if want := `{"adjust":[{"tank":1,"product":{"name":"Farm mix","kind":"granular"},"target":"250 kg/ha"}]}`; len(said.lines) != 1 || said.lines[0] != want {
		t.Errorf("said %v", said.lines)
	}
	p, err := c.Catalog.Products.Get(t.Context(), catalog.ID(got.ID))
	if err != nil || p.Analysis.P2O5Pct != 20.8 || p.Has&catalog.HasAnalysis == 0 {
		t.Errorf("in the catalogue: %+v, %v", p, err)
	}
	if only := answer[quickDoneJSON](t, s, "POST", "/api/products/quick", `{"name":"Winter rye","kind":"seed","thousand_kernel_g":32}`); only.Said != nil || only.ID == "" {
		t.Errorf("%+v", only)
	}
	for body, want := range map[string]string{
		`{"name":"Farm mix","kind":"granular"}`:                               "name Farm mix, the name of another product",
		`{"name":" ","kind":"seed"}`:                                          "name nothing",
		`{"name":"Oats","kind":"seed","analysis":{"n_pct":5}}`:                "analysis it for a product of the kind seed",
		`{"name":"Oats","kind":"seed","tank":1,"rate":"40 l/ha"}`:             "rate 40 l/ha",
		`{"name":"Oats","kind":"seed","rate":"40 kg/ha"}`:                     "tank nothing",
		`{"name":"Oats","kind":"porridge"}`:                                   `kind "porridge"`,
		`{"name":"Oats\u0007","kind":"seed","tank":1}`:                        `name "Oats\a"`,
		`{"name":"Mix","kind":"granular","analysis":{"n_pct":60,"s_pct":60}}`: "analysis 120 % in all",
		`{"name":"Mix","kind":"liquid","density_kg_per_l":128,"tank":2}`:      "density_kg_per_l 128",
	} {
		before := len(said.lines)
		if got := faults(t, s, "/api/products/quick", body); got != want {
			t.Errorf("%s:\ngot  %s\nwant %s", body, got, want)
		}
		if len(said.lines) != before {
			t.Errorf("%s: said in spite of faults", body)
		}
	}
	if all, err := c.Catalog.Products.List(t.Context(), catalog.Which{}); err != nil || len(all) != 6 {
		t.Errorf("%d products, %v", len(all), err)
	}
}

// The recorder's disk is full: the product is made, and it is told that it is not in
// the tank.
func TestQuickProductNotSaid(t *testing.T) {
	t.Parallel()
	s := serverOf(t, farmDesk(t, &heard{refuse: fmt.Errorf("no space left on device")}))
	got := answer[quickDoneJSON](t, s, "POST", "/api/products/quick", `{"name":"Winter rye","kind":"seed","tank":1}`)
	if got.Problem == nil || !strings.Contains(*got.Problem, "not in the tank: nothing was recorded") || got.Said != nil {
		t.Errorf("%+v", got)
	}
}

// What was laid last is offered before the rest, and whoever worked last too.
func TestChoicesRemember(t *testing.T) {
	t.Parallel()
	c := farmDesk(t, &heard{})
	book, err := recent.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	s := atGate()
	s.Snapshot.Work.InForce.Person = "Helper"
	s.Snapshot.Work.Operation = &coverage.OperationNow{Number: 1, Field: "Far Reach", Name: "spreading", Products: []coverage.ProductNow{{Tank: 1, Product: "Urea 46", Unit: "kg", AreaM2: 500}}}
	book.Observe(s)
	c.Recent = book
	got := answer[choicesJSON](t, serverOf(t, c), "GET", "/api/choices?field=Mill+Piece", "")
	var order []string
	for _, p := range got.Products {
		order = append(order, p.From+" "+p.Name)
	}
	slices.Sort(order[:2]) // of the same order, in whichever order
	if all := strings.Join(order, ", "); all != "plan Spring oats, plan Starter, plan Rust guard, last Urea 46" {
		t.Error(all)
	}
	if got.Begin.Person == nil || *got.Begin.Person != "Driver" || *got.LastPerson != "Helper" { // the only one of the catalogue
		t.Errorf("%+v, last %v", got.Begin, got.LastPerson)
	}
}

// The list of what is missing, of a machine at the gate and of one at work.
func TestReady(t *testing.T) {
	t.Parallel()
	c := farmDesk(t, &heard{})
	s := serverOf(t, c)
	kinds := func() string {
		t.Helper()
		var all []string
		for _, i := range answer[readyJSON](t, s, "GET", "/api/ready", "").Items {
			all = append(all, i.Kind+" "+i.Step.Do)
		}
		return strings.Join(all, ", ")
	}
	if got := kinds(); got != "no_field begin, no_person choose_person" {
		t.Error(got)
	}
	state := atGate()
	state.Snapshot.Work.Operation = &coverage.OperationNow{Field: "Mill Piece", Name: "seeding", HasBoundary: true}
	state.Snapshot.Work.InForce.Person = "Driver"
	c.Hub.Publish(state)
	if got := kinds(); got != "" {
		t.Error(got)
	}
	state.Replay = &live.Replay{}
	state.Snapshot.Work.InForce.Person = ""
	c.Hub.Publish(state)
	if got := kinds(); got != "" {
		t.Errorf("of a recorded session: %s", got)
	}
}

// How far a tank reaches is in the state.
func TestOutlookInState(t *testing.T) {
	t.Parallel()
	s := atWork()
	s.Snapshot.Work.Tanks[0].LevelFrom = coverage.LevelFromRefills
	s.Outlook.Tanks = []supply.Outlook{{
		Tank: 1, AreaLeftM2: 26_548, HasArea: true, DistanceLeftM: 2212, HasDistance: true, TimeLeftS: 885, HasTime: true,
		ThisPass: supply.No, NextPass: supply.No, RunsOut: supply.Place{LonDeg: -0.012, LatDeg: 53.352, InM: 120, InS: 48, HasInS: true},
	}}
	hub := &live.Hub{}
	hub.Publish(s)
	tanks := answer[stateJSON](t, serverOf(t, Config{Hub: hub}), "GET", "/api/state", "").Tanks
	if got := tanks[0]; *got.LevelFrom != "refills" || *got.TimeLeftS != 885 || *got.DistanceLeftM != 2212 || *got.AreaLeftM2 != 26_548 || got.RunsOut.InM != 120 || *got.RunsOut.InS != 48 || !*got.NextPassShort {
		t.Errorf("%+v", got)
	}
	if got := tanks[1]; got.LevelFrom != nil || got.TimeLeftS != nil || got.RunsOut != nil || got.NextPassShort != nil {
		t.Errorf("of a tank that nothing is known of: %+v", got)
	}
}
