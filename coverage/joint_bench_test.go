package coverage

import (
	"fmt"
	"testing"
)

// BenchmarkJoin is a field worked by two machines on two days, joined, beside what
// the replay of the two costs from the engine's door on (decoding of lines comes on
// top of that): joining must cost no more.
func BenchmarkJoin(b *testing.B) {
	for _, ha := range []float64{10, 65} {
		replayed := func() (parts []Part, quads, bytes int) {
			for day := range 2 {
				var g Gathering
				e := NewEngine(Setup{Implement: rigid(3, 3, 3, 3, 3, 3), Limits: DefaultLimits(), StaleS: 2, OnGround: g.Add})
				field(ha/float64(2-day), 18, e.Fix, e.Report)
				e.Finish()
				p := g.Part(fmt.Sprint(day), e.Operations()[0])
				parts, quads, bytes = append(parts, p), quads+len(p.laid.codes), bytes+len(p.laid.codes)+8*len(p.laid.steps)
			}
			return parts, quads, bytes
		}
		b.Run(fmt.Sprintf("replay/ha=%.0f", ha), func(b *testing.B) {
			for b.Loop() {
				replayed()
			}
		})
		parts, quads, bytes := replayed()
		b.Run(fmt.Sprintf("join/ha=%.0f", ha), func(b *testing.B) {
			for b.Loop() {
				j, err := Join(parts, nil)
				if err != nil || j.Covered().M2() < ha*0.98e4 {
					b.Fatalf("got %v", err)
				}
				if _, ok := j.SkipM2(); !ok {
					b.Fatal("skips are not known")
				}
			}
			b.ReportMetric(float64(quads), "quads")
			b.ReportMetric(float64(bytes)/1e6, "MB")
		})
	}
}
