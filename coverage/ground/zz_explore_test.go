package ground

import (
	"fmt"
	"testing"
	"time"
)

func TestExplore(t *testing.T) {
	for _, noise := range []float64{0, 0.02} {
		for _, over := range []float64{0.05, 0.9, -0.3} {
			for _, sw := range []float64{0, 0.01} {
				d := field(6)
				d.noiseM, d.overlapM, d.switching = noise, over, sw
				d.headland = true
				q := d.quads()
				s := New()
				for _, v := range q {
					s.Add(v)
				}
				start := time.Now()
				out := s.Outline(1)
				took := time.Since(start)
				a := geos(t, q, out)
				start = time.Now()
				out2 := s.Outline(2)
				took2 := time.Since(start)
				a2 := geos(t, nil, out2)
				g, c := s.Gross().M2(), s.Covered().M2()
				count := func(o []Polygon) (r, n int) {
					for _, p := range o {
						for _, q := range p {
							r++
							n += len(q)
						}
					}
					return
				}
				r1, n1 := count(out)
				r2, n2 := count(out2)
				fmt.Printf("noise %g over %g switch %g gross %.1f overlap %.1f: covered %+.3f ppm, gross %+.3f ppm; outline %+.3f ppm, apart %+.3f, diff %.1f ppm bad %v polys %d rings %d corners %d %v\n", noise, over, sw, a.GrossM2, a.GrossM2-a.UnionM2,
					(c-a.UnionM2)/a.GrossM2*1e6, (g-a.GrossM2)/a.GrossM2*1e6, (a.OutlineM2-c)/c*1e6, (a.OutlineM2-a.ApartM2)/c*1e6, a.DifferenceM2/c*1e6, a.Bad, len(out), r1, n1, took)
				fmt.Printf("      twice: area %.2f overlap %.2f bad %v polys %d rings %d corners %d %v\n", a2.OutlineM2, g-c, a2.Bad, len(out2), r2, n2, took2)
			}
		}
	}
}
