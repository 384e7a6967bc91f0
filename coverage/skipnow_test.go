package coverage

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// fromScratch is the area of the skips on an operation's ground, worked out anew.
func fromScratch(t interface{ Fatal(...any) }, op *Operation) ground.Area {
	rule, ok := op.skipRule.on(op.Plane, op.Boundary)
	if !ok {
		t.Fatal("the boundary does not lie on the plane")
	}
	k := ground.NewSkips(op.Ground(), rule)
	k.Update()
	return k.Area()
}

// watching is a drill of 12 m that remembers its skips, or does not.
func watching(watch bool) *driver {
	return &driver{e: NewEngine(Setup{Implement: rigid(3, 3, 3, 3), Limits: DefaultLimits(), StaleS: 2, WatchSkips: watch}), plane: plane.New(originLat, originLon)}
}

func (d *driver) bound(corners ...[2]float64) {
	var ring [][2]float64
	for _, p := range append(corners, corners[0]) {
		lat, lon := d.plane.Inverse(p[0], p[1])
		ring = append(ring, [2]float64{lon, lat})
	}
	d.e.Say(Statement{At: at(-1), Boundary: &Boundary{{ring}}})
}

// A bar of 36 m at 20 fixes a second and 4 m/s. Two passes make a gap of 2 m, a
// third one closes it; the machine drives on without work after each. What a
// snapshot shows is never older than a second, and a second after the pass it is
// what comes out from scratch, to the last digit.
func TestSkipsSettleWithinASecond(t *testing.T) {
	t.Parallel()
	for _, boundary := range []bool{false, true} {
		d := newDriver(t, Setup{Implement: rigid(slices.Repeat([]float64{3}, 12)...), Limits: DefaultLimits()})
		if boundary {
			d.bound([2]float64{-18, 0}, [2]float64{120, 0}, [2]float64{120, 40}, [2]float64{-18, 40})
		}
		type figure struct {
			s  float64
			m2 float64
		}
		var (
			recent []figure // from scratch, of the last second
			gross  ground.Area
			m2     float64
		)
		settled := map[float64]float64{}
		drive := func(t0, x float64, north, work bool) {
			for i := range 201 {
				s := t0 + float64(i)/20
				y := float64(i) * 0.2
				if !north {
					y = 40 - y
				}
				if i%4 == 0 {
					state := "111111111111"
					if !work {
						state = "000000000000"
					}
					d.report(s, state, 100)
				}
				d.fix(s, x, y)
				n := d.e.Snapshot()
				if n.Operation == nil || !n.Operation.HasSkip || !d.e.Operations()[0].Worked() {
					continue
				}
				if op := d.e.Operations()[0]; op.Gross != gross {
					gross, m2 = op.Gross, fromScratch(t, op).M2()
				}
				recent = append(recent, figure{s, m2})
				for recent[0].s < s-1 {
					recent = recent[1:]
				}
				if !slices.ContainsFunc(recent, func(f figure) bool { return f.m2 == n.Operation.SkipM2 }) {
					t.Errorf("boundary %v: at %.2f s shown %.4f m2, in the second before it was %.4f to %.4f", boundary, s, n.Operation.SkipM2, recent[0].m2, recent[len(recent)-1].m2)
				}
				if !work && s >= t0+1.3 { // sections go off with the first report, 0.2 s at most
					if want := recent[len(recent)-1].m2; n.Operation.SkipM2 != want {
						t.Errorf("boundary %v: at %.2f s, a second after the pass, shown %.4f m2, from scratch %.4f", boundary, s, n.Operation.SkipM2, want)
					}
					settled[t0] = n.Operation.SkipM2
				}
			}
		}
		drive(0, 0, true, true)
		drive(100, 30, false, false)
		drive(200, 38, true, true) // 2 m by 40 m
		drive(300, 80, false, false)
		drive(400, 19, true, true)
		drive(500, 80, false, false)
		near(t, "once made", settled[300], 80, 4)
		near(t, "once closed", settled[500], 0, 1e-9)
	}
}

// Any job, watched at any moments, with a boundary and without: the live figure is
// what comes out from scratch on the same ground, at each moment and at the end.
func TestSkipsLiveAndFromScratch(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := watching(rapid.Bool().Draw(t, "watch"))
		fieldM2 := 80.0 * 90
		if rapid.Bool().Draw(t, "boundary") {
			d.bound([2]float64{-6, 0}, [2]float64{74, 0}, [2]float64{74, 85}, [2]float64{-6, 90})
		}
		s := 0.0
		for range rapid.IntRange(1, 7).Draw(t, "passes") {
			x, lean := rapid.Float64Range(0, 70).Draw(t, "x"), rapid.Float64Range(-0.3, 0.3).Draw(t, "lean")
			north := rapid.Bool().Draw(t, "north")
			states := "1111"
			for i := range rapid.IntRange(20, 160).Draw(t, "fixes") {
				if i%20 == 0 {
					states = rapid.SampledFrom([]string{"1111", "1111", "1011", "0001", "0000"}).Draw(t, "states")
				}
				y := float64(i) * 0.5
				if !north {
					y = 85 - y
				}
				d.report(s, states, 100)
				d.fix(s, x+lean*y, y)
				s += 0.2
				if rapid.IntRange(0, 40).Draw(t, "look") > 0 {
					continue
				}
				n := d.e.Snapshot()
				op := d.e.Operations()[0]
				live, ok := op.SkipM2()
				if !op.Worked() {
					continue
				}
				if want := fromScratch(t, op).M2(); !ok || math.Abs(live-want) > 0.0002*fieldM2 || live != want {
					t.Fatalf("at %.1f s: live %.4f m2 (known %v), from scratch %.4f", s, live, ok, want)
				}
				if !n.Operation.HasSkip {
					t.Fatalf("at %.1f s the snapshot knows of no skips", s)
				}
			}
			s += 30
		}
		d.e.Finish()
		for _, op := range d.e.Operations() {
			if !op.Worked() {
				continue
			}
			if got, _ := op.SkipM2(); got != fromScratch(t, op).M2() {
				t.Fatalf("at the end %.4f m2, from scratch %.4f", got, fromScratch(t, op).M2())
			}
		}
	})
}

// A snapshot lists the five largest skips that are not closed, as the full list
// has them, since when included, and counts the open ones.
func TestSkipsOfASnapshot(t *testing.T) {
	t.Parallel()
	for _, watch := range []bool{false, true} {
		d := watching(watch)
		x, states := 0.0, map[SkipState]int{}
		for k, gap := range []float64{0.5, 1.1, 0.3, 0.9, 0.7, 1.3, 0.4, 0} {
			t0 := float64(k) * 60
			for i := range 400 {
				s, y := t0+float64(i)/10, float64(i)*0.25
				if i%2 == 0 {
					d.report(s, "1111", 100)
				}
				d.fix(s, x, y)
				if i%57 != 56 {
					continue
				}
				n := d.e.Snapshot().Operation
				var want []Skip
				open := 0
				for _, v := range d.e.Operations()[0].Skips() {
					if v.State == SkipOpen {
						open++
					}
					if v.State != SkipClosed {
						want = append(want, v)
					}
				}
				slices.SortStableFunc(want, func(a, b Skip) int { return cmp.Compare(b.AreaM2, a.AreaM2) })
				want = want[:min(len(want), 5)]
				if n.OpenSkips != open || len(n.Skips) != len(want) {
					t.Fatalf("at %.1f s: %d open, %d listed; want %d and %d", s, n.OpenSkips, len(n.Skips), open, len(want))
				}
				for j, v := range n.Skips {
					states[v.State]++
					if !watch {
						if !v.Since.IsZero() {
							t.Errorf("not watched: since %v, want none", v.Since)
						}
						v.Since = want[j].Since
					}
					if v != want[j] {
						t.Errorf("at %.1f s, skip %d:\ngot  %+v\nwant %+v", s, j, v, want[j])
					}
				}
			}
			x += 12 + gap
		}
		if states[SkipOpen] == 0 || states[SkipProvisional] == 0 {
			t.Errorf("states seen: %v, want both", states)
		}
	}
}
