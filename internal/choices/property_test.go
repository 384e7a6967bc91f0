package choices_test

import (
	"encoding/json"
	"testing"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/catalog"
	"drawbar/internal/choices"
	"drawbar/internal/recent"
	"drawbar/replay/statement"

	"pgregory.net/rapid"
)

// Whatever is chosen, in whatever state: it is refused with its members, or it
// becomes a line that is read again without a fault; and what is suggested is never
// refused.
func TestComposeGivesLinesWithoutFaults(t *testing.T) {
	t.Parallel()
	products := []string{"", "oats", "Spring oats", "rust", "start", "Urea 46", "Old seed", "Winter rye", "x\ty"}
	rates := []string{"", "112 kg/ha", "300 seeds/m2", "40 l/ha", "-1 kg/ha", "5", "0 kg/ha", "1e300 kg/ha", "9 km/h"}
	rapid.Check(t, func(t *rapid.T) {
		in := farm()
		w := &in.State.Snapshot.Work
		w.InForce.Tanks = nil
		for i := range rapid.IntRange(0, 3).Draw(t, "tanks") {
			r := rate(rapid.SampledFrom([]string{"", "112 kg/ha", "300 seeds/m2", "40 l/ha"}).Draw(t, "target"))
			w.InForce.Tanks = append(w.InForce.Tanks, coverage.TankInForce{
				Tank: coverage.Tank{Number: i + 1, Target: r.Quantity, Unit: r.Unit, Product: coverage.Product{
					Name: rapid.SampledFrom(products).Draw(t, "holds"), Kind: coverage.ProductKind(rapid.IntRange(0, 6).Draw(t, "kind")),
				}},
				Metered: rapid.Bool().Draw(t, "metered"), Reported: controller.Dim(rapid.IntRange(0, 10).Draw(t, "reported")),
			})
		}
		if rapid.Bool().Draw(t, "no operation") {
			w.Operation = nil
		}
		if rapid.Bool().Draw(t, "no implement") {
			w.InForce.Implement = nil
		}
		if rapid.Bool().Draw(t, "no catalogue") {
			in.Around = catalog.Around{}
		}
		for range rapid.IntRange(0, 3).Draw(t, "uses") {
			in.Uses = append(in.Uses, recent.Use{Field: "Mill Piece", Operation: "seeding", Product: rapid.SampledFrom(products).Draw(t, "used"), At: noon, AreaM2: rapid.Float64().Draw(t, "area")})
		}
		r := choices.Request{
			Field: rapid.SampledFrom([]string{"", "Mill Piece"}).Draw(t, "field"), Season: catalog.ID(rapid.SampledFrom([]string{"", "s26", "s9"}).Draw(t, "season")),
			Operation: rapid.SampledFrom([]string{"", "seeding", "spraying"}).Draw(t, "operation"), Boundary: rapid.Bool().Draw(t, "boundary"),
			Implement: rapid.SampledFrom([]string{"", "boom", "plough"}).Draw(t, "tool"), Tractor: rapid.SampledFrom([]string{"", "tractor", "cart"}).Draw(t, "tractor"),
		}
		for range rapid.IntRange(0, 3).Draw(t, "plans") {
			r.Plans = append(r.Plans, catalog.ID(rapid.SampledFrom([]string{"p0", "p1", "p2", "p3", "p9"}).Draw(t, "plan")))
		}
		for range rapid.IntRange(0, 3).Draw(t, "wishes") {
			r.Tanks = append(r.Tanks, choices.TankWish{
				Tank: rapid.IntRange(-1, 101).Draw(t, "tank"), Product: rapid.SampledFrom(products).Draw(t, "product"), Target: rapid.SampledFrom(rates).Draw(t, "rate"),
			})
		}
		if got, faults := choices.Compose(in, r); len(faults) == 0 {
			readAgain(t, got)
		} else if got.Words != "" || faults[0].Path == "" {
			t.Fatalf("refused, and yet %+v; %v", got, faults)
		}
		got, faults := choices.Compose(in, choices.Of(in).Suggested)
		if len(faults) > 0 {
			t.Fatalf("suggested, and refused: %v", faults)
		}
		readAgain(t, got)
	})
}

func readAgain(t *rapid.T, c choices.Composed) {
	line, err := json.Marshal(c.Line)
	if err != nil {
		t.Fatalf("%+v: %v", c.Line, err)
	}
	if string(line) == "{}" { // nothing was to be said
		return
	}
	if _, faults := statement.ParseLine(line); len(faults) > 0 {
		t.Fatalf("%s: %v", line, faults)
	}
}
