package controller

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The worked examples of published bulletins, carried through the units,
// OverGround, OverArea, As and the scale of a column. Where a bulletin rounds,
// our value must round to its figure.

const gpaSource = "UF/IFAS EDIS WG013, https://edis.ifas.ufl.edu/publication/wg013; Univ. of Missouri Extension G1270A"

func TestSprayerRateFromFlow(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		flow, speed string
		widthM      float64
		unit        string
		want, tol   float64
		source      string
	}{
		{"24 l/min", "12 km/h", 12, "l/ha", 100, 1e-12, "Countryco Training, Queensland, course page: 24 L/min, 200 m/min, 12 m"},
		{"480 floz/min", "5 mph", 18.5 * FootM, "gal/ac", 20, 0.1, "Albany County (Wyoming) Weed and Pest District, 1/128 method"},
		{"3.75 gal/min", "5 mph", 222 * InchM, "gal/ac", 5940 * 3.75 / (5 * 222), 1e-12, gpaSource},
		{"1 gal/min", "1 mph", 1 * FootM, "gal/ac", 495, 1e-10, "width in feet: Mesa County CO prints both constants"},
		{"1 gal/min", "1 mph", 1 * InchM, "gal/ac", 5940, 1e-9, gpaSource},
		{"49.41176470588235 floz/min", "4.090909090909091 mph", 40 * InchM, "gal/ac", 14, 0.05,
			"LSU AgCenter, Ounces Equal Gallons: 14 fl oz in 17 s over 102 ft of 40 in rows"},
		{"2.1551724137931 floz/min", "5 mph", 20 * InchM, "gal/ac", 1, 1e-3, "catch time of 1/128 acre: 27.84 s for 1 fl oz at 1 gal/ac; arithmetic"},
		{"0.40404 gal/min", "6 mph", 20 * InchM, "gal/ac", 20, 1e-3, gpaSource + ", turned round"},
		{"0.40 gal/min", "6 mph", 20 * InchM, "gal/ac", 19.80, 1e-4, gpaSource},
		{"0.2828282828 gal/min", "6 mph", 14 * InchM, "gal/ac", 20, 1e-6, "band rate; arithmetic"},
		{"0.2828282828 gal/min", "6 mph", 40 * InchM, "gal/ac", 7, 1e-6, "14 in band on 40 in rows: 7 gal/ac of field; arithmetic"},
	} {
		rate, ok := mustQuantity(t, c.flow).OverGround(mustQuantity(t, c.speed).SI, c.widthM)
		if !ok {
			t.Errorf("%s at %s over %g m: not known", c.flow, c.speed, c.widthM)
			continue
		}
		near(t, fmt.Sprintf("%s at %s over %g m (%s)", c.flow, c.speed, c.widthM, c.source), in(t, rate, c.unit), c.want, c.tol)
	}
}

// l/ha = 600 x l/min / (km/h x m), printed in general sprayer manuals, and
// gal/ac = 5940 x gal/min / (mph x in), as above, whatever the numbers.
func TestSprayerFormulas(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		flow := rapid.Float64Range(0.01, 500).Draw(rt, "flow")
		speed := rapid.Float64Range(0.5, 40).Draw(rt, "speed")
		width := rapid.Float64Range(0.1, 60).Draw(rt, "width")
		for _, f := range []struct {
			flow, speed, rate string
			toM, constant     float64
		}{
			{"l/min", "km/h", "l/ha", 1, 600},
			{"gal/min", "mph", "gal/ac", InchM, 5940},
		} {
			q, ok := mustUnit(t, f.flow).Quantity(flow).OverGround(mustUnit(t, f.speed).Quantity(speed).SI, width*f.toM)
			got, want := in(t, q, f.rate), f.constant*flow/(speed*width)
			if !ok || math.Abs(got-want) > 1e-12*want {
				rt.Errorf("%g %s at %g %s over %g: got %g %s, want %g", flow, f.flow, speed, f.speed, width, got, f.rate, want)
			}
		}
	})
}

// The course on which ounces caught are gallons per acre.
func TestOuncesEqualGallons(t *testing.T) {
	t.Parallel()
	// length_ft is the course of a boom or nozzle spacing width_in wide.
	for _, c := range []struct {
		widthIn, lengthFt, tol float64
		source                 string
	}{
		{9 * 12, 37.8, 0.05, "Utah State Univ. Extension Horticulture/Vegetables/2014-03"},
		{12 * 12, 28.4, 0.05, "same"}, {15 * 12, 22.7, 0.05, "same"},
		{18.4476 * 12, 18.4476, 1e-4, "square of 1/128 acre; arithmetic"},
		// Barbosa, Koske, Parish, LSU AgCenter, "Ounces Equal Gallons"; some of its
		// figures are cut, not rounded.
		{10, 408, 0.75, "LSU"}, {12, 340, 0.75, "LSU"}, {14, 291, 0.75, "LSU"}, {16, 255, 0.75, "LSU"}, {18, 227, 0.75, "LSU"},
		{20, 204, 0.75, "LSU"}, {22, 185, 0.75, "LSU"}, {24, 170, 0.75, "LSU"}, {26, 157, 0.75, "LSU"}, {28, 146, 0.75, "LSU"},
		{30, 136, 0.75, "LSU"}, {32, 127, 0.75, "LSU"}, {40, 102, 0.75, "LSU"},
	} {
		caught, ok := mustQuantity(t, "1 gal/ac").OverArea(c.lengthFt * FootM * c.widthIn * InchM)
		if !ok {
			t.Fatal("1 gal/ac over the course: not known")
		}
		near(t, fmt.Sprintf("course in ft for %g in (%s)", c.widthIn, c.source), c.lengthFt/in(t, caught, "floz"), c.lengthFt, c.tol)
	}
	amount, _ := mustQuantity(t, "20 gal/ac").OverArea(10 * AcreM2)
	near(t, "20 gal/ac over 10 ac in gal", in(t, amount, "gal"), 200, 1e-10)
	amount, _ = mustQuantity(t, "112 kg/ha").OverArea(3 * HectareM2)
	near(t, "112 kg/ha over 3 ha in kg", amount.SI, 336, 1e-10)
}

// Field capacity in acres an hour: a flow of that many gal/h at that speed over
// the effective width puts down 1 gal/ac.
func TestFieldCapacity(t *testing.T) {
	t.Parallel()
	const iowa = "Iowa State Univ. Extension AgDM A3-24, Table 1"
	const progressive = "Progressive Forage, Farm field equipment efficiency versus capacity"
	for _, c := range []struct {
		widthFt, mph, efficiency, printed float64
		source                            string
	}{
		{40, 6, 0.70, 20.4, iowa}, {50, 6, 0.70, 25.5, iowa}, {60, 6, 0.68, 29.7, iowa},
		{60, 12, 0.68, 59.3, iowa}, {80, 6, 0.68, 39.6, iowa}, {80, 12, 0.68, 79.1, iowa},
		{30, 5, 1, 18.2, progressive}, {30, 5, 0.8, 14.5, progressive}, {30, 5, 0.6, 10.9, progressive},
		{8.25, 1, 1, 1, "Univ. of Kentucky AEN-73: width x speed / 8.25"},
	} {
		rate, ok := mustUnit(t, "gal/h").Quantity(c.printed).OverGround(
			mustUnit(t, "mph").Quantity(c.mph).SI, c.widthFt*FootM*c.efficiency)
		if !ok {
			t.Fatalf("%+v: not known", c)
		}
		near(t, fmt.Sprintf("acres/h of %g ft at %g mph, %g (%s)", c.widthFt, c.mph, c.efficiency, c.source), c.printed/in(t, rate, "gal/ac"), c.printed, 0.05)
	}
	// ha/h = km/h x m / 10, exact.
	rate, _ := mustQuantity(t, "9.6 l/h").OverGround(mustQuantity(t, "8 km/h").SI, 12)
	near(t, "9.6 ha/h of 12 m at 8 km/h, as l/ha of 9.6 l/h", in(t, rate, "l/ha"), 1, 1e-12)
}

func TestSeedingRates(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rate            string
		thousandKernelG float64
		amount          Dim
		unit            string
		want, tol       float64
		source          string
	}{
		{"1 seeds/ft2", 10.413048, DimMass, "lb/ac", 1, 1e-6, "divisor 453 592.37 / 43 560; arithmetic"},
		{"40 seeds/ft2", 37, DimMass, "lb/ac", 142, 1, "Advancing Seed in Alberta, spring 2019, p. 16"},
		{"40 seeds/ft2", 41, DimMass, "lb/ac", 157, 1, "same"},
		{"20 seeds/ft2", 4, DimMass, "lb/ac", 7.7, 0.05, "10 plants at 50 %: Canola Council of Canada, Canola Watch 17 May 2010"},
		{"5.5 lb/ac", 5, DimCount, "seeds/ft2", 11.5, 0.05, "Canola Council of Canada, Canola Watch 11 May 2016"},
		{"5.5 lb/ac", 5, DimCount, "seeds/ac", 499400, 500, "same, which takes 454 g to the pound"},
		{"85.22727272727 seeds/ft2", 5, DimMass, "lb/ac", 40.9, 0.05, "45 flax plants at 88 % and 60 %: Manitoba, CropChatter, prints 43 with the divisor rounded to 10"},
		{"1362229.102167 seeds/ac", 453.59237 / 12.5, DimMass, "lb/ac", 110, 1.5, "1.1 million at 15 % loss and 95 %, 12 500 seeds/lb: NDSU Extension, Optimal Seeding Rates"},
		{"1275917.065390 seeds/ac", 453.59237 / 16, DimMass, "lb/ac", 1.3 * 60, 0.05 * 60, "1.2 million at 95 % and 99 %, 16 000 seeds/lb, 60 lb/bu: SDSU agronomists, 2014"},
		{"352.9411764706 seeds/m2", 35, DimMass, "kg/ha", 123.53, 0.01, "300 plants at 85 %: formula in Manitoba/Alberta farm press"},
	} {
		q, ok := mustQuantity(t, c.rate).As(c.amount, c.thousandKernelG)
		if !ok {
			t.Errorf("%+v: not known", c)
			continue
		}
		near(t, fmt.Sprintf("%s of %g g per 1000 in %s (%s)", c.rate, c.thousandKernelG, c.unit, c.source), in(t, q, c.unit), c.want, c.tol)
	}
}

// One seed has the ground of its row spacing times its distance in the row.
func TestSeedSpacing(t *testing.T) {
	t.Parallel()
	const ft, in0 = FootM, InchM
	const tennessee = "Univ. of Tennessee, UTcrops News Blog, April 2011: 1/1000 acre"
	for _, c := range []struct {
		rate              string
		alongM, spacingIn float64
		tolM, seeds       float64
		source            string
	}{
		{"1000 seeds/ac", 74*ft + 8*in0, 7, ft / 12, 1, "arithmetic"}, {"1000 seeds/ac", 69*ft + 8*in0, 7.5, ft / 12, 1, "arithmetic"},
		{"1000 seeds/ac", 34*ft + 10*in0, 15, ft / 12, 1, tennessee}, {"1000 seeds/ac", 26*ft + 2*in0, 20, ft / 12, 1, tennessee},
		{"1000 seeds/ac", 23*ft + 9*in0, 22, ft / 12, 1, "arithmetic"}, {"1000 seeds/ac", 17*ft + 5*in0, 30, ft / 12, 1, tennessee},
		{"1000 seeds/ac", 14*ft + 6*in0, 36, ft / 12, 1, tennessee}, {"1000 seeds/ac", 13*ft + 9*in0, 38, ft / 12, 1, tennessee},
		{"1 seeds/ac", 17424 * ft, 30, 1e-9, 1, "Penn State, via farms.com: row feet to the acre"},
		{"29621 seeds/ac", 1 * ft, 30, 1e-5, 1.7, "Penn State, via farms.com: 1.7 plants a foot, about 30 000"},
		{"1 seeds/ft2", 24 * in0, 6, 0.05 * in0, 1, "Univ. of Kentucky seed rate page: 1 ft2 of a drilled row"}, {"1 seeds/ft2", 20.6 * in0, 7, 0.05 * in0, 1, "same"},
		{"1 seeds/ft2", 18 * in0, 8, 0.05 * in0, 1, "same"}, {"1 seeds/ft2", 14.4 * in0, 10, 0.05 * in0, 1, "same"}, {"1 seeds/ft2", 36 * in0, 4, 0.05 * in0, 1, "same"},
		{"32000 seeds/ac", 6.5 * in0, 30, 0.05 * in0, 1, "Farm Forum 2013"},
	} {
		n, ok := mustQuantity(t, c.rate).OverArea(c.alongM * c.spacingIn * InchM)
		if !ok {
			t.Fatalf("%+v: not known", c)
		}
		near(t, fmt.Sprintf("m of %g in rows for %g seeds at %s (%s)", c.spacingIn, c.seeds, c.rate, c.source), c.alongM/n.SI*c.seeds, c.alongM, c.tolM)
	}
}

// Nutrient from product: the scale of a column, which is how a profile reads
// one from the other.
func TestNutrientByScale(t *testing.T) {
	t.Parallel()
	const manitoba = "Manitoba Agriculture, Soil Fertility Guide, Calculating Fertilizer Rates"
	for _, c := range []struct {
		raw       string
		scale     float64
		unit      string
		want, tol float64
		source    string
	}{
		{"30", 0.11, "lb/ac", 3.30, 1e-12, "11-52-0: N; arithmetic"},
		{"30", 0.52, "lb/ac", 15.60, 1e-12, "11-52-0: P2O5; arithmetic"},
		{"174", 0.46, "lb/ac", 80, 0.25, manitoba}, {"77", 0.52, "lb/ac", 40, 0.25, manitoba},
		{"77", 0.11, "lb/ac", 8.5, 0.05, manitoba}, {"25", 0.60, "lb/ac", 15, 0.25, manitoba},
		{"20", 2.97, "lb/ac", 59.4, 0.05, "J. Camberato, Purdue Extension, Indiana Prairie Farmer 17 Jan 2023: 20 gal/ac at 2.97 lb N/gal"},
		{"1", 0.28 * 10.66, "lb/ac", 2.985, 1e-3, "28-0-0 at 10.66 lb/gal; arithmetic"},
		{"1", 0.32 * 11.06, "lb/ac", 3.539, 1e-3, "32-0-0, Estimated Physical Characteristics of Fertilizer Material; arithmetic"},
		{"1", 0.34 * 11.65, "lb/ac", 3.961, 1e-3, "10-34-0 P2O5, same; arithmetic"},
	} {
		d := newDecoder(t, ProfileSpec{Kind: "delimited", Columns: []ColumnSpec{
			{Column: "1", Field: "rate", Tank: 1, Unit: c.unit, Scale: &c.scale}}}, Defaults{})
		r, e := d.Line([]byte(c.raw))
		if e != nil || len(r.Tanks) != 1 {
			t.Errorf("%+v: got %+v, %v", c, r, e)
			continue
		}
		near(t, fmt.Sprintf("%s x %g in %s (%s)", c.raw, c.scale, c.unit, c.source), in(t, r.Tanks[0].Rate, c.unit), c.want, c.tol)
	}
	// One tonne of 46-0-0 holds 1014 lb of N (same guide, 2204 lb to the tonne).
	near(t, "lb N in a tonne of 46-0-0", in(t, mustQuantity(t, "1 t"), "lb")*0.46, 1014, 1)
	// Dry catch test: 5 lb over 20 ft x 100 ft are 108.9 lb/ac; arithmetic.
	caught, _ := mustQuantity(t, "108.9 lb/ac").OverArea(20 * FootM * 100 * FootM)
	near(t, "lb caught on 20 ft x 100 ft", in(t, caught, "lb"), 5, 1e-12)
}
