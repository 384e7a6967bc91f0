package ready_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/agronomy"
	"drawbar/internal/catalog"
	"drawbar/internal/live"
	"drawbar/internal/ready"
	"drawbar/nmea"
)

var noon = time.Date(2026, 5, 14, 12, 0, 0, 0, time.UTC)

const (
	oatsID = catalog.ID("oats")
	rustID = catalog.ID("rust")
	ureaID = catalog.ID("urea")
)

func perHa(kg float64) controller.Quantity {
	return controller.Quantity{SI: kg / controller.HectareM2, Dim: controller.DimMassPerArea}
}

func litresPerHa(l float64) controller.Quantity {
	return controller.Quantity{SI: l / controller.HectareM2, Dim: controller.DimVolumePerArea}
}

func unit(t testing.TB, text string) controller.Unit {
	t.Helper()
	_, u, err := controller.ParseQuantityUnit("1 "+text, controller.Unit{})
	if err != nil {
		t.Fatal(err)
	}
	return u
}

func drill() *coverage.Implement {
	return &coverage.Implement{Name: "12 m drill", Operation: "seeding", SectionsM: []float64{3, 3, 3, 3}}
}

// good is work of which nothing is missing or doubtful: Spring oats, 112 kg/ha, from
// tank 1 in Mill Piece, as planned; 12 m at 2.5 m/s lay 0.336 kg/s.
func good(t testing.TB) ready.Input {
	t.Helper()
	kgHa := unit(t, "kg/ha")
	on := []coverage.SectionState{coverage.SectionOn, coverage.SectionOn, coverage.SectionOn, coverage.SectionOn}
	s := &live.State{Now: noon.Add(-time.Hour), Place: live.Place{Field: "Mill Piece"}}
	s.Snapshot.Fix = nmea.Fix{Time: noon, LatDeg: 53.351, LonDeg: -0.012, Quality: nmea.QualityRTK}
	s.Snapshot.Work = coverage.Snapshot{
		Placed: true, SpeedMPS: 2.5, HasSpeed: true, SectionsM: drill().SectionsM, Sections: on, Metered: on,
		Operation: &coverage.OperationNow{Field: "Mill Piece", Name: "seeding", HasBoundary: true},
		InForce: coverage.InForce{Implement: drill(), SectionsReported: 4, Person: "Driver", Tanks: []coverage.TankInForce{{
			Tank:    coverage.Tank{Number: 1, Product: coverage.Product{Name: "Spring oats", Kind: coverage.KindSeed, ThousandKernelG: 38}, Target: perHa(112), Unit: kgHa},
			Metered: true, Reported: controller.DimMass, Rate: perHa(112), Flow: controller.Quantity{SI: 0.336, Dim: controller.DimMassPerTime},
		}}},
	}
	return ready.Input{
		State: s, Outlined: true,
		Around: catalog.Around{
			Field:   &catalog.Field{Meta: catalog.Meta{ID: "mill"}, Name: "Mill Piece"},
			Seasons: []catalog.Season{{Meta: catalog.Meta{ID: "s26"}, Field: "mill", Crop: "Spring oats", Year: 2026}},
			Plans:   []catalog.Plan{{Season: "s26", Order: 1, Operation: "seeding", Product: oatsID, Rate: catalog.Rate{Quantity: perHa(112), Unit: kgHa}}},
			Products: []catalog.Product{
				{Meta: catalog.Meta{ID: oatsID}, Name: "Spring oats", Kind: catalog.Seed, ThousandKernelG: 38},
				{Meta: catalog.Meta{ID: ureaID}, Name: "Urea 46", Kind: catalog.Granular, Has: catalog.HasAnalysis, Analysis: agronomy.Analysis{NPct: 46}},
				{
					Meta: catalog.Meta{ID: rustID}, Name: "Rust guard", Kind: catalog.CropProtection, Has: catalog.HasReentry | catalog.HasPreHarvest,
					MaxRate: catalog.Rate{Quantity: litresPerHa(1), Unit: unit(t, "l/ha")}, ReentryH: 24, PreHarvestDays: 35,
				},
			},
		},
	}
}

func tank(in ready.Input) *coverage.TankInForce { return &in.State.Snapshot.Work.InForce.Tanks[0] }

// spray has a sprayer's tank with crop protection in it.
func spray(in ready.Input, litres float64) {
	in.State.Snapshot.Work.Operation.Name = "spraying"
	*tank(in) = coverage.TankInForce{
		Tank:    coverage.Tank{Number: 1, Product: coverage.Product{Name: "Rust guard"}, Target: litresPerHa(litres)},
		Metered: true, Reported: controller.DimVolume,
	}
}

// Each kind raised and not raised, at both sides of its tolerance.
func TestCheck(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		set  func(*ready.Input)
		want string // kind severity subject do(args); empty: nothing is found
	}{
		{"all is well", func(*ready.Input) {}, ""},
		{"no session yet", func(in *ready.Input) { in.State = nil }, ""},

		{"no field, the machine is in a known one", func(in *ready.Input) { in.State.Snapshot.Work.Operation.Field = "" }, "no_field warning  begin Mill Piece"},
		{"no operation at all", func(in *ready.Input) { in.State.Snapshot.Work.Operation = nil }, "no_field warning  begin Mill Piece"},
		{"no field, and none here", func(in *ready.Input) {
			in.State.Snapshot.Work.Operation.Field, in.State.Place = "", live.Place{}
		}, "no_field warning  choose_field"},
		{"no field, but in one that is offered", func(in *ready.Input) {
			in.State.Snapshot.Work.Operation.Field, in.State.Place = "", live.Place{Offer: &live.Offer{Field: "Long Meadow", Inside: true}}
		}, "no_field warning  begin Long Meadow"},
		{"coming to a field is not being in it", func(in *ready.Input) {
			in.State.Snapshot.Work.Operation.Field, in.State.Place = "", live.Place{Offer: &live.Offer{Field: "Long Meadow"}}
		}, "no_field warning  choose_field"},

		{"no boundary, an outline is known", func(in *ready.Input) { in.State.Snapshot.Work.Operation.HasBoundary = false }, "no_boundary note  begin Mill Piece"},
		{"no boundary, none is known", func(in *ready.Input) { in.State.Snapshot.Work.Operation.HasBoundary, in.Outlined = false, false }, "no_boundary note  draw_boundary"},

		{"no implement", func(in *ready.Input) { in.State.Snapshot.Work.InForce.Implement = nil }, "no_implement warning  choose_implement"},
		{"the controller names fewer sections", func(in *ready.Input) { in.State.Snapshot.Work.InForce.SectionsReported = 3 }, "section_count warning  choose_implement"},
		{"the controller names no sections", func(in *ready.Input) { in.State.Snapshot.Work.InForce.SectionsReported = 0 }, ""},

		{"flow says 13.7 m of 12 m: within 15 %", func(in *ready.Input) { tank(*in).Flow.SI = 0.336 * 13.7 / 12 }, ""},
		{"flow says 13.9 m of 12 m: beyond 15 %", func(in *ready.Input) { tank(*in).Flow.SI = 0.336 * 13.9 / 12 }, "implement_width warning tank 1 choose_implement"},
		{"flow says 10.1 m of 12 m", func(in *ready.Input) { tank(*in).Flow.SI = 0.336 * 10.1 / 12 }, "implement_width warning tank 1 choose_implement"},
		{"half the bar is on and half the flow comes", func(in *ready.Input) {
			in.State.Snapshot.Work.Metered = []coverage.SectionState{coverage.SectionOn, coverage.SectionOn, coverage.SectionOff, coverage.SectionOff}
			tank(*in).Flow.SI = 0.168
		}, ""},
		{"too slow to tell a width", func(in *ready.Input) { in.State.Snapshot.Work.SpeedMPS, tank(*in).Flow.SI = 0.9, 5 }, ""},
		{"speed not known", func(in *ready.Input) { in.State.Snapshot.Work.HasSpeed, tank(*in).Flow.SI = false, 5 }, ""},
		{"a section is not known", func(in *ready.Input) {
			in.State.Snapshot.Work.Metered = []coverage.SectionState{coverage.SectionOn, coverage.SectionOn, coverage.SectionOn, coverage.SectionUnknown}
			tank(*in).Flow.SI = 5
		}, ""},
		{"a flow of another kind of amount", func(in *ready.Input) { tank(*in).Flow = controller.Quantity{SI: 5, Dim: controller.DimVolumePerTime} }, ""},

		{"nobody is named", func(in *ready.Input) { in.State.Snapshot.Work.InForce.Person = "" }, "no_person note  choose_person"},
		{"nobody is named, somebody was before", func(in *ready.Input) {
			in.State.Snapshot.Work.InForce.Person, in.LastPerson = "", "Driver"
		}, "no_person note  say_person Driver"},

		{"no position", func(in *ready.Input) { in.State.Snapshot.Fix = nmea.Fix{}; in.State.Now = noon }, "fix_quality warning  open_arrivals"},
		{"below what is painted", func(in *ready.Input) {
			in.MinQuality, in.State.Snapshot.Fix.Quality = nmea.QualityRTK, nmea.QualityFloat
		}, "fix_quality warning  open_arrivals"},
		{"a plain position", func(in *ready.Input) { in.State.Snapshot.Fix.Quality = nmea.QualityAutonomous }, "fix_quality note  open_arrivals"},
		{"a corrected position", func(in *ready.Input) { in.State.Snapshot.Fix.Quality = nmea.QualityDGNSS }, ""},

		{"an empty tank runs, and the plan tells what is in it", func(in *ready.Input) { tank(*in).Tank = coverage.Tank{Number: 1} }, "tank_without_product warning tank 1 put_product 1 Spring oats 112 kg/ha"},
		{"an empty tank runs, no plan tells", func(in *ready.Input) {
			tank(*in).Tank = coverage.Tank{Number: 1}
			in.Around.Plans = nil
		}, "tank_without_product warning tank 1 open_tank 1"},
		{"a second tank runs, two plans could be in it", func(in *ready.Input) {
			for _, id := range []catalog.ID{ureaID, rustID} {
				in.Around.Plans = append(in.Around.Plans, catalog.Plan{Season: "s26", Order: 1, Operation: "seeding", Product: id, Rate: in.Around.Plans[0].Rate})
			}
			in.State.Snapshot.Work.InForce.Tanks = append(in.State.Snapshot.Work.InForce.Tanks, coverage.TankInForce{Tank: coverage.Tank{Number: 2}, Metered: true, Rate: perHa(80)})
		}, "tank_without_product warning tank 2 open_tank 2"},
		{"a second tank that the controller names with nothing in it is unused", func(in *ready.Input) {
			in.State.Snapshot.Work.InForce.Tanks = append(in.State.Snapshot.Work.InForce.Tanks, coverage.TankInForce{Tank: coverage.Tank{Number: 2}, Metered: true, Rate: perHa(0)})
		}, ""},
		{"a tank that the controller never names is unused", func(in *ready.Input) {
			in.State.Snapshot.Work.InForce.Tanks = append(in.State.Snapshot.Work.InForce.Tanks, coverage.TankInForce{Tank: coverage.Tank{Number: 2}})
		}, ""},

		{"a target 5 % over the plan", func(in *ready.Input) { tank(*in).Target = perHa(112 * 1.0499) }, ""},
		{"a target more than 5 % over the plan", func(in *ready.Input) { tank(*in).Target = perHa(112 * 1.0501) }, "target_off_plan note tank 1 set_target 1 112 kg/ha"},
		{"a target more than 5 % under the plan", func(in *ready.Input) { tank(*in).Target = perHa(112 * 0.9499) }, "target_off_plan note tank 1 set_target 1 112 kg/ha"},
		{"no target, but a plan", func(in *ready.Input) { tank(*in).Target = controller.Quantity{} }, "target_off_plan note tank 1 set_target 1 112 kg/ha"},
		{"the controller has a target of its own", func(in *ready.Input) { tank(*in).Aim = perHa(140) }, "target_off_plan note tank 1 see 1"},
		{"a target in seeds, the plan in kilograms: 300 seeds/m2 of 38 g are 114 kg/ha", func(in *ready.Input) {
			tank(*in).Target = controller.Quantity{SI: 300, Dim: controller.DimCountPerArea}
		}, ""},
		{"a plan for another operation", func(in *ready.Input) { tank(*in).Target, in.Around.Plans[0].Operation = perHa(200), "rolling" }, ""},
		{"a plan for another tank", func(in *ready.Input) { tank(*in).Target, in.Around.Plans[0].Tank = perHa(200), 2 }, ""},
		{"a plan of another year", func(in *ready.Input) { tank(*in).Target, in.Around.Seasons[0].Year = perHa(200), 2024 }, ""},
		{"a product that is not in the catalogue", func(in *ready.Input) { tank(*in).Product.Name = "Something else" }, ""},

		{"at the limit", func(in *ready.Input) { spray(*in, 1.0004) }, ""},
		{"over the limit", func(in *ready.Input) { spray(*in, 1.0006) }, "target_over_limit warning tank 1 open_tank 1"},
		{"the rate is over the limit, the target is not", func(in *ready.Input) {
			spray(*in, 0.9)
			tank(*in).Rate = litresPerHa(1.2)
		}, "target_over_limit warning tank 1 open_tank 1"},
		{"a tank that is not metered is not over a limit", func(in *ready.Input) {
			spray(*in, 2)
			tank(*in).Metered = false
			in.State.Snapshot.Work.InForce.Tanks = append(in.State.Snapshot.Work.InForce.Tanks, coverage.TankInForce{
				Tank: coverage.Tank{Number: 2, Product: coverage.Product{Name: "Water"}}, Metered: true,
			})
		}, ""},

		{"metered in litres, set up in kilograms", func(in *ready.Input) {
			tank(*in).Reported, tank(*in).Rate, tank(*in).Flow = controller.DimVolume, litresPerHa(100), controller.Quantity{}
		}, "tank_unit warning tank 1 open_tank 1"},
		{"metered in seeds, the weight of which is known", func(in *ready.Input) {
			tank(*in).Reported, tank(*in).Rate, tank(*in).Flow = controller.DimCount, controller.Quantity{SI: 300, Dim: controller.DimCountPerArea}, controller.Quantity{}
		}, ""},
		{"metered in seeds, the weight of which is not known", func(in *ready.Input) {
			tank(*in).Reported, tank(*in).Rate, tank(*in).Flow = controller.DimCount, controller.Quantity{SI: 300, Dim: controller.DimCountPerArea}, controller.Quantity{}
			tank(*in).Product.ThousandKernelG = 0
		}, "tank_unit warning tank 1 open_tank 1"},

		{"re-entry runs, and 35 days before harvest too", func(in *ready.Input) {
			in.Earlier = []ready.Application{{Product: "Rust guard", At: noon.Add(-23*time.Hour - 59*time.Minute)}}
		}, "interval_runs warning Rust guard see | interval_runs note Rust guard see"},
		{"re-entry is over after 24 h", func(in *ready.Input) {
			in.Earlier = []ready.Application{{Product: "Rust guard", At: noon.Add(-24 * time.Hour)}}
		}, "interval_runs note Rust guard see"},
		{"harvest within 35 days", func(in *ready.Input) {
			in.State.Snapshot.Work.Operation.Name = "Harvesting"
			in.Earlier = []ready.Application{{Product: "rust guard", At: noon.AddDate(0, 0, -34)}}
		}, "interval_runs warning Rust guard see"},
		{"harvest on the 35th day", func(in *ready.Input) {
			in.State.Snapshot.Work.Operation.Name = "harvesting"
			in.Earlier = []ready.Application{{Product: "Rust guard", At: noon.AddDate(0, 0, -35)}}
		}, ""},
		{"the latest of two applications counts", func(in *ready.Input) {
			in.Earlier = []ready.Application{{Product: "Rust guard", At: noon.AddDate(0, 0, -50)}, {Product: "Rust guard", At: noon.AddDate(0, 0, -3)}}
		}, "interval_runs note Rust guard see"},
		{"it is being laid now", func(in *ready.Input) {
			in.State.Snapshot.Work.Operation.Products = []coverage.ProductNow{{Tank: 1, Product: "Rust guard", AreaM2: 10}}
			in.Earlier = []ready.Application{{Product: "Rust guard", At: noon.Add(-time.Minute)}}
		}, ""},
		{"fertiliser has no interval", func(in *ready.Input) { in.Earlier = []ready.Application{{Product: "Urea 46", At: noon}} }, ""},
		{"an application that is yet to come, by a wrong clock", func(in *ready.Input) {
			in.Earlier = []ready.Application{{Product: "Rust guard", At: noon.Add(time.Hour)}}
		}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			in := good(t)
			c.set(&in)
			var got []string
			for _, i := range ready.Check(in) {
				got = append(got, line(i))
				if i.Text == "" || i.Step.Text == "" || !strings.HasSuffix(i.Text, ".") {
					t.Errorf("an item without words: %+v", i)
				}
				if limits := i.Kind == ready.TargetOverLimit || i.Kind == ready.IntervalRuns; limits != strings.Contains(i.Text, ready.Caution) {
					t.Errorf("caution: %s", i.Text)
				}
			}
			if all := strings.Join(got, " | "); all != c.want {
				t.Errorf("got  %s\nwant %s", all, c.want)
			}
		})
	}
}

func line(i ready.Item) string {
	s := fmt.Sprintf("%s %s %s %s", i.Kind, i.Severity, i.Subject, i.Step.Do)
	if i.Step.Tank > 0 {
		s += fmt.Sprint(" ", i.Step.Tank)
	}
	for _, arg := range []string{i.Step.Field, i.Step.Product, i.Step.Target, i.Step.Person} {
		if arg != "" {
			s += " " + arg
		}
	}
	return s
}

// What a person reads, whole.
func TestWords(t *testing.T) {
	t.Parallel()
	in := good(t)
	spray(in, 1.2)
	in.Earlier = []ready.Application{{Product: "Rust guard", At: noon.Add(-time.Hour)}}
	in.Zone = time.FixedZone("BST", 3600)
	var got []string
	for _, i := range ready.Check(in) {
		got = append(got, strings.TrimSuffix(i.Text, " "+ready.Caution))
	}
	want := []string{
		"The target of tank 1, 1.2 L/ha of Rust guard, is over the 1.0 L/ha entered as its limit.",
		"Rust guard was laid on Mill Piece; the re-entry interval entered for it runs until 12:00 on 2026-05-15.",
		"Rust guard was laid on Mill Piece; the interval before harvest entered for it runs until 2026-06-18.",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
