package coverage

import (
	"testing"

	"drawbar/controller"
)

func kg(v float64) controller.Quantity { return controller.Quantity{SI: v, Dim: controller.DimMass} }

// A pass lays 0.3 kg a second, 18 kg in all.
func TestLevelFromRefills(t *testing.T) {
	t.Parallel()
	barley := oats()
	barley.Product.Name = "Winter barley"
	fill := func(s, v float64) Statement {
		return Statement{At: at(s), Refill: &Refill{Tank: 1, Amount: kg(v), Unit: controller.Unit{Name: "kg", Dim: controller.DimMass, ToSI: 1}}}
	}
	look := func(s, v float64) Statement { return Statement{At: at(s), Refill: &Refill{Tank: 1, Level: kg(v)}} }
	for _, c := range []struct {
		name        string
		said        []Statement
		by          []Correction
		level, used float64 // level below zero: not known
	}{
		{"nothing said", nil, nil, -1, 18},
		{"filled at the start", []Statement{fill(0, 100)}, nil, 82, 18},
		{"filled at 20 s", []Statement{fill(20, 100)}, nil, 88, 12},
		{"filled twice", []Statement{fill(0, 10), fill(30, 50)}, nil, 51 - 9, 9},
		{"filled and looked into", []Statement{fill(0, 10), look(40, 300)}, nil, 294, 6},
		{"looked into, then filled", []Statement{look(0, 50), fill(40, 100)}, nil, 50 - 12 + 100 - 6, 6},
		{"more laid than was in it", []Statement{fill(0, 10)}, nil, 0, 18},
		{"a level of zero", []Statement{look(30, 0)}, nil, 0, 9},
		{"another product", []Statement{fill(0, 100), {At: at(30), Tanks: []Tank{barley}}}, nil, -1, 18},
		{"another product with its filling", []Statement{fill(0, 100), {At: at(30), Tanks: []Tank{barley}, Refill: fill(30, 40).Refill}}, nil, 31, 9},
		{"another product by a correction: the tank holds on", []Statement{fill(0, 100)}, []Correction{{From: at(10), To: at(20), Statement: Statement{Tanks: []Tank{barley}}}}, 82, 18},
		{"a filling that was forgotten", nil, []Correction{{From: at(20), To: at(21), Statement: fill(0, 100)}}, 88, 12},
		{"scaled to what was weighed", []Statement{fill(0, 100)}, []Correction{{From: at(-1), To: at(99), Statement: Statement{Adjust: []Adjust{{Tank: 1, Factor: 2}}}}}, 64, 36},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			now := pass(t, Setup{Tanks: []Tank{oats()}, Corrections: c.by}, c.said...).Snapshot().Tanks[0]
			if now.HasLevel != (c.level >= 0) || now.HasLevel && now.LevelFrom != LevelFromRefills || !now.HasUsed {
				t.Fatalf("%+v", now)
			}
			if now.HasLevel {
				near(t, "level", now.LevelAmount, c.level, 0.001)
			}
			near(t, "used", now.UsedAmount, c.used, 0.001)
		})
	}
}

// Seeds are counted by the weight of a thousand; what measures something else tells
// no level.
func TestLevelOfSeeds(t *testing.T) {
	t.Parallel()
	litres := controller.Quantity{SI: 400, Dim: controller.DimVolume}
	for _, c := range []struct {
		refill Refill
		weight float64
		level  float64 // seeds; below zero: not known
	}{
		// 100 kg at 40 g a thousand are 2.5 million seeds.
		{Refill{Tank: 1, Amount: kg(100)}, 40, 2.5e6},
		{Refill{Tank: 1, Amount: kg(100)}, 0, -1},
		{Refill{Tank: 1, Amount: litres}, 40, -1},
	} {
		tank := oats()
		tank.Product.ThousandKernelG = c.weight
		tank.Target = controller.Quantity{SI: 300, Dim: controller.DimCountPerArea}
		e := NewEngine(Setup{Tanks: []Tank{tank}})
		e.Say(Statement{At: at(0), Refill: &c.refill})
		e.Finish()
		now := e.Snapshot().Tanks[0]
		if now.HasLevel != (c.level >= 0) || now.HasLevel && now.LevelAmount != c.level {
			t.Errorf("%+v: %+v", c, now)
		}
	}
}

// The controller's own level comes first; ground at an unknown rate takes away what
// is known of a level.
func TestLevelFromController(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		reading controller.Reading
		from    LevelFrom
		level   float64
	}{
		{"reported", controller.Reading{Tank: 1, Has: controller.HasRate | controller.HasLevel, Rate: perHa(100), Level: kg(700)}, LevelFromController, 700},
		{"in another unit", controller.Reading{Tank: 1, Has: controller.HasRate | controller.HasLevel, Rate: perHa(100), Level: controller.Quantity{SI: 1, Dim: controller.DimVolume}}, LevelFromRefills, 100 - 3},
		{"no rate known", controller.Reading{Tank: 1, Has: controller.HasTarget, Target: perHa(100)}, LevelUnknown, 0},
	} {
		d := newDriver(t, Setup{Implement: rigid(12), Tanks: []Tank{oats()}})
		d.e.Say(Statement{At: at(0), Refill: &Refill{Tank: 1, Amount: kg(100)}})
		for i := range 101 {
			d.e.Report(at(float64(i)/10), controller.Report{Has: controller.HasWork, Work: true, Tanks: []controller.Reading{c.reading}})
			d.fix(float64(i)/10, 0, float64(i)/4)
		}
		d.e.Finish()
		now := d.e.Snapshot().Tanks[0]
		if now.LevelFrom != c.from || now.HasLevel != (c.from != LevelUnknown) {
			t.Errorf("%s: %+v", c.name, now)
		}
		near(t, c.name, now.LevelAmount, c.level, 0.001)
	}
}

// What was metered in a window is exact to the ground at its edges: 0.3 kg a second.
func TestWeighed(t *testing.T) {
	t.Parallel()
	weighed := func(from, to float64, amount controller.Quantity, tank int) Correction {
		return Correction{From: at(from), To: at(to), Statement: Statement{Weighed: &Weighed{Tank: tank, Amount: amount}}}
	}
	factor := Correction{From: at(-1), To: at(25), Statement: Statement{Adjust: []Adjust{{Tank: 1, Factor: 2}}}}
	e := pass(t, Setup{Field: "Mill Piece", Tanks: []Tank{oats()}, Corrections: []Correction{
		weighed(10.03, 20.07, kg(3.2), 1), factor, weighed(20, 45, kg(9), 1), weighed(55, 99, kg(1), 1), weighed(10, 20, kg(1), 7),
		weighed(10, 20, controller.Quantity{SI: 9, Dim: controller.DimVolume}, 1), weighed(90, 99, kg(1), 1),
	}}, Statement{At: at(30), Field: new("Long Meadow")})
	want := []struct {
		metered, applied float64
		known            bool
		tank, ops        int
	}{
		{tank: 7},                  // a tank that nobody knows
		{tank: 1, ops: 1},          // litres of what is metered in kilograms
		{3.012, 6.024, true, 1, 1}, // 10.04 s, under the factor of 2
		{7.5, 9, true, 1, 2},       // 25 s over two fields, 5 s under the factor
		{1.5, 1.5, true, 1, 1},     // the last 5 s
	}
	got := e.Weighings()
	if len(got) != len(want) {
		t.Fatalf("got %d of %d; the one of later has not come", len(got), len(want))
	}
	for i, c := range want {
		w := got[i]
		if w.Tank != c.tank || w.Known != c.known || len(w.Operations) != c.ops {
			t.Errorf("%d: %+v", i, w)
		}
		if c.known {
			near(t, "metered", w.Metered, c.metered, 2e-5)
			near(t, "applied", w.Applied, c.applied, 4e-5)
		}
	}
}
