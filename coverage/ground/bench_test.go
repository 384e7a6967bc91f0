package ground

import (
	"slices"
	"testing"
	"time"
)

func benchField(b *testing.B, d drive, ha float64) {
	quads := d.quads()
	var s *Set
	b.ReportAllocs()
	for b.Loop() {
		s = New()
		for _, q := range quads {
			s.Add(q)
		}
	}
	per := b.Elapsed() / time.Duration(b.N)
	b.ReportMetric(float64(len(quads))/per.Seconds(), "quads/s")
	b.ReportMetric(float64(per.Nanoseconds())/float64(len(quads)), "ns/quad")
	b.ReportMetric(float64(s.Bytes())/1e6, "MB")
	b.ReportMetric(float64(s.Bytes())/ha, "bytes/ha")
	b.ReportMetric(s.Covered().M2()/10000, "ha")
}

func BenchmarkField65ha(b *testing.B)   { benchField(b, field(65), 65) }
func BenchmarkField1000ha(b *testing.B) { benchField(b, field(1000), 1000) }

func benchAdd(b *testing.B, d drive) {
	var steps [][]Quad
	d.each(func(step []Quad) { steps = append(steps, slices.Clone(step)) })
	quads := 0
	var took []time.Duration
	b.ReportAllocs()
	for b.Loop() {
		s := New()
		for _, step := range steps {
			start := time.Now()
			for _, q := range step {
				s.Add(q)
			}
			took = append(took, time.Since(start))
			quads += len(step)
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(quads), "ns/quad")
	b.ReportMetric(float64(took[len(took)/2].Nanoseconds()), "p50-ns/fix")
	b.ReportMetric(float64(took[len(took)*99/100].Nanoseconds()), "p99-ns/fix")
	b.ReportMetric(float64(took[len(took)*9999/10000].Nanoseconds()), "p99.99-ns/fix")
}

func BenchmarkAdd(b *testing.B) {
	b.Run("merged18m", func(b *testing.B) { benchAdd(b, field(20)) })
	b.Run("sections72on36m", func(b *testing.B) {
		d := field(20)
		d.barM, d.sections, d.merged = 36, 72, false
		benchAdd(b, d)
	})
}
