package tiles_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/mvt"
	"github.com/paulmach/orb/maptile"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/coverage/plane"
	"drawbar/internal/tiles"
	"drawbar/nmea"
)

// square is a square field of so many hectares near the edge of two tiles of many
// zooms (longitude 0), worked in passes of 36 m in 36 sections, 30 cm of overlap, 2 cm of
// steering noise, 10 fixes and 5 reports a second at 4 m/s, the rate wandering by
// some 2 %, sections off now and then for a few metres.
type square struct {
	feed    *tiles.Feed
	maker   *tiles.Maker
	engine  *coverage.Engine
	publish []time.Duration
	fix     []time.Duration
}

func work36(ha float64, sectionsOff bool) *square {
	maker := tiles.NewMaker()
	s := &square{maker: maker, feed: tiles.NewFeed(maker)}
	side := 100 * math.Sqrt(ha)
	p := plane.New(53.3, 0)
	var ring [][2]float64
	for _, c := range [][2]float64{{-20, -20}, {side + 20, -20}, {side + 20, side + 20}, {-20, side + 20}, {-20, -20}} {
		lat, lon := p.Inverse(c[0], c[1])
		ring = append(ring, [2]float64{lon, lat})
	}
	im := &coverage.Implement{Operation: "spraying", Mount: coverage.MountRigid, SectionsM: slices.Repeat([]float64{1}, 36)}
	tank := coverage.Tank{Number: 1, Product: coverage.Product{Name: "Winter feed", Kind: coverage.KindLiquid}}
	s.engine = coverage.NewEngine(coverage.Setup{
		Implement: im, Tanks: []coverage.Tank{tank}, Field: "Far Reach", Boundary: coverage.Boundary{{ring}},
		Limits: coverage.DefaultLimits(), StaleS: 2, WatchSkips: true, OnQuad: s.feed.Quad,
	})
	rng := rand.New(rand.NewPCG(1, 1))
	start := time.Date(2026, 5, 14, 13, 0, 0, 0, time.UTC)
	at := func(n int) time.Time { return start.Add(time.Duration(n) * 100 * time.Millisecond) }
	n, drift, rate := 0, 0.0, 0.0
	emit := func(x, y float64, on bool) {
		drift = 0.95*drift + 0.006*rng.NormFloat64()
		rate = 0.9*rate + 0.009*rng.NormFloat64()
		if n%2 == 0 {
			sections := controller.AllSections(36)
			if k := n / 7; sectionsOff && k%13 == 0 {
				sections.Set(k/13%36, false)
			}
			s.engine.Report(at(n), controller.Report{Has: controller.HasWork | controller.HasSections, Work: on, Sections: sections, Tanks: []controller.Reading{{
				Tank: 1, Has: controller.HasRate | controller.HasTarget,
				Rate:   controller.Quantity{SI: 0.015 * (1 + rate), Dim: controller.DimVolumePerArea},
				Target: controller.Quantity{SI: 0.015, Dim: controller.DimVolumePerArea},
			}}})
		}
		lat, lon := p.Inverse(x+drift, y)
		t0 := time.Now()
		s.engine.Fix(nmea.Fix{Time: at(n), Arrival: at(n), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK, SpeedMPS: 4, Has: nmea.HasSpeed})
		s.fix = append(s.fix, time.Since(t0))
		if n%10 == 0 {
			t0 := time.Now()
			s.feed.Publish(s.engine, at(n), false)
			s.publish = append(s.publish, time.Since(t0))
		}
		n++
	}
	for k := 0; float64(k)*35.7 < side; k++ {
		x := float64(k)*35.7 + 18
		for d := 0.0; d < side; d += 0.4 {
			y := d
			if k%2 == 1 {
				y = side - d
			}
			emit(x, y, true)
		}
		for a := 0.0; a < math.Pi; a += 0.4 / 17.85 { // half a circle to the next pass
			y := side + 17.85*math.Sin(a)
			if k%2 == 1 {
				y = -17.85 * math.Sin(a)
			}
			emit(x+17.85*(1-math.Cos(a)), y, false)
		}
	}
	s.engine.Finish()
	s.feed.Publish(s.engine, at(n), true)
	return s
}

func quantiles(b *testing.B, name string, took []time.Duration) {
	took = slices.Clone(took)
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-us/"+name)
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-us/"+name)
	b.ReportMetric(float64(took[len(took)-1].Microseconds()), "max-us/"+name)
}

// BenchmarkPublish is what drawing costs the core: a whole field worked, published
// every second.
func BenchmarkPublish(b *testing.B) {
	for _, ha := range []float64{65, 1000} {
		b.Run(fmt.Sprintf("ha=%.0f", ha), func(b *testing.B) {
			b.ReportAllocs()
			var s *square
			for b.Loop() {
				s = work36(ha, ha < 100)
			}
			quantiles(b, "publish", s.publish)
			quantiles(b, "fix", s.fix)
			b.ReportMetric(float64(len(s.maker.Picture().Operations[0].Skips)), "skips")
		})
	}
}

// BenchmarkTile is a tile of a finished field made anew, the slowest of those around
// it: one that shows all of it, and one from near.
func BenchmarkTile(b *testing.B) {
	worked := map[float64]*square{}
	for _, ha := range []float64{65, 1000} {
		for _, layer := range layers {
			for _, z := range []maptile.Zoom{11, 12, 13, 14, 15, 16, 17, 18, 19, 20} {
				b.Run(fmt.Sprintf("ha=%.0f/%s/z=%d", ha, layer, z), func(b *testing.B) {
					if worked[ha] == nil {
						worked[ha] = work36(ha, ha < 100)
					}
					s := worked[ha]
					side := 100 * math.Sqrt(ha)
					lat, lon := plane.New(53.3, 0).Inverse(side/2, side/2)
					at := maptile.At(orb.Point{lon, lat}, z)
					r := tiles.Request{Layer: layer, Z: uint32(z), X: at.X, Y: at.Y}
					b.ReportAllocs()
					var tile tiles.Tile
					for b.Loop() {
						s.maker.Forget()
						tile, _ = s.maker.Tile(context.Background(), r)
					}
					b.ReportMetric(float64(len(tile.Data)), "tile-B")
				})
			}
		}
	}
}

// BenchmarkKept is a tile that is there already, asked for by many.
func BenchmarkKept(b *testing.B) {
	s := sync.OnceValue(func() *square { return work36(4, false) })()
	at := maptile.At(orb.Point{0.001, 53.301}, 16)
	b.ReportAllocs()
	b.RunParallel(func(p *testing.PB) {
		for p.Next() {
			if _, err := s.maker.Tile(context.Background(), tiles.Request{Layer: "covered", Z: 16, X: at.X, Y: at.Y}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkEncodeByOrb has github.com/paulmach/orb encode the shapes of a tile that
// this package has made, to compare with making all of it.
func BenchmarkEncodeByOrb(b *testing.B) {
	s := work36(65, true)
	at := maptile.At(orb.Point{0.005, 53.303}, 14)
	tile, err := s.maker.Tile(context.Background(), tiles.Request{Layer: "swaths", Z: 14, X: at.X, Y: at.Y})
	if err != nil {
		b.Fatal(err)
	}
	all, err := mvt.Unmarshal(tile.Data)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := mvt.Marshal(all); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(tile.Data)), "tile-B")
}
