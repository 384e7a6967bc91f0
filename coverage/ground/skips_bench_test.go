package ground

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"drawbar/coverage/plane"
)

// misses is a field of that many hectares whose 36 m bar leaves gaps here and
// there, 20 fixes a second at 4 m/s, with its boundary.
func misses(ha float64) (d drive, rule SkipRule) {
	d = field(ha)
	d.barM, d.sections, d.overlapM, d.stepM, d.noiseM = 36, 12, 0.1, 0.2, 0.08
	w, l := d.widthM, d.lengthM
	rule = SkipRule{Width: 42_000, MinArea: Area(147 * areaPerM2 / 100), Field: [][]plane.Coord{{d.turned(0, 0), d.turned(w, 0), d.turned(w, l), d.turned(0, l)}}}
	return d, rule
}

// BenchmarkSkips65ha is a whole field from scratch.
func BenchmarkSkips65ha(b *testing.B) { benchSkips(b, 65) }

// BenchmarkSkips1000ha shows the memory of a large one.
func BenchmarkSkips1000ha(b *testing.B) { benchSkips(b, 1000) }

func benchSkips(b *testing.B, ha float64) {
	d, rule := misses(ha)
	if ha > 100 { // as a machine with automatic steering works
		d.overlapM, d.noiseM = 0.3, 0.02
	}
	s := New()
	d.each(func(step []Quad) {
		for _, q := range step {
			s.Add(q)
		}
	})
	var k *Skips
	b.ReportAllocs()
	for b.Loop() {
		k = NewSkips(s, rule)
		k.Update()
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1e3/float64(b.N), "ms")
	b.ReportMetric(float64(len(k.Parts())), "parts")
	b.ReportMetric(k.Area().M2(), "m2")
	b.ReportMetric(float64(k.Bytes())/1e6, "MB")
	b.ReportMetric(float64(s.Bytes())/1e6, "ground-MB")
}

// BenchmarkSkipsASecond is what a second of work costs, 20 fixes of a 36 m bar on
// 65 ha: noting the quads, and working them off.
func BenchmarkSkipsASecond(b *testing.B) {
	d, rule := misses(65)
	var steps [][]Quad
	d.each(func(step []Quad) { steps = append(steps, slices.Clone(step)) })
	for _, bm := range []struct {
		name  string
		width int64
		field bool
	}{{"width4.2m", 42_000, true}, {"width1m", 10_000, true}, {"width18m", 180_000, true}, {"width4.2m,noBoundary", 42_000, false}} {
		b.Run(bm.name, func(b *testing.B) {
			rule := rule
			rule.Width = bm.width
			if !bm.field {
				rule.Field = nil
			}
			b.ReportAllocs()
			var took []time.Duration
			for b.Loop() {
				s := New()
				k := NewSkips(s, rule)
				took = took[:0]
				var sum time.Duration
				for i, step := range steps {
					for _, q := range step {
						s.Add(q)
					}
					start := time.Now()
					for _, q := range step {
						k.Note(q)
					}
					if i%20 == 19 {
						k.Update()
						took = append(took, sum+time.Since(start))
						sum = 0
						continue
					}
					sum += time.Since(start)
				}
				b.ReportMetric(k.Area().M2(), "m2")
			}
			total := time.Duration(0)
			for _, t := range took {
				total += t
			}
			slices.Sort(took)
			b.ReportMetric(float64(total.Microseconds())/float64(len(took)), "mean-us/s")
			b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-us/s")
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-us/s")
			b.ReportMetric(float64(took[len(took)-1].Microseconds()), "max-us/s")
		})
	}
}

// BenchmarkSkipsManyASecond is what a second of work costs beside thousands of skips:
// the last five minutes of 1,000 ha, worked off and, in the second figure, with the
// parts listed.
func BenchmarkSkipsManyASecond(b *testing.B) {
	_, rule := misses(1000)
	d := field(1000)
	// Passes 35.7 m apart; every 60 m the bar swerves by 0.7 m for 12 m, and leaves out
	// 0.4 m beside the pass before.
	each := func(do func(q []Quad)) {
		rng := rand.New(rand.NewPCG(1, 1))
		var quads []Quad
		for pass := 0.0; (pass+1)*35.7 < d.widthM; pass++ {
			bar := func(y float64) (l, r plane.Coord) {
				x := pass * 35.7
				if at := math.Mod(y+17*pass, 60); at < 12 {
					x += 0.7 * math.Sin(math.Pi*at/12)
				}
				x += 0.01 * rng.NormFloat64()
				return d.turned(x, y), d.turned(x+36, y)
			}
			l, r := bar(0)
			for y := 0.2; y < d.lengthM; y += 0.2 {
				nextL, nextR := bar(y)
				quads = append(quads[:0], Quad{l, r, nextR, nextL})
				l, r = nextL, nextR
				do(quads)
			}
		}
	}
	steps := 0
	each(func([]Quad) { steps++ })
	const seconds = 300
	for _, field := range []bool{true, false} {
		rule := rule
		name := "boundary"
		if !field {
			rule.Field, name = nil, "noBoundary"
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			var update, parts []time.Duration
			var k *Skips
			for b.Loop() {
				s := New()
				k = NewSkips(s, rule)
				update, parts = update[:0], parts[:0]
				n := 0
				each(func(step []Quad) {
					for _, q := range step {
						s.Add(q)
						k.Note(q)
					}
					if n++; n == steps-20*seconds {
						k.Update()
						k.Parts()
					} else if n > steps-20*seconds && n%20 == 0 {
						start := time.Now()
						k.Update()
						update = append(update, time.Since(start))
						k.Parts()
						parts = append(parts, time.Since(start))
					}
				})
			}
			report := func(took []time.Duration, name string) {
				slices.Sort(took)
				b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-us/"+name)
				b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-us/"+name)
			}
			report(update, "update")
			report(parts, "parts")
			b.ReportMetric(float64(len(k.Parts())), "parts")
		})
	}
}

// BenchmarkSkipsVsGEOS gives the same quads to GEOS (https://libgeos.org), whose
// difference and buffers are timed, once, and its union of the quads too. The
// ratio is GEOS's time to ours, for the skips alone and from the quads on.
func BenchmarkSkipsVsGEOS(b *testing.B) {
	d, rule := misses(20)
	d.stepM = 0.5
	quads := d.quads()
	theirs := geosSkips(b, quads, rule)
	s := add(quads)
	var k *Skips
	for b.Loop() {
		k = NewSkips(s, rule)
		k.Update()
	}
	ours := b.Elapsed().Seconds() / float64(b.N)
	b.ReportMetric(theirs.TookS/ours, "times-faster")
	start := time.Now()
	add(quads)
	b.ReportMetric((theirs.UnionS+theirs.TookS)/(ours+time.Since(start).Seconds()), "times-faster-with-union")
	b.ReportMetric(theirs.TookS*1e3, "GEOS-ms")
	b.ReportMetric(ours*1e3, "ms")
	want := 0.0
	for _, p := range theirs.Parts {
		want += p.AreaM2
	}
	b.ReportMetric(want, "GEOS-m2")
	b.ReportMetric(k.Area().M2(), "m2")
}
