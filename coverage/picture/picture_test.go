package picture_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"

	"drawbar/coverage"
	"drawbar/coverage/ground"
	"drawbar/coverage/picture"
	"drawbar/coverage/plane"
)

var far = plane.Coord{X: 1 << 45, Y: 1 << 45}

// machine lays quads along a path.
type machine struct {
	swaths   picture.Swaths
	op       coverage.Operation
	at       time.Time
	x, y     float64
	heading  float64
	from, to int
	told     []coverage.SwathTank
	quads    []ground.Quad
}

func start() *machine {
	return &machine{at: time.Date(2026, 5, 14, 13, 0, 0, 0, time.UTC), from: 1, to: 4, told: laid(0.0112, 0.0112)}
}

func laid(rate, target float64) []coverage.SwathTank {
	return []coverage.SwathTank{{Tank: 1, Product: "Spring oats", Unit: "kg", RatePerM2: rate, TargetPerM2: target, HasRate: true, HasTarget: true}}
}

// bar is the place of section ends lo and hi, 3 m apart, of four.
func (m *machine) bar(lo, hi int) (plane.Coord, plane.Coord) {
	sin, cos := math.Sincos(m.heading)
	end := func(i int) plane.Coord {
		d := float64(3*i - 6)
		return plane.Snap(m.x+cos*d, m.y-sin*d)
	}
	return end(lo - 1), end(hi)
}

// drive moves on by d metres, turning by turn radians.
func (m *machine) drive(d, turn float64) {
	a, b := m.bar(m.from, m.to)
	m.heading += turn
	m.x += d * math.Sin(m.heading)
	m.y += d * math.Cos(m.heading)
	l, r := m.bar(m.from, m.to)
	q := ground.Quad{a, b, r, l}
	next := m.at.Add(50 * time.Millisecond)
	m.swaths.Add(coverage.Quad{Operation: &m.op, From: m.from, To: m.to, Start: m.at, End: next, Corners: q, Area: q.Area(), Tanks: m.told})
	m.quads = append(m.quads, q)
	m.at = next
}

func show(s picture.Snapshot, coarse, least int64) (all []picture.Swath) {
	s.Window(plane.Coord{X: -far.X, Y: -far.Y}, far, coarse, least, func(w *picture.Swath) bool {
		c := *w
		c.Left = append([]plane.Coord(nil), w.Left...)
		c.Right = append([]plane.Coord(nil), w.Right...)
		c.Tanks = append([]coverage.SwathTank(nil), w.Tanks...)
		all = append(all, c)
		return true
	})
	return all
}

func areaM2(all []picture.Swath) (sum float64) {
	for _, w := range all {
		ring := append([]plane.Coord(nil), w.Left...)
		for i := len(w.Right) - 1; i >= 0; i-- {
			ring = append(ring, w.Right[i])
		}
		sum += math.Abs(plane.AreaM2(plane.Area2(ring)))
	}
	return sum
}

// A straight pass is one swath of two bars and the one it is at, whatever the fixes.
func TestStraightPass(t *testing.T) {
	t.Parallel()
	m := start()
	for range 4000 {
		m.drive(0.15, 0)
	}
	shot := m.swaths.Snapshot()
	all := show(shot, 0, 0)
	if len(all) != 1 {
		t.Fatalf("%d swaths, want 1", len(all))
	}
	// The third is where the machine is now.
	if n := len(all[0].Left); n > 3 {
		t.Errorf("%d bars for a straight line", n)
	}
	if got, want := areaM2(all), 4000*0.15*12; math.Abs(got-want) > 1 {
		t.Errorf("got %.2f m2, want %.2f", got, want)
	}
}

// Whatever ends a swath ends it, and what does not does not.
func TestWhatEndsASwath(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		change func(*machine)
		want   int
	}{
		{"nothing", func(*machine) {}, 1},
		{"the rate by 1.5 %", func(m *machine) { m.told = laid(0.0112*1.015, 0.0112) }, 1},
		{"the rate by 3 %", func(m *machine) { m.told = laid(0.0112*1.03, 0.0112) }, 2},
		{"the target and the rate alike", func(m *machine) { m.told = laid(0.0130, 0.0130) }, 2},
		{"the target by half a percent", func(m *machine) { m.told = laid(0.0112, 0.0112*1.005) }, 1},
		{"the product", func(m *machine) { m.told = laid(0.0112, 0.0112); m.told[0].Product = "Winter wheat" }, 2},
		{"a rate not known", func(m *machine) { m.told = laid(0.0112, 0.0112); m.told[0].HasRate = false }, 2},
		{"sections", func(m *machine) { m.to = 3 }, 2},
		{"a hole in time", func(m *machine) { m.at = m.at.Add(time.Second) }, 2},
		{"a jump", func(m *machine) { m.x += 3 }, 2},
		{"backing up", func(m *machine) {
			for range 100 {
				m.drive(-0.1, 0)
			}
		}, 5}, // short ones where it turns round
	} {
		m := start()
		for range 100 {
			m.drive(0.15, 0)
		}
		c.change(m)
		for range 100 {
			m.drive(0.15, 0)
		}
		if got := len(show(m.swaths.Snapshot(), 0, 0)); got != c.want {
			t.Errorf("%s: %d swaths, want %d", c.name, got, c.want)
		}
	}
}

// On any path the swaths have the area of the quads, to 5 cm on either side.
func TestSwathsKeepTheArea(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := start()
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		sharp := rapid.Float64Range(0, 0.02).Draw(t, "turn a step")
		turn, way := 0.0, 0.0
		for range 2000 {
			turn = 0.98*turn + 0.02*sharp*rng.NormFloat64()*5
			if rng.IntN(300) == 0 {
				m.from, m.to = 1+rng.IntN(2), 3+rng.IntN(2)
			}
			m.drive(0.15, max(-0.02, min(turn, 0.02)))
			way += 0.15
		}
		want := 0.0
		for _, q := range m.quads {
			want += q.Area().M2()
		}
		got := areaM2(show(m.swaths.Snapshot(), 0, 0))
		if off := math.Abs(got - want); off > 2*0.05*way+1 {
			t.Fatalf("swaths of %.1f m2, quads of %.1f", got, want)
		}
		merged := areaM2(show(m.swaths.Snapshot(), 1000, 100_000))
		if off := math.Abs(merged - want); off > 2*0.15*way+1 {
			t.Fatalf("merged swaths of %.1f m2, quads of %.1f", merged, want)
		}
	})
}

// A snapshot shows the same however the work goes on, also of quads that fold.
func TestSnapshotNeverChanges(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := start()
		place := rapid.Int64Range(-500_000, 500_000)
		wild := func(n int) {
			for range n {
				q := ground.Quad{}
				for i := range q {
					q[i] = plane.Coord{X: place.Draw(t, "x"), Y: place.Draw(t, "y")}
				}
				from := rapid.IntRange(0, 3).Draw(t, "from")
				m.swaths.Add(coverage.Quad{From: from, To: from + 1, Start: m.at, End: m.at.Add(time.Second), Corners: q, Area: q.Area(), Tanks: m.told})
				m.at = m.at.Add(time.Second)
				m.x, m.y = float64(q[0].X)/1e4, float64(q[0].Y)/1e4
				for range 5 {
					m.drive(0.2, 0.01)
				}
			}
		}
		wild(rapid.IntRange(0, 20).Draw(t, "before"))
		shot := m.swaths.Snapshot()
		before := fmt.Sprint(show(shot, 0, 0), show(shot, 2000, 50_000))
		wild(rapid.IntRange(0, 20).Draw(t, "after"))
		if after := fmt.Sprint(show(shot, 0, 0), show(shot, 2000, 50_000)); after != before {
			t.Fatalf("the snapshot changed:\n%s\n%s", before, after)
		}
	})
}

// A day of 12 h at 20 fixes a second with 36 sections stays below 10 MB: passes with
// 2 cm of noise, sections off now and then, a rate that wanders by 2 %.
func TestADayIsLight(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("a day takes a second or two")
	}
	m := start()
	m.to = 36
	rng := rand.New(rand.NewPCG(9, 9))
	rate, drift := 0.0, 0.0
	for i := range 12 * 3600 * 20 {
		if i%4 == 0 {
			rate = 0.9*rate + 0.009*rng.NormFloat64()
			m.told = laid(0.0112*(1+rate), 0.0112)
		}
		if i%600 == 0 {
			m.from = 1 + rng.IntN(3)
		}
		next := 0.97*drift + 0.005*rng.NormFloat64()
		if i%6000 == 5999 { // the next pass
			m.at, m.y, m.heading = m.at.Add(20*time.Second), 0, 0
			m.x = float64(i / 6000 * 36 % 50_000)
		}
		m.x += next - drift
		drift = next
		a, b := plane.Snap(m.x-18+float64(m.from), m.y), plane.Snap(m.x+18, m.y)
		m.y += 0.15
		l, r := plane.Snap(m.x-18+float64(m.from), m.y), plane.Snap(m.x+18, m.y)
		if i > 0 && i%6000 != 0 {
			a, b = m.quads[0][3], m.quads[0][2]
		}
		q := ground.Quad{a, b, r, l}
		m.quads = append(m.quads[:0], q)
		end := m.at.Add(50 * time.Millisecond)
		m.swaths.Add(coverage.Quad{From: m.from, To: 36, Start: m.at, End: end, Corners: q, Area: q.Area(), Tanks: m.told})
		m.at = end
	}
	t.Logf("%d swaths in %.2f MB", m.swaths.Strips(), float64(m.swaths.Bytes())/1e6)
	if got := m.swaths.Bytes(); got > 10_000_000 {
		t.Errorf("%d bytes in %d swaths, want less than 10 MB", got, m.swaths.Strips())
	}
}
