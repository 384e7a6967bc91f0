package coverage

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Whoever works, the shares sum to the whole, to the last step; asking for them on
// the way changes nothing.
func TestPeopleSumToTheWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		legs, seconds := drawLegs(t)
		names := rapid.SampledFrom([]string{"", "the operator", "the contractor", "the student"})
		fields := rapid.SampledFrom([]string{"Mill Piece", "Long Meadow"})
		var said []Statement
		now := 0.0
		for range rapid.IntRange(0, 6).Draw(t, "changes") {
			now += rapid.Float64Range(0, seconds/3).Draw(t, "after")
			s := Statement{At: at(now), Person: new(names.Draw(t, "person"))}
			if rapid.IntRange(0, 3).Draw(t, "field?") == 0 {
				s.Field = new(fields.Draw(t, "field"))
			}
			if rapid.IntRange(0, 3).Draw(t, "tank?") == 0 {
				s.Adjust = []Adjust{{Tank: 1, Product: &Product{Name: names.Draw(t, "product") + "'s"}}}
			}
			said = append(said, s)
		}
		from := rapid.Float64Range(0, seconds).Draw(t, "from")
		c := Correction{From: at(from), To: at(from + rapid.Float64Range(0.1, 20).Draw(t, "for")), Statement: Statement{Person: new(names.Draw(t, "in truth"))}}
		e, _, _ := work(t, Setup{Tanks: []Tank{oats()}, Field: "Mill Piece", Corrections: []Correction{c}}, legs, said)
		for _, o := range e.Operations() {
			var sum Worked
			seen := map[string]bool{}
			for _, p := range o.People() {
				if seen[p.Name] {
					t.Fatalf("%q stands twice", p.Name)
				}
				seen[p.Name] = true
				sum.add(p.Worked, Worked{})
			}
			all := o.all()
			if d := sum.DistanceM - all.DistanceM; d > 1e-9 || d < -1e-9 {
				t.Fatalf("way %v of %v", sum.DistanceM, all.DistanceM)
			}
			sum.DistanceM = all.DistanceM
			if diff := cmp.Diff(all, sum, cmp.AllowUnexported(ProductShare{})); diff != "" && o.Worked() {
				t.Fatalf("(-whole +sum):\n%s", diff)
			}
		}
	})
}

// Who works and what grows hold from their moment, and for the time of a correction.
func TestPersonAndCrop(t *testing.T) {
	t.Parallel()
	stage := 13
	e := pass(t, Setup{Field: "Mill Piece", Tanks: []Tank{oats()}, Corrections: []Correction{
		{From: at(40), To: at(50), Statement: Statement{Person: new("the student"), GrowthStage: &stage}},
	}},
		Statement{At: at(0), Person: new("the operator"), Crop: new("winter barley")},
		Statement{At: at(20), Person: new("the contractor")})
	op := e.Operations()[0]
	want := map[string]float64{"the operator": 20, "the contractor": 30, "the student": 10}
	for _, p := range op.People() {
		near(t, p.Name, p.Gross.M2(), want[p.Name]*30, 0.01)
		applied, ok := p.Products[0].Applied(op.Products[0])
		if near(t, p.Name+"'s seed", applied, want[p.Name]*0.3, 1e-3); !ok {
			t.Errorf("%s: not known", p.Name)
		}
		near(t, p.Name+"'s time", float64(p.WorkingNS)/1e9, want[p.Name], 1e-9)
		delete(want, p.Name)
	}
	if len(want) > 0 || op.Crop != "winter barley" || op.HasGrowthStage {
		t.Errorf("missing %v; crop %q, stage %v", want, op.Crop, op.HasGrowthStage)
	}
	// Another field: its crop is not known from the one before.
	e = pass(t, Setup{Field: "Mill Piece"}, Statement{At: at(0), Crop: new("winter barley"), GrowthStage: &stage}, Statement{At: at(30), Field: new("Long Meadow")})
	a, b := e.Operations()[0], e.Operations()[1]
	if a.Crop != "winter barley" || a.GrowthStage != 13 || !a.HasGrowthStage || b.Crop != "" || b.HasGrowthStage {
		t.Errorf("crops %q %d, %q %v", a.Crop, a.GrowthStage, b.Crop, b.HasGrowthStage)
	}
	// A crop that is said while the operation goes on is that of all its ground.
	e = pass(t, Setup{Field: "Mill Piece"}, Statement{At: at(59), Crop: new("oats")})
	if got := e.Operations()[0].Crop; got != "oats" {
		t.Errorf("crop %q", got)
	}
}
