package supply

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"drawbar/coverage"
)

// Exact by definition (NIST Special Publication 811, appendix B): the US gallon of
// 231 cubic inches, the international acre of 43,560 square feet, the foot.
const (
	litrePerGal = 3.785411784
	m2PerAcre   = 4046.8564224
	mPerFoot    = 0.3048
)

// A sprayer tank of 200 gal at 20 gal/ac covers 10 ac (arithmetic of the usual
// calibration handouts). With a boom of 60 ft that is 435,600 / 60 = 7,260 ft of way,
// at 6 mph = 8.8 ft/s 825 s.
func TestTankCover(t *testing.T) {
	t.Parallel()
	s := machine(100, 20, 0, 60*mPerFoot)
	s.SpeedMPS = 8.8 * mPerFoot
	s.Tanks = []coverage.TankNow{{Number: 3, LevelAmount: 200 * litrePerGal, HasLevel: true, RatePerM2: 20 * litrePerGal / m2PerAcre, HasRate: true}}
	f := Of(s, Pass{Working: true})
	if len(f.Tanks) != 1 || f.Tanks[0].Tank != 3 {
		t.Fatalf("got %+v", f)
	}
	o := f.Tanks[0]
	if !o.HasArea || !o.HasDistance || !o.HasTime || o.ThisPass != Unknown || o.NextPass != Unknown || f.HasPassLeft || f.HasNextPass {
		t.Errorf("got %+v of %+v: want area, way and time known, and nothing of passes", o, f)
	}
	near(t, "area", o.AreaLeftM2/m2PerAcre, 10, 1e-9)
	near(t, "way", o.DistanceLeftM/mPerFoot, 7260, 1e-6)
	near(t, "time", o.TimeLeftS, 825, 1e-6)
}

// A field of 400 m by 300 m, a bar of 12 m at x = 100, y = 40 going north: 260 m are
// left of the pass, 0.312 ha, at 100 kg/ha 31.2 kg; 40 m are done, the next pass is
// 300 m, 36 kg.
func TestOutlookOnAPass(t *testing.T) {
	t.Parallel()
	square := NewBorder(field([][][2]float64{box(0, 0, 400, 300)}))
	pond := NewBorder(field([][][2]float64{box(0, 0, 400, 300), box(90, 120, 110, 160)}))
	level := func(kg float64) func(*coverage.Snapshot, *Pass) {
		return func(s *coverage.Snapshot, _ *Pass) { s.Tanks[0].LevelAmount = kg }
	}
	both := func(f ...func(*coverage.Snapshot, *Pass)) func(*coverage.Snapshot, *Pass) {
		return func(s *coverage.Snapshot, p *Pass) {
			for _, g := range f {
				g(s, p)
			}
		}
	}
	off := func(s *coverage.Snapshot, p *Pass) {
		s.Metered = []coverage.SectionState{coverage.SectionOff, coverage.SectionOff}
		s.Tanks[0].RatePerM2 = 0
		p.Working, p.DoneM, p.LastM = false, 0, 300
	}
	for _, c := range []struct {
		name       string
		change     func(*coverage.Snapshot, *Pass)
		this, next Answer
		inM        float64 // where it runs out, with this No
		share      float64
	}{
		{"plenty", level(1000), Yes, Yes, 0, 10},
		{"exactly two passes", level(31.2 + 36 + 1e-6), Yes, Yes, 0, 1},
		{"a little less", level(31.2 + 35.9), Yes, No, 0, 35.9 / 36},
		{"exactly this pass", level(31.2 + 1e-6), Yes, No, 0, 0},
		{"half of it", level(15.6), No, No, 130, 0},
		{"empty", level(0), No, No, 0, 0},
		{"below empty", level(-3), No, No, 0, 0},
		{"half the bar on: twice as far", both(level(15.6+1e-6), func(s *coverage.Snapshot, _ *Pass) { s.Metered[1] = coverage.SectionOff }), Yes, No, 0, 0},
		{"over the pond: 80 m to it, 40 m over it, and 10 m", both(level(12*90*0.01), func(_ *coverage.Snapshot, p *Pass) { p.Border = pond }), No, No, 130, 0},
		{"the pond is not worked", both(level(26.4+31.2+1e-6), func(_ *coverage.Snapshot, p *Pass) { p.Border = pond }), Yes, Yes, 0, 1},
		{"the headland of the last pass: 24 m less", both(level(12*236*0.01+12*276*0.01+1e-6), func(_ *coverage.Snapshot, p *Pass) { p.StopM = 24 }), Yes, Yes, 0, 1},
		{"the last pass was longer", both(level(31.2+40), func(_ *coverage.Snapshot, p *Pass) { p.LastM = 350 }), Yes, No, 0, 40.0 / 42},
		{"no border: as long as the last", both(level(15.6), func(_ *coverage.Snapshot, p *Pass) { p.Border, p.LastM = nil, 250 }), No, No, 130, 0},
		{"no border, longer than the last: done", both(level(31), func(_ *coverage.Snapshot, p *Pass) { p.Border, p.LastM = nil, 30 }), Yes, Yes, 0, 31 / 4.8},
		{"little ground remains: no more than that", both(level(31.2+5), func(s *coverage.Snapshot, _ *Pass) {
			s.Operation = &coverage.OperationNow{HasField: true, HasSkip: true, RemainingM2: 3120 + 400}
		}), Yes, Yes, 0, 5.0 / 4},
		{"the last pass of all", both(level(31.2), func(s *coverage.Snapshot, _ *Pass) {
			s.Operation = &coverage.OperationNow{HasField: true, HasSkip: true, RemainingM2: 3000}
		}), Yes, Yes, 0, 10},
		{"on the headland, by the target", both(level(30), off), Unknown, No, 0, 30.0 / 36},
		{"on the headland, enough", both(level(72), off), Unknown, Yes, 0, 2},
	} {
		s := machine(100, 40, 0, 12)
		s.Tanks = []coverage.TankNow{{Number: 1, RatePerM2: 0.01, HasRate: true, TargetPerM2: 0.01, HasTarget: true, HasLevel: true}}
		p := Pass{Working: true, DoneM: 40, Border: square}
		c.change(s, &p)
		o := Of(s, p).Tanks[0]
		if o.ThisPass != c.this || o.NextPass != c.next {
			t.Errorf("%s: got %v for this pass, %v for the next; want %v, %v", c.name, o.ThisPass, o.NextPass, c.this, c.next)
		}
		near(t, c.name+": share", o.NextShare, c.share, 1e-5)
		if c.this != No {
			continue
		}
		near(t, c.name+": runs out in", o.RunsOut.InM, c.inM, 1e-4)
		near(t, c.name+": runs out after", o.RunsOut.InS, c.inM/2.5, 1e-4)
		x, y, _ := wolds.Forward(o.RunsOut.LatDeg, o.RunsOut.LonDeg)
		near(t, c.name+": east", x, 100, 1e-3)
		near(t, c.name+": north", y, 40+c.inM, 1e-3)
	}
}

// What lacks an input is not known.
func TestUnknownStaysUnknown(t *testing.T) {
	t.Parallel()
	square := NewBorder(field([][][2]float64{box(0, 0, 400, 300)}))
	whole := Outlook{Tank: 1, HasArea: true, HasDistance: true, HasTime: true, ThisPass: Yes, NextPass: Yes}
	nothing := Outlook{Tank: 1}
	for _, c := range []struct {
		name   string
		change func(*coverage.Snapshot, *Pass)
		want   Outlook
	}{
		{"all is known", func(*coverage.Snapshot, *Pass) {}, whole},
		{"no level", func(s *coverage.Snapshot, _ *Pass) { s.Tanks[0].HasLevel = false }, nothing},
		{"no rate, no target", func(s *coverage.Snapshot, _ *Pass) { s.Tanks[0].HasRate, s.Tanks[0].HasTarget = false, false }, nothing},
		{"no rate, but a target", func(s *coverage.Snapshot, _ *Pass) { s.Tanks[0].HasRate, s.Tanks[0].RatePerM2 = false, 0 }, whole},
		{"a rate of zero while sections are on: not in use", func(s *coverage.Snapshot, _ *Pass) { s.Tanks[0].RatePerM2 = 0 }, nothing},
		{"a rate below zero", func(s *coverage.Snapshot, _ *Pass) { s.Tanks[0].RatePerM2 = -1 }, nothing},
		{"a rate next to nothing", func(s *coverage.Snapshot, _ *Pass) { s.Tanks[0].RatePerM2 = 1e-300 }, nothing},
		{"standing", func(s *coverage.Snapshot, _ *Pass) { s.SpeedMPS = 0.1 }, Outlook{Tank: 1, HasArea: true, HasDistance: true, ThisPass: Yes, NextPass: Yes}},
		{"no speed", func(s *coverage.Snapshot, _ *Pass) { s.HasSpeed = false }, Outlook{Tank: 1, HasArea: true, HasDistance: true, ThisPass: Yes, NextPass: Yes}},
		{"no implement", func(s *coverage.Snapshot, _ *Pass) { s.SectionsM, s.Sections, s.Metered, s.Bar = nil, nil, nil, nil }, Outlook{Tank: 1, HasArea: true}},
		{"no place", func(s *coverage.Snapshot, _ *Pass) { s.Bar, s.Placed = nil, false }, Outlook{Tank: 1, HasArea: true, HasDistance: true, HasTime: true}},
		{"the bar is a point", func(s *coverage.Snapshot, _ *Pass) { s.Bar[2] = s.Bar[0] }, Outlook{Tank: 1, HasArea: true, HasDistance: true, HasTime: true}},
		{"outside the field", func(s *coverage.Snapshot, _ *Pass) { s.Bar = machine(-50, 40, 0, 12).Bar }, Outlook{Tank: 1, HasArea: true, HasDistance: true, HasTime: true}},
		{"no border and no pass before", func(_ *coverage.Snapshot, p *Pass) { p.Border = nil }, Outlook{Tank: 1, HasArea: true, HasDistance: true, HasTime: true}},
		{"before the first pass", func(_ *coverage.Snapshot, p *Pass) { p.Working, p.DoneM = false, 0 }, Outlook{Tank: 1, HasArea: true, HasDistance: true, HasTime: true}},
	} {
		s := machine(100, 40, 0, 12)
		s.Tanks = []coverage.TankNow{{Number: 1, RatePerM2: 0.01, HasRate: true, TargetPerM2: 0.01, HasTarget: true, LevelAmount: 500, HasLevel: true}}
		p := Pass{Working: true, DoneM: 40, Border: square}
		c.change(s, &p)
		got := Of(s, p).Tanks[0]
		if !got.HasArea && got.AreaLeftM2 != 0 || !got.HasDistance && got.DistanceLeftM != 0 || !got.HasTime && got.TimeLeftS != 0 || got.NextPass == Unknown && got.NextShare != 0 {
			t.Errorf("%s: what is not known has a figure: %+v", c.name, got)
		}
		got.AreaLeftM2, got.DistanceLeftM, got.TimeLeftS, got.NextShare = 0, 0, 0, 0
		if got != c.want {
			t.Errorf("%s: got %+v, want %+v", c.name, got, c.want)
		}
	}
	if f := Of(&coverage.Snapshot{}, Pass{}); len(f.Tanks) != 0 || f.HasNextPass || f.HasPassLeft {
		t.Errorf("nothing set up: got %+v", f)
	}
}

// However a machine stands in a field with a pond: more in the tank never makes
// anything worse; where it runs out lies on the way ahead, on worked ground, so far
// off as is said; and the work up to there uses up the tank.
func TestOutlookProperties(t *testing.T) {
	t.Parallel()
	border := NewBorder(field([][][2]float64{{{0, 0}, {400, 0}, {330, 300}, {180, 200}, {-40, 310}}, box(120, 80, 150, 110)}))
	worse := func(a, b Answer) bool { return a == Yes && b != Yes || a == Unknown != (b == Unknown) }
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64Range(-50, 420).Draw(t, "x"), rapid.Float64Range(-20, 320).Draw(t, "y")
		course, width := rapid.Float64Range(0, 360).Draw(t, "course"), rapid.Float64Range(1, 48).Draw(t, "width")
		s := machine(x, y, course, width)
		if rapid.Bool().Draw(t, "half") {
			s.Metered[1] = coverage.SectionOff
		}
		rate := rapid.Float64Range(1e-4, 0.1).Draw(t, "rate")
		p := Pass{Border: border, Working: true, DoneM: rapid.Float64Range(0, 300).Draw(t, "done"), LastM: rapid.Float64Range(0, 400).Draw(t, "last"), StopM: rapid.SampledFrom([]float64{0, 0, 12, 50}).Draw(t, "stop")}
		outlook := func(level float64) Outlook {
			s.Tanks = []coverage.TankNow{{Number: 1, RatePerM2: rate, HasRate: true, LevelAmount: level, HasLevel: true}}
			return Of(s, p).Tanks[0]
		}
		level := rapid.Float64Range(0, 400*width*rate).Draw(t, "level")
		less, more := outlook(level), outlook(level*(1+rapid.Float64Range(0, 1).Draw(t, "more")))
		if worse(less.ThisPass, more.ThisPass) || worse(less.NextPass, more.NextPass) || more.AreaLeftM2 < less.AreaLeftM2 || more.DistanceLeftM < less.DistanceLeftM || more.NextShare < less.NextShare {
			t.Fatalf("with more in the tank %+v, with less %+v", more, less)
		}
		if less.ThisPass == No && more.ThisPass == No && more.RunsOut.InM < less.RunsOut.InM {
			t.Fatalf("with more in the tank it runs out in %v m, with less in %v m", more.RunsOut.InM, less.RunsOut.InM)
		}
		if less.ThisPass != No {
			return
		}
		at, _ := placeOn(border.plane, s)
		ox, oy, ok := border.plane.Forward(less.RunsOut.LatDeg, less.RunsOut.LonDeg)
		way := at.at.to(vec{ox, oy})
		if along, aside := at.forward.dot(way), at.forward.left(way); !ok || math.Abs(along-less.RunsOut.InM) > 1e-4 || math.Abs(aside) > 1e-4 {
			t.Fatalf("runs out %v m along and %v m beside the way ahead; want %v, 0", along, aside, less.RunsOut.InM)
		}
		worked := 0.0
		for _, w := range border.ahead(at).work {
			worked += max(0, min(w.toM, less.RunsOut.InM)-w.fromM)
		}
		if math.Abs(worked-less.DistanceLeftM) > 1e-6 {
			t.Fatalf("worked %v m until it runs out; want %v", worked, less.DistanceLeftM)
		}
	})
}

// A controller that meters 5 % too little and whose record is set right by a factor
// empties its own level by its own figures; a level from refills falls by what was
// laid. By hand: 100 kg at 100 kg/ha laid, of which the controller counts 100/1.05.
func TestFactorAndLevel(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		from   coverage.LevelFrom
		wantHa float64
	}{{coverage.LevelFromController, 1.05}, {coverage.LevelFromRefills, 1}} {
		s := machine(100, 20, 0, 12)
		s.Tanks = []coverage.TankNow{{Number: 1, RatePerM2: 0.01, Factor: 1.05, HasRate: true, LevelAmount: 100, HasLevel: true, LevelFrom: c.from}}
		near(t, c.from.String(), Of(s, Pass{}).Tanks[0].AreaLeftM2/1e4, c.wantHa, 1e-12)
	}
}
