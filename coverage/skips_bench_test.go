package coverage

import (
	"fmt"
	"slices"
	"testing"
	"time"
)

// BenchmarkSkipsShown is what a snapshot costs beside a thousand skips and beside
// five thousand, worked out anew, and the list of all of them as for a file or a map:
// 36 m, gaps of 0.3 to 0.7 m here and there.
func BenchmarkSkipsShown(b *testing.B) {
	for _, passes := range []int{36, 170} {
		b.Run(fmt.Sprintf("passes=%d", passes), func(b *testing.B) { benchSkipsShown(b, passes) })
	}
}

func benchSkipsShown(b *testing.B, passes int) {
	e := NewEngine(Setup{Implement: rigid(slices.Repeat([]float64{3}, 12)...), Limits: DefaultLimits(), StaleS: 2, AlwaysOn: true, WatchSkips: true})
	d := &driver{e: e, plane: watching(true).plane}
	s := 0.0
	for k := range passes {
		for i := range 1200 {
			y := float64(i)
			gap := 0.0
			if i%40 < 20 { // 30 gaps a pass
				gap = 0.5
			}
			d.fix(s, float64(k)*36.2+gap, y)
			s += 0.25
		}
		s += 30
	}
	op := e.Operations()[0]
	for _, bm := range []struct {
		name string
		do   func()
	}{
		{"snapshot", func() {
			op.skips.shownNS = -1 << 62
			e.Snapshot()
		}},
		{"list", func() { op.Skips() }},
	} {
		b.Run(bm.name, func(b *testing.B) {
			b.ReportAllocs()
			var took []time.Duration
			for b.Loop() {
				start := time.Now()
				bm.do()
				took = append(took, time.Since(start))
			}
			slices.Sort(took)
			b.ReportMetric(float64(len(op.Skips())), "skips")
			b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-us")
		})
	}
}
