package coverage

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/coverage/plane"
	"drawbar/internal/testkit"
	"drawbar/nmea"
)

// field drives back and forth over a square of ha hectares at 10 fixes and 5
// reports a second, 2.5 m/s, 5 % overlap, sections off in the turns, and hands
// each input to feed. Passes lie at 31 degrees to north.
func field(ha float64, widthM float64, fix func(nmea.Fix), report func(time.Time, controller.Report)) {
	side := 100 * sqrtHa(ha)
	p := plane.New(originLat, originLon)
	sin, cos := plane.Sincos(31 * plane.Pi / 180)
	rates := []controller.Reading{{Tank: 1, Has: controller.HasRate}}
	s := 0.0
	n := 0
	emit := func(x, y float64, on bool) {
		if n%2 == 0 {
			rates[0].Rate = controller.Quantity{SI: 0.0112 + 1e-5*float64(n%7), Dim: controller.DimMassPerArea}
			report(at(s), controller.Report{Has: controller.HasWork, Work: on, Tanks: rates})
		}
		lat, lon := p.Inverse(x*cos+y*sin, -x*sin+y*cos)
		fix(nmea.Fix{Time: at(s), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK, SpeedMPS: 2.5, Has: nmea.HasSpeed})
		n++
		s += 0.1
	}
	step, spacing := 0.25, widthM*0.95
	for k := 0; float64(k)*spacing < side; k++ {
		x := float64(k) * spacing
		for d := 0.0; d < side; d += step {
			y := d
			if k%2 == 1 {
				y = side - d
			}
			emit(x, y, true)
		}
		turn := spacing / 2 // half a circle to the next pass
		for a := 0.0; a < plane.Pi; a += step / turn {
			sn, cs := plane.Sincos(a)
			y := side + turn*sn
			if k%2 == 1 {
				y = -turn * sn
			}
			emit(x+turn-turn*cs, y, false)
		}
	}
}

func sqrtHa(ha float64) float64 {
	r := ha
	for range 60 {
		r = (r + ha/r) / 2
	}
	return r
}

// BenchmarkFix is what one fix costs from the engine's door to the ground, 18 m
// in ten sections that are switched together.
func BenchmarkFix(b *testing.B) {
	for _, ha := range []float64{65, 1000} {
		b.Run(fmt.Sprintf("ha=%.0f", ha), func(b *testing.B) {
			b.ReportAllocs()
			sections := slices.Repeat([]float64{1.8}, 10)
			for b.Loop() {
				e := NewEngine(Setup{Implement: rigid(sections...), Limits: DefaultLimits(), StaleS: 2})
				var took []int32
				field(ha, 18, func(f nmea.Fix) {
					t0 := time.Now()
					e.Fix(f)
					took = append(took, int32(time.Since(t0)))
				}, e.Report)
				e.Finish()
				if got := e.Operations()[0].Covered().M2() / 1e4; got < ha*0.98 || got > ha*1.06 {
					b.Fatalf("covered %.1f ha of %.0f", got, ha)
				}
				sum := 0.0
				for _, t := range took {
					sum += float64(t)
				}
				slices.Sort(took)
				b.ReportMetric(sum/float64(len(took)), "mean-ns/fix")
				b.ReportMetric(float64(took[len(took)/2]), "p50-ns/fix")
				b.ReportMetric(float64(took[len(took)*99/100]), "p99-ns/fix")
				b.ReportMetric(float64(took[len(took)*999/1000]), "p99.9-ns/fix")
				b.ReportMetric(float64(len(took)), "fixes")
				b.ReportMetric(float64(e.force.op.ground.bytes())/1e6, "MB")
			}
		})
	}
}

// In the steady state a fix allocates less than once: only rows of ground that
// grow do. With the race detector growing takes two allocations.
func TestFixAllocations(t *testing.T) {
	e := NewEngine(Setup{Implement: rigid(3, 3, 3, 3), Limits: DefaultLimits(), StaleS: 2})
	var fixes []nmea.Fix
	var reports []controller.Report
	field(4, 12, func(f nmea.Fix) { fixes = append(fixes, f) }, func(_ time.Time, r controller.Report) {
		r.Tanks = slices.Clone(r.Tanks)
		reports = append(reports, r)
	})
	i := 0
	feed := func() {
		if i%2 == 0 {
			e.Report(fixes[i].Time, reports[i/2])
		}
		e.Fix(fixes[i])
		i++
	}
	for i < len(fixes)/2 {
		feed()
	}
	want := 0.0 // whole ones
	if testkit.Race {
		want = 1
	}
	if got := testing.AllocsPerRun(len(fixes)/2-2, feed); got > want {
		t.Errorf("got %.0f allocations a fix, want %.0f", got, want)
	}
}
