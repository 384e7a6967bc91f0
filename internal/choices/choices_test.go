package choices_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/catalog"
	"drawbar/internal/choices"
	"drawbar/internal/live"
	"drawbar/internal/recent"
	"drawbar/nmea"
	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

var noon = time.Date(2026, 5, 14, 12, 0, 0, 0, time.UTC)

func rate(text string) catalog.Rate {
	r, err := catalog.ParseRate(text)
	if err != nil {
		panic(err)
	}
	return r
}

func square() orb.MultiPolygon {
	return orb.MultiPolygon{{{{-0.003, 53.350}, {0.003, 53.350}, {0.003, 53.354}, {-0.003, 53.354}, {-0.003, 53.350}}}}
}

// farm is Kettle Hollow Farm as far as Mill Piece goes: oats with a starter are
// planned first, then a spray; the machine stands at the gate with nothing stated but
// a drill and two tanks that are metered.
func farm() choices.Input {
	s := &live.State{Now: noon}
	s.Snapshot.Fix = nmea.Fix{Time: noon, Quality: nmea.QualityRTK}
	s.Snapshot.Work.InForce = coverage.InForce{
		Implement: &coverage.Implement{Name: "12 m drill", Operation: "seeding", SectionsM: []float64{6, 6}},
		Tanks: []coverage.TankInForce{
			{Tank: coverage.Tank{Number: 1}, Metered: true, Reported: controller.DimMass},
			{Tank: coverage.Tank{Number: 2}, Metered: true, Reported: controller.DimVolume},
		},
	}
	s.Snapshot.Work.Operation = &coverage.OperationNow{Name: "seeding"}
	meta := func(id string) catalog.Meta { return catalog.Meta{ID: catalog.ID(id), Revision: 1} }
	return choices.Input{
		State: s, Field: "Mill Piece", Outline: square(),
		Around: catalog.Around{
			Field: &catalog.Field{Meta: meta("mill"), Name: "Mill Piece", AreaM2: 60_000},
			Seasons: []catalog.Season{
				{Meta: meta("s25"), Field: "mill", Crop: "Winter wheat", Year: 2025},
				{Meta: meta("s26"), Field: "mill", Crop: "Spring oats", Year: 2026},
			},
			Plans: []catalog.Plan{
				{Meta: meta("p0"), Season: "s25", Order: 1, Operation: "seeding", Product: "urea", Rate: rate("50 kg/ha")},
				{Meta: meta("p1"), Season: "s26", Order: 1, Operation: "seeding", Product: "oats", Rate: rate("112 kg/ha")},
				{Meta: meta("p2"), Season: "s26", Order: 1, Operation: "seeding", Product: "start", Rate: rate("40 l/ha")},
				{Meta: meta("p3"), Season: "s26", Order: 2, Operation: "spraying", Product: "rust", Rate: rate("1.2 l/ha"), Tank: 1},
			},
			Products: []catalog.Product{
				{Meta: meta("oats"), Name: "Spring oats", Kind: catalog.Seed, ThousandKernelG: 38},
				{Meta: meta("rust"), Name: "Rust guard", Kind: catalog.CropProtection, MaxRate: rate("1 l/ha")},
				{Meta: meta("start"), Name: "Starter", Kind: catalog.Liquid},
				{Meta: meta("urea"), Name: "Urea 46", Kind: catalog.Granular},
				{Meta: catalog.Meta{ID: "old", Archived: true}, Name: "Old seed", Kind: catalog.Seed},
			},
			Implements: []catalog.Implement{
				{Meta: meta("drill"), Implement: coverage.Implement{Name: "12 m drill", Operation: "seeding", SectionsM: []float64{6, 6}}},
				{Meta: meta("boom"), Implement: coverage.Implement{Name: "24 m boom", Operation: "spraying", SectionsM: []float64{12, 12}}},
			},
			Tractors: []catalog.Tractor{{Meta: meta("tractor"), Name: "Big tractor", AntennaToHitchM: 1.8}},
			People:   []catalog.Person{{Meta: meta("driver"), Name: "Driver"}, {Meta: meta("helper"), Name: "Helper"}},
		},
		LastPerson: "Driver",
	}
}

// said is the line as it is recorded.
func said(t *testing.T, c choices.Composed) string {
	t.Helper()
	line, err := json.Marshal(c.Line)
	if err != nil {
		t.Fatal(err)
	}
	if _, faults := statement.ParseLine(line); len(faults) > 0 {
		t.Errorf("the line has faults: %v", faults)
	}
	return strings.Replace(string(line), `{"type":"MultiPolygon","coordinates":[[[[-0.003,53.35],[0.003,53.35],[0.003,53.354],[-0.003,53.354],[-0.003,53.35]]]]}`, "OUTLINE", 1)
}

// One touch states all that a complete record has, in one line.
func TestSuggestedIsComplete(t *testing.T) {
	t.Parallel()
	in := farm()
	c := choices.Of(in)
	got, faults := choices.Compose(in, c.Suggested)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	want := `{"field":"Mill Piece","boundary":OUTLINE,"person":"Driver","crop":"Spring oats",` +
		`"adjust":[{"tank":1,"product":{"name":"Spring oats","kind":"seed","thousand_kernel_g":38},"target":"112 kg/ha"},{"tank":2,"product":{"name":"Starter","kind":"liquid"},"target":"40 l/ha"}]}`
	if line := said(t, got); line != want {
		t.Errorf("said\n%s\nwant\n%s", line, want)
	}
	if got.Words != "seeding, Spring oats 112 kg/ha in tank 1, Starter 40 l/ha in tank 2" || len(got.Lacks) > 0 || len(got.Cautions) > 0 {
		t.Errorf("%q, lacks %v, cautions %v", got.Words, got.Lacks, got.Cautions)
	}
}

// What is planned next comes first, then what was laid here, then elsewhere, then
// the rest; each once, archived ones not at all.
func TestOrderOfProducts(t *testing.T) {
	t.Parallel()
	in := farm()
	in.Uses = []recent.Use{
		{Field: "Long Meadow", Operation: "spreading", Product: "Old seed", Target: "90 kg/ha", Tank: 3, At: noon, Order: 3},
		{Field: "Mill Piece", Operation: "seeding", Product: "Winter rye", Target: "80 kg/ha", Tank: 1, At: noon, Order: 2},
		{Field: "Mill Piece", Operation: "seeding", Product: "Spring oats", Target: "100 kg/ha", At: noon, AreaM2: 58_000, Order: 1},
		{Field: "Mill Piece", Operation: "seeding", Product: "Starter", At: noon, AreaM2: 58_000, Order: 1},
	}
	c := choices.Of(in)
	var got []string
	for _, p := range c.Products {
		got = append(got, fmt.Sprintf("%s %s %s", p.From, p.Name, p.Target))
	}
	want := "plan Rust guard 1.2 l/ha|plan Spring oats 112 kg/ha|plan Starter 40 l/ha|here Winter rye 80 kg/ha|last Old seed 90 kg/ha|catalogue Urea 46 "
	if all := strings.Join(got, "|"); all != want {
		t.Errorf("got  %s\nwant %s", all, want)
	}
	var plans []string
	for _, p := range c.Plans {
		plans = append(plans, fmt.Sprintf("%s %.2f %v", p.ID, p.Share, p.Suggested))
	}
	if all := strings.Join(plans, "|"); all != "p1 0.97 false|p2 0.97 false|p3 0.00 true" {
		t.Errorf("plans %s", all)
	}
	// seeding is done: the spray is next, and the boom that sprays
	if c.Suggested.Operation != "spraying" || c.Suggested.Implement != "24 m boom" {
		t.Errorf("suggested %+v", c.Suggested)
	}
	out, faults := choices.Compose(in, c.Suggested)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if len(out.Cautions) != 1 || !strings.Contains(out.Cautions[0], "over the 1.0 L/ha entered as its limit") {
		t.Errorf("cautions %v", out.Cautions)
	}
}

// What a request comes to, or what is wrong with it.
func TestCompose(t *testing.T) {
	t.Parallel()
	nobody, driver := "", "Driver"
	inHand := func(in *choices.Input) {
		w := &in.State.Snapshot.Work
		w.Operation = &coverage.OperationNow{Field: "Mill Piece", Name: "seeding", HasBoundary: true, GrossM2: 5000}
		w.InForce.Person, w.InForce.Crop = "Driver", "Spring oats"
		w.InForce.Tanks[0].Tank = coverage.Tank{Number: 1, Product: coverage.Product{Name: "Spring oats", Kind: coverage.KindSeed, ThousandKernelG: 38}, Target: rate("112 kg/ha").Quantity, Unit: rate("112 kg/ha").Unit}
	}
	for _, c := range []struct {
		name    string
		set     func(*choices.Input)
		request choices.Request
		want    string // the line; or faults, as member: got
	}{
		{"a field alone", nil, choices.Request{Field: "Mill Piece", Boundary: true}, `{"field":"Mill Piece","boundary":OUTLINE,"crop":"Spring oats"}`},
		{"a field without its boundary", nil, choices.Request{Field: "Mill Piece"}, `{"field":"Mill Piece","crop":"Spring oats"}`},
		{"a field that the catalogue does not have", func(in *choices.Input) { in.Around, in.Outline = catalog.Around{}, nil },
			choices.Request{Field: "Mill Piece", Boundary: true}, `{"field":"Mill Piece"}`},
		{"from another field, of which the crop is not known here", func(in *choices.Input) {
			inHand(in)
			in.State.Snapshot.Work.Operation.Field = "Long Meadow"
			in.Around = catalog.Around{}
		}, choices.Request{Field: "Mill Piece"}, `{"field":"Mill Piece","crop":""}`},
		{"what is in force is not said again", inHand, choices.Request{Field: "Mill Piece", Boundary: true, Plans: []catalog.ID{"p1"}, Person: &driver}, `{"field":"Mill Piece"}`},
		{"only the target is another", inHand, choices.Request{Tanks: []choices.TankWish{{Tank: 1, Product: "Spring oats", Target: "120 kg/ha"}}}, `{"adjust":[{"tank":1,"target":"120 kg/ha"}]}`},
		{"a target without a product", inHand, choices.Request{Tanks: []choices.TankWish{{Tank: 1, Target: "300 seeds/m2"}}}, `{"adjust":[{"tank":1,"target":"300 seeds/m2"}]}`},
		{"a person against the plan of a tank", nil, choices.Request{Field: "Mill Piece", Plans: []catalog.ID{"p1"}, Tanks: []choices.TankWish{{Tank: 1, Product: "urea", Target: "50 kg/ha"}, {Tank: 3, Product: "Spring Oats"}}},
			`{"field":"Mill Piece","crop":"Spring oats","adjust":[{"tank":1,"product":{"name":"Urea 46","kind":"granular"},"target":"50 kg/ha"},{"tank":3,"product":{"name":"Spring oats","kind":"seed","thousand_kernel_g":38},"target":"112 kg/ha"}]}`},
		{"a product without a catalogue", nil, choices.Request{Tanks: []choices.TankWish{{Tank: 1, Product: "Winter rye", Target: "80 kg/ha"}}}, `{"adjust":[{"tank":1,"product":{"name":"Winter rye"},"target":"80 kg/ha"}]}`},
		{"nobody works", inHand, choices.Request{Person: &nobody}, `{"person":""}`},
		{"another operation with its machine", inHand, choices.Request{Operation: "spraying", Implement: "boom", Tractor: "big tractor"},
			`{"operation":"spraying","implement":{"name":"24 m boom","operation":"spraying","antenna_to_hitch_m":1.8,"antenna_right_m":0,"mount":"rigid","hitch_to_bar_m":0,"bar_right_m":0,"sections_m":[12,12]}}`},
		{"another machine for the operation in hand begins nothing", inHand, choices.Request{Implement: "24 m boom"},
			`{"implement":{"name":"24 m boom","operation":"seeding","antenna_to_hitch_m":0,"antenna_right_m":0,"mount":"rigid","hitch_to_bar_m":0,"bar_right_m":0,"sections_m":[12,12]}}`},
		{"a tractor before what is hitched on", inHand, choices.Request{Tractor: "tractor"},
			`{"implement":{"name":"12 m drill","operation":"seeding","antenna_to_hitch_m":1.8,"antenna_right_m":0,"mount":"rigid","hitch_to_bar_m":0,"bar_right_m":0,"sections_m":[6,6]}}`},
		{"a tank for the plan that holds its product already", func(in *choices.Input) {
			in.State.Snapshot.Work.InForce.Tanks = []coverage.TankInForce{{Tank: coverage.Tank{Number: 1}}, {Tank: coverage.Tank{Number: 4, Product: coverage.Product{Name: "spring oats"}}}}
		}, choices.Request{Plans: []catalog.ID{"p1"}}, `{"crop":"Spring oats","adjust":[{"tank":4,"product":{"name":"Spring oats","kind":"seed","thousand_kernel_g":38},"target":"112 kg/ha"}]}`},
		{"no tank is known: they are numbered", func(in *choices.Input) { in.State.Snapshot.Work.InForce.Tanks = nil }, choices.Request{Plans: []catalog.ID{"p1", "p2"}},
			`{"crop":"Spring oats","adjust":[{"tank":1,"product":{"name":"Spring oats","kind":"seed","thousand_kernel_g":38},"target":"112 kg/ha"},{"tank":2,"product":{"name":"Starter","kind":"liquid"},"target":"40 l/ha"}]}`},
		{"before there is a session", func(in *choices.Input) { in.State = nil }, choices.Request{Field: "Mill Piece", Plans: []catalog.ID{"p1"}},
			`{"field":"Mill Piece","operation":"seeding","crop":"Spring oats","adjust":[{"tank":1,"product":{"name":"Spring oats","kind":"seed","thousand_kernel_g":38},"target":"112 kg/ha"}]}`},

		{"faults", nil, choices.Request{
			Season: "none", Plans: []catalog.ID{"p9"}, Implement: "12 m plough", Tractor: "Small tractor",
			Tanks: []choices.TankWish{{Tank: 0}, {Tank: 1, Target: "lots"}, {Tank: 2, Target: "40 l/ha"}, {Tank: 2}, {Tank: 3, Product: "Starter", Target: "5 kg/ha"}},
		}, "season: none|implement: 12 m plough|tanks[0].tank: 0|tanks[1].target: lots|tanks[3].tank: tank 2 a second time|tanks[4].target: 5 kg/ha"},
		{"a plan that there is not", nil, choices.Request{Plans: []catalog.ID{"p9", "p1", "p1", "p3"}}, "plans[0]: p9|plans[2]: a plan a second time|plans[3]: a plan for spraying"},
		{"a tractor with nothing behind it", func(in *choices.Input) { in.State.Snapshot.Work.InForce.Implement = nil }, choices.Request{Tractor: "tractor"}, "tractor: tractor"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			in := farm()
			if c.set != nil {
				c.set(&in)
			}
			got, faults := choices.Compose(in, c.request)
			text := ""
			if len(faults) > 0 {
				var all []string
				for _, f := range faults {
					all = append(all, f.Path+": "+f.Got)
				}
				text = strings.Join(all, "|")
			} else {
				text = said(t, got)
			}
			if text != c.want {
				t.Errorf("got  %s\nwant %s", text, c.want)
			}
		})
	}
}

// What a record would lack is named.
func TestLacks(t *testing.T) {
	t.Parallel()
	in := farm()
	in.State.Snapshot.Work.InForce.Implement, in.State.Snapshot.Work.Operation = nil, nil
	in.State.Snapshot.Work.InForce.Tanks[1].Rate = rate("5 l/ha").Quantity
	got, _ := choices.Compose(in, choices.Request{Tanks: []choices.TankWish{{Tank: 1, Product: "Urea 46"}}})
	if all := strings.Join(got.Lacks, ", "); all != "field, boundary, crop, operation, implement, person, target of tank 1, product in tank 2" {
		t.Error(all)
	}
}
