package sim

import (
	"math"
	"math/rand/v2"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
)

// product fills in a tank's quantities, in an amount ("kg" or "l") and that per
// hectare.
func product(t coverage.Tank, amount string, perHa, capacity float64) coverage.Tank {
	t.Unit, t.Target = stated(perHa, amount+"/ha")
	_, t.Capacity = stated(capacity, amount)
	return t
}

func stated(v float64, unit string) (controller.Unit, controller.Quantity) {
	u, err := controller.ParseUnit(unit)
	if err != nil {
		panic("sim: " + err.Error()) // a unit written in this file
	}
	return u, u.Quantity(v)
}

// trailedDrill is a 12 m drill on a hitch, with seed and fertiliser.
func trailedDrill() (coverage.Implement, []Tank) {
	im := coverage.Implement{
		Name: "12 m drill", Operation: "seeding", Mount: coverage.MountTowed,
		AntennaToHitchM: 1.8, HitchToAxleM: 6, HitchToBarM: 7.2, SectionsM: []float64{3, 3, 3, 3},
	}
	seed := product(coverage.Tank{
		Number: 1, Product: coverage.Product{Name: "Spring oats", Kind: coverage.KindSeed, ThousandKernelG: 38}, LagS: 4,
	}, "kg", 112, 3800)
	fertiliser := product(coverage.Tank{
		Number: 2, Product: coverage.Product{Name: "Granular starter", Kind: coverage.KindGranular}, LagS: 3,
	}, "kg", 150, 2400)
	return im, []Tank{{Tank: seed, RateNoise: 0.02}, {Tank: fertiliser, RateNoise: 0.03}}
}

// Demo is a morning on Mill Piece, about 3 ha across the Greenwich meridian: a
// 12 m drill on a hitch, seed and fertiliser, section control over covered
// ground, RTK, one plugged section for a while, a few lines spoilt on the way,
// two marks by the operator.
func Demo(seed uint64) Scenario {
	sc := Default()
	sc.Seed = seed
	sc.Implement, sc.Tanks = trailedDrill()
	sc.Field = Field{
		Name:    "Mill Piece",
		Outline: []Point{{0, 0}, {186, 0}, {210, 140}, {92, 148}, {0, 136}},
		LatDeg:  53.3, LonDeg: -0.0018, TurnDeg: 8,
	}
	sc.Drive = Drive{
		HeadingDeg: 82, SpacingM: 11.8, HeadlandPasses: 2, RadiusM: 7.5, RunInM: 2, RunOutM: 0.5,
		WorkMPS: 3.6, TurnMPS: 2.5, AccelMPS2: 0.6, Wobble: 0.06, StandS: 4,
	}
	sc.Control = Control{Mode: ControlCovered, Edge: EdgeLast, OnLateS: 0.1, OffLateS: 0.1, ScatterS: 0.08}
	sc.Machine = Machine{
		HZ: 2, OnChange: true, LatencyS: 0.06, JitterS: 0.03, Damaged: 0.002,
		Plugs: []Plug{{Section: 1, Span: Span{FromS: 330, ForS: 60}}},
	}
	sc.Receiver = Receiver{
		HZ: 5, Talker: "GN", Class: ClassRTK, LatencyS: 0.05, JitterS: 0.02, Baud: 38400, Damaged: 0.001,
		PositionDecimals: 7,
		Sentences:        []Sentence{{Formatter: "GGA"}, {Formatter: "VTG"}, {Formatter: "ZDA", Every: 5}},
	}
	sc.Orders = []Order{
		{AtS: 2, JSON: `{"person":"drill operator","weather":{"wind_mps":3,"wind_from_deg":250,"temperature_c":11,"humidity_pct":68}}`},
		{AfterPass: 1, JSON: `{"mark":{"kind":"stone","note":"large, lift next winter","at":"antenna"}}`},
		{AfterPass: 6, JSON: `{"mark":{"kind":"wet spot","note":"","at":"bar"}}`},
	}
	return sc
}

// Meadow is a spraying of Long Meadow: 24 m mounted sprayer, eight sections
// against oblique ends, one liquid, satellite correction.
func Meadow(seed uint64) Scenario {
	sc := Default()
	sc.Seed = seed
	sc.Implement = coverage.Implement{
		Name: "24 m sprayer", Operation: "spraying", Mount: coverage.MountRigid,
		AntennaToHitchM: 2.1, AntennaRightM: 0.4, HitchToBarM: 1.6, SectionsM: []float64{3, 3, 3, 3, 3, 3, 3, 3},
	}
	sc.Tanks = []Tank{{RateNoise: 0.03, Tank: product(coverage.Tank{
		Number: 1, Product: coverage.Product{Name: "Leaf feed", Kind: coverage.KindLiquid}, LagS: 0.6,
	}, "l", 160, 1000)}}
	sc.Field = Field{
		Name: "Long Meadow", Outline: []Point{{0, 0}, {520, 0}, {470, 190}, {60, 190}},
		LatDeg: 53.31, LonDeg: 0.012, TurnDeg: 25,
	}
	sc.Drive = Drive{
		HeadingDeg: 65, HeadlandPasses: 1, RadiusM: 9, RunInM: 6, RunOutM: 2,
		WorkMPS: 3.4, TurnMPS: 2.4, AccelMPS2: 0.7, Wobble: 0.05, StandS: 5, RefillS: 240,
	}
	sc.Control = Control{Mode: ControlCovered, Edge: EdgeLast, ScatterS: 0.05}
	sc.Machine = Machine{HZ: 5, OnChange: true, LatencyS: 0.04, JitterS: 0.02}
	sc.Receiver = Receiver{
		HZ: 10, Talker: "GN", Class: ClassDGPS, LatencyS: 0.08, JitterS: 0.03, Baud: 115200,
		Sentences: []Sentence{{Formatter: "GGA"}, {Formatter: "VTG"}, {Formatter: "GST", Every: 10}, {Formatter: "ZDA", Every: 10}},
	}
	return sc
}

// Day is a long day on Far Reach: about twelve hours, 18 m, ten sections, 10 Hz
// GGA, RMC and VTG, five reports a second.
func Day(seed uint64) Scenario {
	sc := Default()
	sc.Seed = seed
	sc.Start = time.Date(2026, 5, 20, 4, 30, 0, 0, time.UTC)
	sc.Implement = coverage.Implement{
		Name: "18 m drill", Operation: "seeding", Mount: coverage.MountTowed,
		AntennaToHitchM: 1.9, HitchToAxleM: 7, HitchToBarM: 8.2,
	}
	for range 10 {
		sc.Implement.SectionsM = append(sc.Implement.SectionsM, 1.8)
	}
	_, sc.Tanks = trailedDrill()
	_, sc.Tanks[0].Capacity = stated(6500, "kg")
	_, sc.Tanks[1].Capacity = stated(9000, "kg")
	sc.Field = Field{
		Name: "Far Reach", Outline: []Point{{0, 0}, {1420, -30}, {1480, 1330}, {60, 1390}},
		LatDeg: 53.28, LonDeg: 0.02, TurnDeg: -17,
	}
	sc.Drive = Drive{
		HeadingDeg: 108, SpacingM: 17.8, HeadlandPasses: 2, RadiusM: 10, RunInM: 5, RunOutM: 2,
		WorkMPS: 3, TurnMPS: 2.2, AccelMPS2: 0.5, Wobble: 0.08, StandS: 10, RefillS: 1300,
	}
	sc.Control = Control{Mode: ControlPlanned, Edge: EdgeLast, OnLateS: 0.1, OffLateS: 0.1, ScatterS: 0.1}
	sc.Machine = Machine{HZ: 5, OnChange: true, LatencyS: 0.05, JitterS: 0.03}
	sc.Receiver = Receiver{
		HZ: 10, Talker: "GN", Class: ClassRTK, LatencyS: 0.05, JitterS: 0.02, Baud: 115200,
		Sentences: []Sentence{{Formatter: "GGA"}, {Formatter: "RMC"}, {Formatter: "VTG"}},
	}
	return sc
}

// RandomField is a random job of a few minutes in a random convex field: any
// implement, mount, lag, heading and kind of section control, perfect GNSS, no
// faults.
func RandomField(seed uint64) Scenario {
	rng := rand.New(rand.NewPCG(seed, streamField))
	for {
		sc := randomJob(rng, seed)
		if sc.check() != nil {
			continue
		}
		if _, err := NewPlan(&sc); err == nil {
			return sc
		}
	}
}

func randomJob(rng *rand.Rand, seed uint64) Scenario {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	sc := Default()
	sc.Seed = seed
	// Corners on an ellipse: the field is convex.
	n := 4 + rng.IntN(3)
	a, b := between(70, 140), between(60, 110)
	sc.Field.Outline = nil
	for i := range n {
		t := 2 * math.Pi * (float64(i) + between(-0.2, 0.2)) / float64(n)
		sc.Field.Outline = append(sc.Field.Outline, Point{a * math.Cos(t), b * math.Sin(t)})
	}
	sc.Field.LatDeg, sc.Field.LonDeg = between(-60, 65), between(-180, 180)
	sc.Field.TurnDeg = between(0, 360)
	im := &sc.Implement
	im.Name, im.SectionsM = "random drill", nil
	width := between(6, 24)
	for left := width; left > 0.3; {
		w := min(left, between(0.5, 4))
		im.SectionsM = append(im.SectionsM, math.Round(w*100)/100)
		left -= w
	}
	im.AntennaToHitchM, im.AntennaRightM = between(-3, 3), between(-0.5, 0.5)
	im.HitchToBarM, im.BarRightM = between(1, 4), between(-0.3, 0.3)
	sc.Drive.RadiusM = between(6, 12)
	if rng.IntN(2) == 0 {
		im.Mount = coverage.MountTowed
		im.HitchToAxleM = between(3, 5.5)
		im.HitchToBarM = im.HitchToAxleM + between(-0.5, 2)
		im.AntennaToHitchM = math.Abs(im.AntennaToHitchM)
	} else if rng.IntN(2) == 0 {
		sc.Drive.Turn = TurnFishtail
	}
	sc.Drive.HeadingDeg = between(0, 360)
	sc.Drive.SpacingM = im.WidthM() * between(0.9, 1.03)
	sc.Drive.HeadlandPasses = rng.IntN(3)
	sc.Drive.WorkMPS = between(2, 5)
	sc.Control = Control{
		Mode: ControlMode(rng.IntN(2)), Edge: Edge(rng.IntN(3)),
		OnLateS: between(-0.5, 0.5), OffLateS: between(-0.5, 0.5), ScatterS: between(0, 0.1),
	}
	sc.Tanks[0].LagS = math.Round(between(0, 8)*10) / 10
	sc.Tanks[0].RateNoise = 0.03
	return sc
}
