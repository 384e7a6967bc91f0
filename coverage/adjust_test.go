package coverage

import (
	"math"
	"testing"
	"time"

	"drawbar/controller"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func perHa(v float64) controller.Quantity {
	return controller.Quantity{SI: v / 1e4, Dim: controller.DimMassPerArea}
}

func oats() Tank {
	return Tank{Number: 1, Product: Product{Name: "Spring oats", Kind: KindSeed}, Target: perHa(110), Unit: controller.Unit{Name: "kg/ha", Dim: controller.DimMassPerArea, ToSI: 1e-4}}
}

// pass is 60 s at 2.5 m/s with 12 m on: 1800 m2, 18 kg at the reported 100 kg/ha. A
// flow of 3 kg/min beside it says 30 m2/s at 0.05 kg/s, 3 kg in all.
func pass(t *testing.T, s Setup, said ...Statement) *Engine {
	t.Helper()
	s.Implement = rigid(3, 3, 3, 3)
	d := newDriver(t, s)
	for i := 0; i <= 600; i++ {
		now := float64(i) / 10
		for len(said) > 0 && !said[0].At.After(at(now)) {
			d.e.Say(said[0])
			said = said[1:]
		}
		if i%2 == 0 {
			r := controller.Report{Has: controller.HasSections | controller.HasWork, Work: true, Sections: controller.NewSections(4)}
			for k := range 4 {
				r.Sections.Set(k, true)
			}
			r.Tanks = []controller.Reading{{
				Tank: 1, Has: controller.HasRate | controller.HasFlow, Rate: perHa(100),
				Flow: controller.Quantity{SI: 3.0 / 60, Dim: controller.DimMassPerTime},
			}}
			d.e.Report(at(now), r)
		}
		d.fix(now, 0, 2.5*now)
	}
	d.e.Finish()
	return d.e
}

// What an adjustment changes, and that it changes nothing else: said at the start of
// the pass or half way along, and by a correction.
func TestAdjust(t *testing.T) {
	t.Parallel()
	lag, barley := 6.0, Product{Name: "Winter barley", Kind: KindSeed}
	for _, c := range []struct {
		name   string
		adjust Adjust
		want   float64 // kg in all
		factor float64 // 0: none is the only one
	}{
		{"a factor", Adjust{Tank: 1, Factor: 1.5}, 27, 1.5},
		{"the target", Adjust{Tank: 1, Rate: &RateRule{Basis: BasisTarget}}, 19.8, 1},
		{"another target, which is not the basis", Adjust{Tank: 1, Target: perHa(50)}, 18, 1},
		{"another target, which is", Adjust{Tank: 1, Target: perHa(50), Rate: &RateRule{Basis: BasisTarget}}, 9, 1},
		{"an entered rate", Adjust{Tank: 1, Rate: &RateRule{Basis: BasisFixed, Fixed: perHa(90)}}, 16.2, 1},
		{"an entered rate and a factor", Adjust{Tank: 1, Rate: &RateRule{Basis: BasisFixed, Fixed: perHa(90)}, Factor: 0.5}, 8.1, 0.5},
		{"the flow", Adjust{Tank: 1, Rate: &RateRule{Basis: BasisFlow}}, 3, 1},
		{"as reported", Adjust{Tank: 1, Rate: &RateRule{}}, 18, 1},
		{"another product", Adjust{Tank: 1, Product: &barley}, 18, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			e := pass(t, Setup{Tanks: []Tank{oats()}, Corrections: []Correction{{From: at(-1), To: at(100), Statement: Statement{Adjust: []Adjust{c.adjust}}}}})
			live := pass(t, Setup{Tanks: []Tank{oats()}}, Statement{At: at(0), Adjust: []Adjust{c.adjust}})
			for _, e := range []*Engine{e, live} {
				op := e.Operations()[0]
				near(t, "gross", op.Gross.M2(), 1800, 0.02)
				u := op.Products[len(op.Products)-1]
				got, _ := u.Applied()
				near(t, "applied", got, c.want, c.want*2e-5)
				metered, _ := u.Metered()
				near(t, "metered", metered, c.want/c.factor, c.want*2e-5)
				if f, ok := u.Factor(); !ok || f != c.factor {
					t.Errorf("factor %v, %v, want %v", f, ok, c.factor)
				}
				if c.adjust.Product != nil && u.Product != *c.adjust.Product {
					t.Errorf("product %v", u.Product)
				}
			}
			if diff := cmp.Diff(e.said.tanks, []Tank{oats()}); diff != "" {
				t.Errorf("what was said beside the correction (-got +want):\n%s", diff)
			}
		})
	}
	t.Run("the lag", func(t *testing.T) {
		t.Parallel()
		e := pass(t, Setup{Tanks: []Tank{oats()}}, Statement{At: at(0), Adjust: []Adjust{{Tank: 1, LagS: &lag}}})
		near(t, "gross", e.Operations()[0].Gross.M2(), 54*30, 0.02)
	})
}

// A tanks line ends what was adjusted of that tank, and of no other.
func TestTanksEndAdjust(t *testing.T) {
	t.Parallel()
	fixed := &RateRule{Basis: BasisFixed, Fixed: perHa(10)}
	e := pass(t, Setup{Tanks: []Tank{oats()}},
		Statement{At: at(0), Adjust: []Adjust{{Tank: 1, Factor: 2}, {Tank: 2, Rate: fixed}}},
		Statement{At: at(30), Tanks: []Tank{oats()}})
	op := e.Operations()[0]
	got, _ := op.Products[0].Applied()
	near(t, "tank 1", got, 18+9, 27*2e-5)
	if _, one := op.Products[0].Factor(); one {
		t.Error("one factor is told of a product that was laid under two")
	}
	// The controller never names tank 2; what was entered of it counts.
	got, _ = op.Products[1].Applied()
	near(t, "tank 2", got, 1.8, 1.8*2e-5)
}

// Where the controller names no tank, an entered rate or the target tells the amount.
func TestAdjustWithoutMeter(t *testing.T) {
	t.Parallel()
	for basis, want := range map[RateBasis]float64{BasisFixed: 9, BasisTarget: 19.8} {
		e := pass(t, Setup{Tanks: []Tank{oats()}, AlwaysOn: true}, Statement{At: at(0), Adjust: []Adjust{{Tank: 1, Rate: &RateRule{Basis: basis, Fixed: perHa(50)}}}})
		got, ok := e.Operations()[0].Products[0].Applied()
		if near(t, "applied", got, want, want*2e-5); !ok {
			t.Errorf("basis %d: not known", basis)
		}
	}
}

// A factor for a tank that is not set up times no sections and runs no tank.
func TestAdjustOfUnknownTank(t *testing.T) {
	t.Parallel()
	late := oats()
	late.Number, late.LagS = 2, 6
	e := pass(t, Setup{Tanks: []Tank{late}}, Statement{At: at(0), Adjust: []Adjust{{Tank: 1, Factor: 2}}})
	op := e.Operations()[0]
	near(t, "gross", op.Gross.M2(), 54*30, 0.02)
	got, _ := op.Products[0].Applied()
	near(t, "applied", got, 54*30*0.02, 0.01)
	e = pass(t, Setup{AlwaysOn: true}, Statement{At: at(0), Adjust: []Adjust{{Tank: 1, Factor: 2}}})
	if n := len(e.Operations()[0].Products); n != 0 {
		t.Errorf("%d products where none was ever named", n)
	}
}

func TestAdjustTanks(t *testing.T) {
	t.Parallel()
	kg := controller.Unit{Name: "kg/ha", Dim: controller.DimMassPerArea, ToSI: 1e-4}
	lb := controller.Unit{Name: "lb/ac", Dim: controller.DimMassPerArea, ToSI: controller.PoundKg / controller.AcreM2}
	litres := controller.Unit{Name: "l/ha", Dim: controller.DimVolumePerArea, ToSI: 1e-4}
	volume := controller.Quantity{SI: 0.01, Dim: controller.DimVolumePerArea}
	full := oats()
	full.Capacity, full.LagS = controller.Quantity{SI: 3800, Dim: controller.DimMass}, 4
	wash := Product{Name: "Wash", Kind: KindLiquid}
	heavy := Product{Name: "Oats", Kind: KindSeed, ThousandKernelG: 40}
	seeds := controller.Quantity{SI: 300, Dim: controller.DimCountPerArea}
	with := func(do func(*Tank)) Tank {
		v := full
		do(&v)
		return v
	}
	for _, c := range []struct {
		name string
		by   Adjust
		want Tank
	}{
		{"a target in another unit: bare numbers are read as before", Adjust{Tank: 1, Target: lb.Quantity(90), Unit: lb}, with(func(v *Tank) { v.Target = lb.Quantity(90) })},
		{"a product that is measured otherwise takes away what does not fit", Adjust{Tank: 1, Product: &wash}, with(func(v *Tank) {
			v.Product, v.Target, v.Capacity, v.Unit = wash, controller.Quantity{}, controller.Quantity{}, controller.Unit{}
		})},
		{"with its own target", Adjust{Tank: 1, Product: &wash, Target: volume, Unit: litres}, with(func(v *Tank) {
			v.Product, v.Target, v.Capacity, v.Unit = wash, volume, controller.Quantity{}, litres
		})},
		// 3800 kg at 40 g a thousand are 95 million seeds.
		{"a count of seeds that have a weight", Adjust{Tank: 1, Product: &heavy, Target: seeds, Unit: controller.Unit{Name: "seeds/m2", Dim: controller.DimCountPerArea, ToSI: 1}}, with(func(v *Tank) {
			v.Product, v.Target, v.Capacity = heavy, seeds, controller.Quantity{SI: 95e6, Dim: controller.DimCount}
			v.Unit = controller.Unit{Name: "seeds/m2", Dim: controller.DimCountPerArea, ToSI: 1}
		})},
	} {
		tanks := []Tank{full}
		if diff := cmp.Diff([]Tank{c.want}, AdjustTanks(tanks, []Adjust{c.by})); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
		if diff := cmp.Diff([]Tank{full}, tanks); diff != "" {
			t.Errorf("%s: what was given has changed:\n%s", c.name, diff)
		}
	}
	got := AdjustTanks([]Tank{full}, []Adjust{{Tank: 3, Target: perHa(5), Unit: kg}, {Tank: 2, Factor: 2}})
	if len(got) != 3 || got[1].Number != 2 || got[2].Number != 3 || !got[1].Untimed || got[2].Unit != kg {
		t.Errorf("got %+v", got)
	}
}

// A snapshot tells the rate as it is booked.
func TestSnapshotAdjusted(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		by   Adjust
		want float64
	}{
		{Adjust{Tank: 1, Factor: 2}, 200},
		{Adjust{Tank: 1, Rate: &RateRule{Basis: BasisTarget}}, 110},
		{Adjust{Tank: 1, Rate: &RateRule{Basis: BasisFixed, Fixed: perHa(90)}, Factor: 0.5}, 45},
		{Adjust{Tank: 1, Rate: &RateRule{Basis: BasisFlow}}, 3.0 / 60 / 30 * 1e4},
	} {
		e := pass(t, Setup{Tanks: []Tank{oats()}}, Statement{At: at(0), Adjust: []Adjust{c.by}})
		now := e.Snapshot().Tanks[0]
		if near(t, "rate", now.RatePerM2*1e4, c.want, c.want*1e-3); !now.HasRate || !now.HasUsed {
			t.Errorf("%+v: %+v", c.by, now)
		}
	}
}

// work drives as drawn: forward and turning, sections and rate changing at will.
func work(t *rapid.T, s Setup, legs []leg, said []Statement) (e *Engine, quads int, swaths []Swath) {
	s.Implement, s.Limits, s.StaleS, s.WatchSkips = rigid(3, 3, 3, 3), DefaultLimits(), 2, true
	s.OnQuad = func(Quad) { quads++ }
	s.OnSwath = func(w Swath) { swaths = append(swaths, w) }
	d := driver{e: NewEngine(s), plane: newDriver(&testing.T{}, Setup{}).plane}
	x, y, now, heading := 0.0, 0.0, 0.0, 0.0
	for _, l := range legs {
		for i := range l.fixes {
			for len(said) > 0 && !said[0].At.After(at(now)) {
				d.e.Say(said[0])
				said = said[1:]
			}
			if i%3 == 0 {
				d.report(now, l.sections, l.kgPerHa)
			}
			d.fix(now, x, y)
			heading += l.turn
			x, y, now = x+0.25*math.Sin(heading), y+0.25*math.Cos(heading), now+0.1
		}
	}
	d.e.Finish()
	return d.e, quads, swaths
}

type leg struct {
	fixes    int
	sections string
	kgPerHa  float64
	turn     float64 // radians a fix
}

func drawLegs(t *rapid.T) (legs []leg, seconds float64) {
	for i := range rapid.IntRange(2, 6).Draw(t, "legs") {
		l := leg{
			fixes:    rapid.IntRange(10, 120).Draw(t, "fixes"),
			sections: rapid.SampledFrom([]string{"1111", "1111", "1100", "0110", "0000"}).Draw(t, "sections"),
			kgPerHa:  rapid.Float64Range(1, 400).Draw(t, "rate"),
			turn:     rapid.SampledFrom([]float64{0, 0, 0.01, -0.02}).Draw(t, "turn"),
		}
		if i == 0 {
			l.sections = "1111"
		}
		legs = append(legs, l)
		seconds += float64(l.fixes) / 10
	}
	return legs, seconds
}

// A factor scales what was laid by just that and leaves every area alone.
func TestFactorScales(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		legs, _ := drawLegs(t)
		f := rapid.Float64Range(0.2, 5).Draw(t, "factor")
		plain, quads, swaths := work(t, Setup{Tanks: []Tank{oats()}}, legs, nil)
		c := Correction{From: at(-10), To: at(1e4), Statement: Statement{Adjust: []Adjust{{Tank: 1, Factor: f}}}}
		scaled, _, by := work(t, Setup{Tanks: []Tank{oats()}, Corrections: []Correction{c}}, legs, nil)
		a, b := plain.Operations()[0], scaled.Operations()[0]
		if a.Gross != b.Gross || a.Covered() != b.Covered() || a.OverlapBy() != b.OverlapBy() {
			t.Fatalf("areas %v %v, with the factor %v %v", a.Gross, a.Covered(), b.Gross, b.Covered())
		}
		if skip, _ := a.SkipM2(); true {
			if got, _ := b.SkipM2(); got != skip {
				t.Fatalf("skips %v, with the factor %v", skip, got)
			}
		}
		u, v := a.Products[0], b.Products[0]
		if u.Gross != v.Gross || v.metered != u.applied {
			t.Fatalf("metered %d on %d, with the factor %d on %d", u.applied, u.Gross, v.metered, v.Gross)
		}
		// Each quad is rounded twice, to half a step.
		if off := math.Abs(float64(v.applied) - f*float64(u.applied)); off > float64(quads)*(f+1)/2+1e-9*math.Abs(float64(v.applied)) {
			t.Fatalf("applied %d, times %v it is %d: off by %v steps in %d quads", u.applied, f, v.applied, off, quads)
		}
		if len(by) != len(swaths) {
			t.Fatalf("%d swaths, with the factor %d", len(swaths), len(by))
		}
		for i, s := range swaths {
			if s.Tanks[0].RatePerM2*f != by[i].Tanks[0].RatePerM2 || !cmp.Equal(s.Rings, by[i].Rings) {
				t.Fatalf("swath %d: %v, with the factor %v", i, s.Tanks, by[i].Tanks)
			}
		}
	})
}

// What is split off by a correction of the operation, and the rest, are the whole.
func TestSplitSumsToTheWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		legs, seconds := drawLegs(t)
		from := rapid.Float64Range(0, seconds).Draw(t, "from")
		whole, _, _ := work(t, Setup{Tanks: []Tank{oats()}}, legs, nil)
		name := "seeding again"
		c := Correction{From: at(from), To: at(seconds + 10), Statement: Statement{Operation: &name}}
		split, _, _ := work(t, Setup{Tanks: []Tank{oats()}, Corrections: []Correction{c}}, legs, nil)
		var gross, applied, worked float64
		for _, o := range split.Operations() {
			gross += o.Gross.M2()
			worked += float64(o.WorkingNS)
			for _, u := range o.Products {
				v, _ := u.Applied()
				applied += v
			}
		}
		a := whole.Operations()[0]
		want, _ := a.Products[0].Applied()
		// The quad that is cut has its corners on a grid of 0.1 mm: 12 m times that.
		if math.Abs(gross-a.Gross.M2()) > 0.003 || math.Abs(applied-want) > 0.003*0.04+1e-6 || worked != float64(a.WorkingNS) {
			t.Fatalf("split at %.2f s: %v m2, %v kg, %v s of %v m2, %v kg, %v s", from, gross, applied, worked/1e9, a.Gross.M2(), want, time.Duration(a.WorkingNS).Seconds())
		}
	})
}
