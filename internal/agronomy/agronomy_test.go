package agronomy_test

import (
	"math"
	"testing"

	"drawbar/controller"
	"drawbar/internal/agronomy"

	"pgregory.net/rapid"
)

const (
	footM2    = controller.FootM * controller.FootM // m2 in a square foot
	lbPerAcre = controller.PoundKg / controller.AcreM2
	lbPerGal  = controller.PoundKg / controller.USGallonL // kg/l
	kgPerHa   = 1.0 / controller.HectareM2
	mph       = controller.MileM / 3600
)

func near(t *testing.T, what string, got float64, ok bool, want, tol float64) {
	t.Helper()
	if !ok || !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6f, %v, want %v within %v", what, got, ok, want, tol)
	}
}

// seedLbPerAcre is a stand in plants per square foot as pounds of seed an acre.
func seedLbPerAcre(plantsPerFt2, tkwG, germination, survival float64) (float64, bool) {
	seeds, ok := agronomy.SeedsPerM2(plantsPerFt2/footM2, germination, survival)
	if !ok {
		return 0, false
	}
	q, ok := agronomy.MassRate(seeds, tkwG)
	return q.SI / lbPerAcre, ok
}

// Published worked examples of seeding rates.
func TestSeedingPublished(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		source                                  string
		plantsPerFt2, tkwG, germ, surv, lb, tol float64
	}{
		{"Advancing Seed in Alberta, spring 2019, p. 16: 40 seeds/ft2 of 37 g", 40, 37, 1, 1, 142, 1},
		{"Advancing Seed in Alberta, spring 2019, p. 16: 40 seeds/ft2 of 41 g", 40, 41, 1, 1, 157, 1},
		{"Canola Council of Canada, Canola Watch 17 May 2010: 10 plants/ft2, 4 g, 50 %; exact divisor", 10, 4, 1, 0.5, 7.683, 0.001},
		{"the same, as printed with 9.6", 10, 4, 1, 0.5, 7.7, 0.05},
		// The article divides by 10 and prints 43; the exact divisor 10.413 gives 40.9.
		{"Manitoba, CropChatter: flax, 45 plants/ft2, 5 g, 88 %, 40 % mortality; exact divisor", 45, 5, 0.88, 0.60, 42.6 * 10 / 10.413048, 0.05},
	} {
		got, ok := seedLbPerAcre(c.plantsPerFt2, c.tkwG, c.germ, c.surv)
		near(t, c.source, got, ok, c.lb, c.tol)
	}

	// Manitoba and Alberta farm press: kg/ha = plants/m2 x TKW / survival %, that is
	// 300 plants/m2, 35 g, 85 % -> 123.53 kg/ha.
	seeds, _ := agronomy.SeedsPerM2(300, 1, 0.85)
	q, ok := agronomy.MassRate(seeds, 35)
	near(t, "300 plants/m2, 35 g, 85 %", q.SI/kgPerHa, ok, 123.53, 0.01)

	// Canola Council of Canada, Canola Watch 11 May 2016: 5.5 lb/ac of 5 g seed is
	// 11.5 seeds/ft2 (499 400 an acre), of which 60 % are about 7 plants.
	q, ok = agronomy.CountRate(controller.Quantity{SI: 5.5 * lbPerAcre, Dim: controller.DimMassPerArea}, 5)
	near(t, "5.5 lb/ac of 5 g", q.SI*footM2, ok, 11.5, 0.05)
	plants, ok := agronomy.PlantsPerM2(q.SI, 1, 0.60)
	near(t, "60 % of it", plants*footM2, ok, 7, 0.2)

	// NDSU Extension, Optimal Seeding Rates: 1 100 000 plants/ac, 15 % loss, 12 500
	// seeds/lb, 95 % germination: 110 lb/ac (108.98 before it is rounded up).
	tkw := 1000 * 1000 * controller.PoundKg / 12_500
	got, ok := seedLbPerAcre(1_100_000/43_560.0, tkw, 0.95, 0.85)
	near(t, "NDSU", got, ok, 110, 1.5)

	// SDSU agronomists, 2014: 1 200 000 / (0.95 x 0.99 x 16 000 x 60) = 1.3 bu/ac of 60 lb.
	tkw = 1000 * 1000 * controller.PoundKg / 16_000
	got, ok = seedLbPerAcre(1_200_000/43_560.0, tkw, 0.95, 0.99)
	near(t, "SDSU", got/60, ok, 1.3, 0.05)

	// Univ. of Kentucky: pounds an acre at 35 and 30 seeds/ft2 (the printed 150 of the
	// first row is wrong by its own arithmetic and left out).
	for _, row := range []struct{ seedsPerLb, at35, at30 float64 }{
		{10_000, 0, 131}, {12_000, 127, 109}, {14_000, 109, 93}, {16_000, 95, 82}, {18_000, 85, 73}, {20_000, 76, 65},
	} {
		tkw := 1000 * 1000 * controller.PoundKg / row.seedsPerLb
		if row.at35 > 0 {
			got, ok := seedLbPerAcre(35, tkw, 1, 1)
			near(t, "Kentucky at 35", got, ok, row.at35, 0.6)
		}
		got, ok := seedLbPerAcre(30, tkw, 1, 1)
		near(t, "Kentucky at 30", got, ok, row.at30, 0.6)
	}

	// Farm Forum 2013: 32 000 plants/ac on 30 inch rows are 6.5 inches apart.
	m, ok := agronomy.SeedSpacingM(32_000/controller.AcreM2, 30*controller.InchM)
	near(t, "seed spacing", m/controller.InchM, ok, 6.5, 0.05)
}

// Published worked examples of nutrients.
func TestNutrientsPublished(t *testing.T) {
	t.Parallel()
	urea, phosphate, potash := agronomy.Analysis{NPct: 46}, agronomy.Analysis{NPct: 11, P2O5Pct: 52}, agronomy.Analysis{K2OPct: 60}
	at := func(a agronomy.Analysis, lb float64) agronomy.Nutrients {
		n, ok := a.In(controller.Quantity{SI: lb * lbPerAcre, Dim: controller.DimMassPerArea}, 0)
		if !ok {
			t.Fatalf("%v lb/ac of %+v: not known", lb, a)
		}
		return n
	}
	// Manitoba Agriculture, Soil Fertility Guide, Calculating Fertilizer Rates.
	for _, c := range []struct{ nutrient, pct, want float64 }{{80, 46, 174}, {40, 52, 77}, {15, 60, 25}} {
		rate, ok := agronomy.RateFor(c.nutrient*lbPerAcre, c.pct)
		near(t, "Manitoba", rate/lbPerAcre, ok, c.want, 0.5)
	}
	near(t, "Manitoba: N that comes with the phosphate", at(phosphate, 40/0.52).NKgPerM2/lbPerAcre, true, 8.5, 0.05)
	// A tonne there is 2204 lb: as a rate an acre, the same arithmetic.
	near(t, "Manitoba: N of a tonne of 46-0-0", at(urea, 2204).NKgPerM2/lbPerAcre, true, 1014, 1)
	near(t, "Manitoba: N of a tonne of 11-52-0", at(phosphate, 2204).NKgPerM2/lbPerAcre, true, 242, 1)
	near(t, "Manitoba: P2O5 of a tonne of 11-52-0", at(phosphate, 2204).P2O5KgPerM2/lbPerAcre, true, 1146, 1)
	if got := at(potash, 25).K2OKgPerM2 / lbPerAcre; math.Abs(got-15) > 1e-9 {
		t.Errorf("25 lb/ac of 0-0-60: got %v lb K2O, want 15", got)
	}

	// Solutions by density. 10.67 lb/gal of 28-0-0, 11.06 of 32-0-0, 11.65 of 10-34-0:
	// "Estimated Physical Characteristics of Fertilizer Material"; 10.6 and 2.97, and 20
	// gal/ac = 59.4 lb N: J. Camberato, Purdue Extension, Indiana Prairie Farmer 17 Jan 2023.
	for _, c := range []struct {
		pct, lbPerGallon, gal, want, tol float64
	}{
		{28, 10.66, 1, 2.985, 0.001}, {28, 10.67, 1, 2.988, 0.001}, {28, 10.6, 1, 2.968, 0.001},
		{28, 2.97 / 0.28, 20, 59.4, 0.05}, {32, 11.06, 1, 3.539, 0.001}, {10, 11.65, 1, 1.165, 0.001}, {34, 11.65, 1, 3.961, 0.001},
	} {
		rate := controller.Quantity{SI: c.gal * controller.USGallonL / controller.AcreM2, Dim: controller.DimVolumePerArea}
		n, ok := agronomy.Analysis{NPct: c.pct}.In(rate, c.lbPerGallon*lbPerGal)
		near(t, "solution", n.NKgPerM2/lbPerAcre, ok, c.want, c.tol)
	}

	// Schwyter and Vaughan, Introduction to Soil Science Laboratory Manual, 8.5: P =
	// 0.44 P2O5, K = 0.83 K2O; 50 lb of 15-10-10 hold 7.5 lb N, 5 lb P2O5, 5 lb K2O.
	n := at(agronomy.Analysis{NPct: 15, P2O5Pct: 10, K2OPct: 10}, 50)
	near(t, "N of the bag", n.NKgPerM2/lbPerAcre, true, 7.5, 1e-9)
	near(t, "P of the bag", n.PKgPerM2()/lbPerAcre, true, 5*0.44, 0.05)
	near(t, "K of the bag", n.KKgPerM2()/lbPerAcre, true, 5*0.83, 0.005)
	near(t, "P in P2O5, two digits", math.Round(agronomy.PInP2O5*100), true, 44, 0)
	near(t, "K in K2O, two digits", math.Round(agronomy.KInK2O*100), true, 83, 0)
	// The exact ratios, by the atomic weights (IUPAC, from memory).
	near(t, "P in P2O5", agronomy.PInP2O5, true, 0.436427, 1e-6)
	near(t, "K in K2O", agronomy.KInK2O, true, 0.830151, 1e-6)
}

func TestBlend(t *testing.T) {
	t.Parallel()
	part := func(share float64, a agronomy.Analysis, density float64) agronomy.Part {
		return agronomy.Part{Share: share, Analysis: a, HasAnalysis: true, DensityKgPerL: density}
	}
	// By hand: 100 kg 46-0-0, 100 kg 11-52-0 and 50 kg 0-0-60 are 250 kg of 22.8-20.8-12.
	parts := []agronomy.Part{part(100, agronomy.Analysis{NPct: 46}, 0), part(100, agronomy.Analysis{NPct: 11, P2O5Pct: 52}, 0), part(50, agronomy.Analysis{K2OPct: 60}, 0)}
	a, ok := agronomy.BlendByMass(parts)
	near(t, "N", a.NPct, ok, 22.8, 1e-12)
	near(t, "P2O5", a.P2O5Pct, ok, 20.8, 1e-12)
	near(t, "K2O", a.K2OPct, ok, 12, 1e-12)
	// By hand: a litre of 28 % N at 1.28 kg/l and a litre of water are 2.28 kg with 0.3584 kg N.
	half := []agronomy.Part{part(1, agronomy.Analysis{NPct: 28}, 1.28), part(1, agronomy.Analysis{}, 1)}
	a, ok = agronomy.BlendByVolume(half)
	near(t, "N by volume", a.NPct, ok, 100*0.3584/2.28, 1e-12)
	d, ok := agronomy.BlendDensity(half, true)
	near(t, "density by volume", d, ok, 1.14, 1e-12)
	d, ok = agronomy.BlendDensity(half, false)
	near(t, "density by mass", d, ok, 2/(1/1.28+1), 1e-12)

	parts[1].HasAnalysis = false
	if a, ok := agronomy.BlendByMass(parts); ok {
		t.Errorf("a blend with an unknown part: got %+v, want not known", a)
	}
	half[1].DensityKgPerL = 0
	if a, ok := agronomy.BlendByVolume(half); ok {
		t.Errorf("a blend by volume with an unknown density: got %+v, want not known", a)
	}
	if a, ok := agronomy.BlendByMass(nil); ok {
		t.Errorf("a blend of nothing: got %+v, want not known", a)
	}
}

// Iowa State Univ. Extension AgDM A3-24 (and PM 696, 2001), table 1; and Univ. of
// Kentucky AEN-73: acres an hour = width in ft x mph x efficiency / 8.25.
func TestCapacityPublished(t *testing.T) {
	t.Parallel()
	const acresPerHour = controller.AcreM2 / 3600
	for _, c := range []struct{ ft, mph, efficiency, want float64 }{
		{40, 6, 0.70, 20.4}, {50, 6, 0.70, 25.5}, {60, 6, 0.68, 29.7}, {60, 12, 0.68, 59.3}, {80, 6, 0.68, 39.6}, {80, 12, 0.68, 79.1},
		// Progressive Forage, "Farm field equipment efficiency versus capacity".
		{30, 5, 1, 18.2}, {30, 5, 0.80, 14.5}, {30, 5, 0.60, 10.9},
	} {
		got, ok := agronomy.Capacity(c.mph*mph, c.ft*controller.FootM, c.efficiency)
		near(t, "capacity", got/acresPerHour, ok, c.want, 0.05)
		near(t, "exact", got/acresPerHour, ok, c.ft*c.mph*c.efficiency/8.25, 1e-9)
		e, ok := agronomy.Efficiency(got*3600, 3600, c.mph*mph, c.ft*controller.FootM)
		near(t, "efficiency", e, ok, c.efficiency, 1e-12)
		s, ok := agronomy.TimeS(got*7200, got)
		near(t, "time", s, ok, 7200, 1e-6)
	}
}

func TestTreatment(t *testing.T) {
	t.Parallel()
	// By hand: 2 ml a kg on 180 kg/ha is 0.36 l/ha.
	got, ok := agronomy.Treatment(180*kgPerHa, 0.002)
	near(t, "treatment", got*controller.HectareM2, ok, 0.36, 1e-12)
}

// Whatever goes in, what comes out with ok is a number from 0 up.
func TestNothingOddLeaves(t *testing.T) {
	t.Parallel()
	odd := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, math.Copysign(0, -1), math.Inf(1), math.Inf(-1), math.NaN(), 1, 0.5, 1e308, 5e-324}))
	rapid.Check(t, func(t *rapid.T) {
		a, b, c, d := odd.Draw(t, "a"), odd.Draw(t, "b"), odd.Draw(t, "c"), odd.Draw(t, "d")
		check := func(what string, v float64, ok bool) {
			if ok && !(v >= 0 && !math.IsInf(v, 0)) {
				t.Fatalf("%s(%v, %v, %v, %v) gave %v", what, a, b, c, d, v)
			}
		}
		wrap := func(what string) func(float64, bool) { return func(v float64, ok bool) { check(what, v, ok) } }
		wrap("SeedsPerM2")(agronomy.SeedsPerM2(a, b, c))
		wrap("PlantsPerM2")(agronomy.PlantsPerM2(a, b, c))
		wrap("SeedSpacingM")(agronomy.SeedSpacingM(a, b))
		wrap("Treatment")(agronomy.Treatment(a, b))
		wrap("Capacity")(agronomy.Capacity(a, b, c))
		wrap("Efficiency")(agronomy.Efficiency(a, b, c, d))
		wrap("TimeS")(agronomy.TimeS(a, b))
		wrap("RateFor")(agronomy.RateFor(a, b))
		q, ok := agronomy.MassRate(a, b)
		check("MassRate", q.SI, ok)
		for dim := controller.DimNone; dim <= controller.DimSpeed; dim++ {
			q, ok = agronomy.CountRate(controller.Quantity{SI: a, Dim: dim}, b)
			check("CountRate", q.SI, ok)
			n, ok := agronomy.Analysis{NPct: b, P2O5Pct: c, K2OPct: d, SPct: 100}.In(controller.Quantity{SI: a, Dim: dim}, b)
			for _, v := range []float64{n.NKgPerM2, n.P2O5KgPerM2, n.K2OKgPerM2, n.SKgPerM2, n.PKgPerM2(), n.KKgPerM2()} {
				check("In", v, ok)
			}
		}
		parts := []agronomy.Part{
			{Share: a, Analysis: agronomy.Analysis{NPct: c}, HasAnalysis: true, DensityKgPerL: b},
			{Share: b, Analysis: agronomy.Analysis{NPct: d}, HasAnalysis: true, DensityKgPerL: a},
		}
		g, ok := agronomy.BlendByMass(parts)
		check("BlendByMass", g.NPct, ok)
		g, ok = agronomy.BlendByVolume(parts)
		check("BlendByVolume", g.NPct, ok)
		wrap("BlendDensity")(agronomy.BlendDensity(parts, true))
		wrap("BlendDensity")(agronomy.BlendDensity(parts, false))
	})
}

// A stand turned into a rate and back is the same stand.
func TestSeedingThereAndBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		plants, tkw := rapid.Float64Range(0.1, 2000).Draw(t, "plants"), rapid.Float64Range(0.2, 2000).Draw(t, "tkw")
		germ, surv := rapid.Float64Range(0.05, 1).Draw(t, "germination"), rapid.Float64Range(0.05, 1).Draw(t, "survival")
		seeds, _ := agronomy.SeedsPerM2(plants, germ, surv)
		kg, _ := agronomy.MassRate(seeds, tkw)
		back, _ := agronomy.CountRate(kg, tkw)
		got, ok := agronomy.PlantsPerM2(back.SI, germ, surv)
		if !ok || math.Abs(got-plants) > 1e-9*plants {
			t.Fatalf("%v plants/m2 of %v g at %v x %v came back as %v", plants, tkw, germ, surv, got)
		}
	})
}
