package ground

import (
	"slices"
	"testing"
	"time"
)

// unmerged is a 36 m bar of 72 sections whose quads are added one by one.
func unmerged(ha float64) drive {
	d := field(ha)
	d.barM, d.sections, d.merged = 36, 72, false
	return d
}

// BenchmarkAdd measures single fixes: one merged quad of 18 m, and 72 quads of
// half a metre.
func BenchmarkAdd(b *testing.B) {
	b.Run("merged18m", func(b *testing.B) { benchAdd(b, field(20)) })
	b.Run("sections72on36m", func(b *testing.B) { benchAdd(b, unmerged(20)) })
}

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
	b.ReportMetric(float64(took[len(took)-1].Microseconds()), "max-us/fix")
}

// Whole fields: what a fix costs must not grow with the field.
func BenchmarkField65ha(b *testing.B)   { benchField(b, field(65), 65) }
func BenchmarkField1000ha(b *testing.B) { benchField(b, field(1000), 1000) }

func benchField(b *testing.B, d drive, ha float64) {
	quads := d.quads()
	var s *Set
	b.ReportAllocs()
	for b.Loop() {
		s = add(quads)
	}
	per := b.Elapsed() / time.Duration(b.N)
	b.ReportMetric(float64(len(quads))/per.Seconds(), "fixes/s")
	b.ReportMetric(float64(per.Nanoseconds())/float64(len(quads)), "ns/quad")
	b.ReportMetric(float64(s.Bytes())/1e6, "MB")
	b.ReportMetric(float64(s.Bytes())/ha, "bytes/ha")
	if got := s.Covered().M2(); got < ha*9_900 {
		b.Errorf("covered %.0f m2 of %g ha", got, ha)
	}
}

func BenchmarkOutline65ha(b *testing.B) {
	d := field(65)
	d.switching, d.stepM = 0.002, 0.5
	s := add(d.quads())
	for times, name := range []string{1: "covered", 2: "twice"} {
		if times == 0 {
			continue
		}
		b.Run(name, func(b *testing.B) {
			corners := 0
			for b.Loop() {
				corners = countCorners(s.Outline(times))
			}
			b.ReportMetric(float64(corners), "corners")
		})
	}
}

func BenchmarkClone65ha(b *testing.B) {
	s := add(field(65).quads())
	b.ReportAllocs()
	for b.Loop() {
		s.Clone()
	}
}

// BenchmarkVsGEOS gives the very same quads to GEOS (https://libgeos.org), whose
// unary_union alone is timed, once, and to a set: the ratio is GEOS's time to
// ours.
func BenchmarkVsGEOS(b *testing.B) {
	merged, sections := field(65), unmerged(10)
	merged.stepM, sections.stepM = 0.5, 0.5
	for _, bm := range []struct {
		name string
		d    drive
	}{{"merged18m/65ha", merged}, {"sections72on36m/10ha", sections}} {
		b.Run(bm.name, func(b *testing.B) {
			quads := bm.d.quads()
			theirs := geos(b, question{quads: quads})
			var s *Set
			for b.Loop() {
				s = add(quads)
			}
			ours := b.Elapsed().Seconds() / float64(b.N)
			b.ReportMetric(theirs.UnionS/ours, "times-faster")
			b.ReportMetric(theirs.UnionS*1e9/float64(len(quads)), "GEOS-ns/quad")
			b.ReportMetric(ours*1e9/float64(len(quads)), "ns/quad")
			if off := ppm(s.Covered().M2(), theirs.UnionM2, theirs.GrossM2); off > 20 || off < -20 {
				b.Errorf("covered is off by %.1f ppm of gross", off)
			}
		})
	}
}
