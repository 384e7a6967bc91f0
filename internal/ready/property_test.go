package ready_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/catalog"
	"drawbar/internal/live"
	"drawbar/internal/ready"
	"drawbar/internal/units"
	"drawbar/nmea"

	"pgregory.net/rapid"
)

// Whatever is known or not, and however wild, the list is made: without a panic, the
// graver first, each item with its words and a step that can be taken, and the same
// for the same input.
func TestCheckNeverPanics(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := anyInput(t)
		items := ready.Check(in)
		for i, it := range items {
			if i > 0 && it.Severity > items[i-1].Severity {
				t.Fatalf("%s comes after %s", it.Kind, items[i-1].Kind)
			}
			if it.Text == "" || it.Step.Text == "" || !slices.Contains(ready.Kinds(), it.Kind) || !slices.Contains(ready.Dos(), it.Step.Do) {
				t.Fatalf("%+v", it)
			}
			if strings.Contains(it.Text, "NaN") || strings.Contains(it.Text, "Inf") {
				t.Fatalf("no number: %s", it.Text)
			}
			switch s := it.Step; s.Do {
			case ready.Begin:
				if s.Field == "" {
					t.Fatalf("no field to begin: %+v", it)
				}
			case ready.PutProduct, ready.SetTarget:
				if s.Tank < 1 || s.Target == "" {
					t.Fatalf("no tank or target: %+v", it)
				}
			case ready.SayPerson:
				if s.Person == "" {
					t.Fatalf("nobody: %+v", it)
				}
			}
		}
		if again := ready.Check(in); !slices.Equal(items, again) {
			t.Fatalf("once\n%+v\nthen\n%+v", items, again)
		}
	})
}

func anyInput(t *rapid.T) ready.Input {
	in := ready.Input{
		Outlined: rapid.Bool().Draw(t, "outlined"), MinQuality: nmea.Quality(rapid.IntRange(0, 12).Draw(t, "least")),
		Units: units.System(rapid.IntRange(0, 2).Draw(t, "units")), LastPerson: name(t, "last"),
	}
	if rapid.Bool().Draw(t, "no state") {
		return in
	}
	in.Around = anyAround(t)
	s := &live.State{Place: live.Place{Field: name(t, "place")}}
	in.State = s
	if rapid.Bool().Draw(t, "offered") {
		s.Place.Offer = &live.Offer{Field: name(t, "offer"), Inside: rapid.Bool().Draw(t, "inside")}
	}
	if rapid.Bool().Draw(t, "fix") {
		s.Snapshot.Fix.Time = moment(t, "fix time")
		s.Snapshot.Fix.Quality = nmea.Quality(rapid.IntRange(0, 12).Draw(t, "quality"))
	}
	w := &s.Snapshot.Work
	w.SpeedMPS, w.HasSpeed = number(t, "speed"), rapid.Bool().Draw(t, "has speed")
	if rapid.Bool().Draw(t, "operation") {
		w.Operation = &coverage.OperationNow{Field: name(t, "field"), Name: rapid.SampledFrom([]string{"", "seeding", "harvest"}).Draw(t, "op"), HasBoundary: rapid.Bool().Draw(t, "boundary")}
	}
	if rapid.Bool().Draw(t, "implement") {
		w.InForce.Implement = &coverage.Implement{SectionsM: rapid.SliceOfN(anyNumber(), 0, 4).Draw(t, "widths")}
	}
	w.InForce.SectionsReported = rapid.IntRange(0, 5).Draw(t, "reported")
	w.Metered = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) coverage.SectionState {
		return coverage.SectionState(rapid.IntRange(0, 2).Draw(t, "s"))
	}), 0, 4).Draw(t, "metered")
	for i := range rapid.IntRange(0, 3).Draw(t, "tanks") {
		w.InForce.Tanks = append(w.InForce.Tanks, coverage.TankInForce{
			Tank: coverage.Tank{
				Number: i + 1, Product: coverage.Product{Name: name(t, "product"), ThousandKernelG: number(t, "tkw")},
				Target: quantity(t, "target"), Capacity: quantity(t, "capacity"),
			},
			Metered: rapid.Bool().Draw(t, "metered tank"), Reported: controller.Dim(rapid.IntRange(0, 10).Draw(t, "reported dim")),
			Rate: quantity(t, "rate"), Flow: quantity(t, "flow"), Aim: quantity(t, "aim"),
		})
	}
	for range rapid.IntRange(0, 3).Draw(t, "earlier") {
		in.Earlier = append(in.Earlier, ready.Application{Product: name(t, "laid"), At: moment(t, "laid at")})
	}
	return in
}

func anyAround(t *rapid.T) (a catalog.Around) {
	ids := []catalog.ID{"a", "b", "c", "d"}
	for i, id := range ids[:rapid.IntRange(0, 4).Draw(t, "products")] {
		a.Products = append(a.Products, catalog.Product{
			Meta: catalog.Meta{ID: id, Archived: rapid.Bool().Draw(t, "archived")}, Name: names()[i+1],
			Has: catalog.ProductHas(rapid.IntRange(0, 15).Draw(t, "has")), MaxRate: catalog.Rate{Quantity: quantity(t, "max")},
			ReentryH: number(t, "reentry"), PreHarvestDays: rapid.IntRange(-10, 100_000).Draw(t, "days"),
		})
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "seasons") {
		s := catalog.Season{Meta: catalog.Meta{ID: ids[i]}, Year: rapid.IntRange(2025, 2027).Draw(t, "year")}
		if rapid.Bool().Draw(t, "dated") {
			s.Start, s.End = "2026-01-01", catalog.Date(rapid.SampledFrom([]string{"", "2026-12-31", "rubbish"}).Draw(t, "end"))
		}
		a.Seasons = append(a.Seasons, s)
	}
	for range rapid.IntRange(0, 4).Draw(t, "plans") {
		a.Plans = append(a.Plans, catalog.Plan{
			Season: rapid.SampledFrom(ids).Draw(t, "season"), Product: rapid.SampledFrom(ids).Draw(t, "of"), Operation: "seeding",
			Rate: catalog.Rate{Quantity: quantity(t, "plan")}, Tank: rapid.IntRange(0, 3).Draw(t, "tank"),
		})
	}
	return a
}

func names() []string { return []string{"", "Spring oats", "Rust guard", "Urea 46", "Öl, 5 %!d"} }

func name(t *rapid.T, label string) string { return rapid.SampledFrom(names()).Draw(t, label) }

func number(t *rapid.T, label string) float64 { return anyNumber().Draw(t, label) }

func anyNumber() *rapid.Generator[float64] {
	return rapid.OneOf(rapid.Float64(), rapid.Float64Range(0, 1), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1)}))
}

func quantity(t *rapid.T, label string) controller.Quantity {
	return controller.Quantity{SI: number(t, label), Dim: controller.Dim(rapid.IntRange(0, 10).Draw(t, label+" dim"))}
}

func moment(t *rapid.T, label string) time.Time {
	return noon.Add(time.Duration(rapid.Int64Range(-1e18, 1e18).Draw(t, label)))
}
