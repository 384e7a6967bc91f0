package records

import (
	"fmt"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/internal/catalog"
	"drawbar/internal/records/recordtest"
)

// farm is a catalogue in a folder.
func farm(t testing.TB, dir, text string) *catalog.Catalog {
	t.Helper()
	c, err := catalog.Open(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Close(); err != nil {
			t.Error(err)
		}
	})
	if _, err := c.Import(t.Context(), "test", []byte("schema: drawbar.catalog.1\n"+text), false); err != nil {
		t.Fatal(err)
	}
	return c
}

// bar is a configuration with a bar of one section below the antenna.
func bar(widthM float64) string {
	return fmt.Sprintf("implement: {name: bar, operation: spreading, antenna_to_hitch_m: 0, mount: rigid, hitch_to_bar_m: 0, sections_m: [%g]}\n", widthM)
}

const (
	acre = controller.AcreM2
	lb   = controller.PoundKg
	mph  = controller.MileM / 3600
)

// Published field capacities, through whole records: passes and turns are driven so
// that the field efficiency is the published one.
func TestCapacityPublished(t *testing.T) {
	t.Parallel()
	const (
		isu = "Iowa State Univ. Extension AgDM A3-24, Table 1"
		pf  = "Progressive Forage, Farm field equipment efficiency versus capacity"
	)
	for _, c := range []struct {
		source              string
		widthFt, speedMPH   float64
		passes, passS, turn int
		efficiency          float64
		acresPerHour        float64
	}{
		{isu, 40, 6, 8, 98, 48, 0.70, 20.4},
		{isu, 50, 6, 8, 98, 48, 0.70, 25.5},
		{isu, 60, 6, 9, 85, 45, 0.68, 29.7},
		{isu, 60, 12, 9, 85, 45, 0.68, 59.3},
		{isu, 80, 6, 9, 85, 45, 0.68, 39.6},
		{isu, 80, 12, 9, 85, 45, 0.68, 79.1},
		{pf, 30, 5, 11, 80, 22, 0.80, 14.5},
		{pf, 30, 5, 4, 90, 80, 0.60, 10.9},
	} {
		t.Run(fmt.Sprintf("%g ft %g mph %g", c.widthFt, c.speedMPH, c.efficiency), func(t *testing.T) {
			t.Parallel()
			dir, width := t.TempDir(), c.widthFt*controller.FootM
			write(t, dir, recordtest.Session{
				Name: "000001-20260514T080000Z", Start: morning, Config: bar(width),
				Jobs: []recordtest.Job{{Passes: c.passes, PassS: c.passS, TurnS: c.turn, SpeedMPS: c.speedMPH * mph, SpacingM: width, Report: "tank.1.rate=100kg/ha"}},
			})
			x := indexed(t, dir, nil)
			all := x.Totals(ByOperation, Filter{}).All
			if all.Operations != 1 || all.CapacityM2PerS == nil {
				t.Fatalf("got %+v", all)
			}
			perHour := *all.CapacityM2PerS * 3600 / acre
			theory := *all.TheoreticalM2PerS * 3600 / acre
			near(t, c.source, &perHour, c.acresPerHour, 0.05)
			near(t, "theoretical, mph x ft / 8.25 (Univ. of Kentucky AEN-73)", &theory, c.speedMPH*c.widthFt/8.25, 0.01)
			near(t, "efficiency", all.Efficiency, c.efficiency, 0.0005)
		})
	}
}

const products = `products:
- {name: Urea 46, kind: granular, analysis: {n_pct: 46}, price: 320 EUR/t}
- {name: Phosphate 11-52, kind: granular, analysis: {n_pct: 11, p2o5_pct: 52}, price: 0.25 EUR/lb}
- {name: Potash 60, kind: granular, analysis: {k2o_pct: 60}}
- {name: Solution 28, kind: liquid, density_kg_per_l: 1.2709969, analysis: {n_pct: 28}, price: 1.10 GBP/l}
- {name: Blend, kind: blend, shares_by: mass, parts: [{product: Urea 46, share: 100}, {product: Phosphate 11-52, share: 100}, {product: Potash 60, share: 50}]}
- {name: Spring oats, kind: seed, thousand_kernel_g: 38, price: 95 EUR/50000 seeds}
- {name: Unanalysed, kind: granular}
`

// Published nutrient sums, through whole records. Manitoba: Manitoba Agriculture, Soil
// Fertility Guide, Calculating Fertilizer Rates. Purdue: J. Camberato, Indiana Prairie
// Farmer 17 Jan 2023; the density is its 2.97 lb N a US gallon over 28 %.
func TestNutrientsPublished(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, product, report           string
		n, p2o5, k2o, tol               float64 // lb/ac
		currency                        string
		costPerAcre                     float64
		unknownNutrients, unknownPrices int
	}{
		{"Manitoba: 80 lb N from 46-0-0 are 174 lb", "Urea 46", "tank.1.rate=174lb/ac", 80, 0, 0, 0.5 * 0.46, "EUR", 174 * lb * 0.32, 0, 0},
		{"Manitoba: 40 lb P2O5 from 11-52-0 are 77 lb and bring 8.5 lb N", "phosphate 11-52", "tank.1.rate=77lb/ac", 8.5, 40, 0, 0.26, "EUR", 77 * 0.25, 0, 0},
		{"Manitoba: 15 lb K2O from 0-0-60 are 25 lb", "Potash 60", "tank.1.rate=25lb/ac", 0, 0, 15, 0.005, "", 0, 0, 1},
		{"Purdue: 20 US gal/ac of 28 % are 59.4 lb N", "Solution 28", "tank.1.rate=20gal/ac", 59.4, 0, 0, 0.05, "GBP", 20 * controller.USGallonL * 1.10, 0, 0},
		{"by hand: 250 of 22.8-20.8-12", "Blend", "tank.1.rate=250lb/ac", 57, 52, 30, 0.01, "", 0, 0, 1},
		{"no analysis", "Unanalysed", "tank.1.rate=100lb/ac", 0, 0, 0, 0, "", 0, 1, 1},
		{"not in the catalogue", "Somebody's", "tank.1.rate=100lb/ac", 0, 0, 0, 0, "", 0, 1, 1},
		{"a seed holds none", "Spring oats", "tank.1.rate=100lb/ac", 0, 0, 0, 0, "EUR", 100 * lb * 1e6 / 38 * 95 / 50000, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			kind := "granular"
			switch c.product {
			case "Solution 28":
				kind = "liquid"
			case "Spring oats":
				kind = "seed"
			}
			write(t, dir, recordtest.Session{
				Name: "000001-20260514T080000Z", Start: morning, Config: bar(12) + fmt.Sprintf("tanks: [{tank: 1, product: {name: %q, kind: %s}}]\n", c.product, kind),
				Jobs: []recordtest.Job{{Say: []string{`{"field":"Mill Piece"}`}, Passes: 4, PassS: 100, TurnS: 10, SpeedMPS: 2.5, SpacingM: 12, Report: c.report}},
			})
			x := indexed(t, dir, farm(t, dir, products))
			all := x.Totals(ByField, Filter{}).All
			per := func(kg float64) *float64 {
				v := kg / lb / (all.LandM2 / acre)
				return &v
			}
			near(t, "N", per(all.Nutrients.NKg), c.n, c.tol)
			near(t, "P2O5", per(all.Nutrients.P2O5Kg), c.p2o5, c.tol)
			near(t, "K2O", per(all.Nutrients.K2OKg), c.k2o, c.tol)
			// The elements by the exact ratios of the atomic weights (IUPAC, from memory).
			near(t, "P", per(all.Nutrients.PKg), 0.436427*c.p2o5, c.tol)
			near(t, "K", per(all.Nutrients.KKg), 0.830151*c.k2o, c.tol)
			if all.Unknown.Nutrients != c.unknownNutrients || all.Unknown.Costs != c.unknownPrices {
				t.Errorf("unknown: got %+v", all.Unknown)
			}
			if c.currency == "" {
				if len(all.Costs) != 0 {
					t.Errorf("costs: got %+v, want none", all.Costs)
				}
				return
			}
			if len(all.Costs) != 1 || all.Costs[0].Currency != c.currency {
				t.Fatalf("costs: got %+v", all.Costs)
			}
			cost := all.Costs[0].Amount / (all.GrossM2 / acre)
			near(t, "cost an acre", &cost, c.costPerAcre, 0.001*c.costPerAcre)
		})
	}
}

// Two people, a change of product in mid-field, a season by dates, and totals of each
// by hand: 4 passes of 100 s at 2.5 m/s and 12 m are 3,000 m2 each.
func TestTotalsByHand(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	write(t, dir, recordtest.Session{
		Name: "000001-20260514T080000Z", Start: morning, Config: bar(12) + "tanks: [{tank: 1, product: {name: Urea 46, kind: granular}}]\n",
		Jobs: []recordtest.Job{
			{
				Say: []string{`{"field":"Mill Piece","person":"driver"}`}, Passes: 4, PassS: 100, TurnS: 10, SpeedMPS: 2.5, SpacingM: 12, Report: "tank.1.rate=200kg/ha",
				SayAt: map[int]string{200: `{"person":"contractor","tanks":[{"tank":1,"product":{"name":"Phosphate 11-52","kind":"granular"}}]}`},
			},
			{Say: []string{`{"field":"Far Reach","operation":"spreading"}`}, Passes: 1, PassS: 100, SpeedMPS: 2.5, EastM: 500, Report: "tank.1.rate=100kg/ha", PauseS: 60},
		},
	})
	x := indexed(t, dir, farm(t, dir, products+"fields:\n- name: Mill Piece\n  seasons: [{crop: Winter wheat, start: \"2025-09-20\", end: \"2026-08-10\"}]\n- name: Far Reach\n"))
	year := "2026"
	got := map[string]Group{}
	for _, by := range Bys() {
		for _, g := range x.Totals(by, Filter{Season: year}).Groups {
			got[string(by)+" "+g.Key] = g
		}
	}
	for _, c := range []struct {
		group       string
		gross, urea float64 // m2, kg; below 0: no urea
		phosphate   float64
		workingS    float64
		operations  int
	}{
		{"field Mill Piece", 12000, 120, 120, 400, 1},
		{"field Far Reach", 3000, -1, 30, 100, 1},
		{"crop Winter wheat", 12000, 120, 120, 400, 1},
		{"crop ", 3000, -1, 30, 100, 1},
		{"person driver", 6000, 120, -1, 200, 1},
		{"person contractor", 9000, -1, 150, 300, 2},
		{"product Urea 46", 6000, 120, -1, 200, 1},
		{"product Phosphate 11-52", 9000, -1, 150, 300, 2},
		{"season 2026", 15000, 120, 150, 500, 2},
		{"operation spreading", 15000, 120, 150, 500, 2},
		{"session 000001-20260514T080000Z", 15000, 120, 150, 500, 2},
	} {
		g, ok := got[c.group]
		if !ok {
			t.Errorf("no group %q", c.group)
			continue
		}
		near(t, c.group+": gross", &g.GrossM2, c.gross, 1)
		near(t, c.group+": working", &g.WorkingS, c.workingS, 0.1)
		amounts := map[string]*float64{}
		for _, p := range g.Products {
			amounts[p.Name] = p.Applied
		}
		for name, want := range map[string]float64{"Urea 46": c.urea, "Phosphate 11-52": c.phosphate} {
			if want < 0 {
				if amounts[name] != nil {
					t.Errorf("%s: %s %g, want none", c.group, name, *amounts[name])
				}
				continue
			}
			near(t, c.group+": "+name, amounts[name], want, 0.02)
		}
		if g.Operations != c.operations {
			t.Errorf("%s: %d operations, want %d", c.group, g.Operations, c.operations)
		}
	}
	if len(got) != 11 {
		t.Errorf("%d groups, want 11", len(got))
	}
	// Who was not there, and a day on which nothing was done.
	nobody := None
	if g := x.Totals(ByField, Filter{Person: &nobody}).All; g.Operations != 0 || len(g.Products) != 0 {
		t.Errorf("of nobody: got %+v", g)
	}
	if g := x.Totals(ByField, Filter{From: morning.Add(24 * time.Hour)}).All; g.Operations != 0 {
		t.Errorf("the day after: got %+v", g)
	}
}
