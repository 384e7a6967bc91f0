package plane

import (
	"math"
	"testing"
)

var sink float64 // keeps results alive

// beside times ours and then the standard library's, whose row says how many
// times as long ours takes.
func beside(b *testing.B, ours, standard func(x float64) float64) {
	perOp := map[string]float64{}
	run := func(name string, f func(x float64) float64) {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			x := 0.1
			for b.Loop() {
				sink = f(x)
				x += 0.7
				if x > 1000 {
					x = 0.1
				}
			}
			perOp[name] = float64(b.Elapsed().Nanoseconds()) / float64(b.N)
			if base := perOp["ours"]; name == "standard" && base > 0 {
				b.ReportMetric(base/perOp[name], "ours/standard")
			}
		})
	}
	run("ours", ours)
	run("standard", standard)
}

func BenchmarkSincos(b *testing.B) {
	beside(b,
		func(x float64) float64 { s, c := Sincos(x); return s + c },
		func(x float64) float64 { s, c := math.Sincos(x); return s + c })
}

func BenchmarkAtan2(b *testing.B) {
	beside(b,
		func(x float64) float64 { return Atan2(x-500, 500) },
		func(x float64) float64 { return math.Atan2(x-500, 500) })
}

func BenchmarkExp(b *testing.B) {
	beside(b,
		func(x float64) float64 { return Exp(x * 0.1) },
		func(x float64) float64 { return math.Exp(x * 0.1) })
}

func BenchmarkHypot(b *testing.B) {
	beside(b,
		func(x float64) float64 { return Hypot(x, 400) },
		func(x float64) float64 { return math.Hypot(x, 400) })
}

func BenchmarkForward(b *testing.B) {
	b.ReportAllocs()
	p := New(53.3, -0.02)
	lat := 53.3
	for b.Loop() {
		x, y, ok := p.Forward(lat, 0)
		if !ok {
			b.Fatalf("Forward(%v, 0): out of reach", lat)
		}
		sink = x + y
		lat = 53.3 + (lat-53.3+1e-6)*0.99
	}
}

func BenchmarkInverse(b *testing.B) {
	b.ReportAllocs()
	p := New(53.3, -0.02)
	x := 0.0
	for b.Loop() {
		lat, lon := p.Inverse(x, 100)
		sink = lat + lon
		x = math.Mod(x+0.1, 1000)
	}
}

func BenchmarkArea2(b *testing.B) {
	b.ReportAllocs()
	ring := make([]Coord, 250)
	for i := range ring {
		s, c := Sincos(float64(i) * TwoPi / 250)
		ring[i] = Snap(400*c, 400*s)
	}
	for b.Loop() {
		sink = float64(Area2(ring))
	}
}
