package coverage

import (
	"math"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/coverage/plane"
	"drawbar/nmea"
)

// origin lies on the Lincolnshire Wolds, on the Greenwich meridian.
const originLat, originLon = 53.3, 0.0

var start = time.Date(2026, 5, 14, 13, 0, 0, 0, time.UTC)

// driver feeds an engine from a path on a plane around the origin.
type driver struct {
	t     *testing.T
	e     *Engine
	plane *plane.Plane
}

func newDriver(t *testing.T, s Setup) *driver {
	t.Helper()
	if s.Limits == (Limits{}) {
		s.Limits = DefaultLimits()
	}
	if s.StaleS == 0 {
		s.StaleS = 2
	}
	s.WatchSkips = true
	return &driver{t: t, e: NewEngine(s), plane: plane.New(originLat, originLon)}
}

func at(s float64) time.Time { return start.Add(time.Duration(math.Round(s * 1e9))) }

func (d *driver) fix(s, x, y float64) {
	lat, lon := d.plane.Inverse(x, y)
	d.e.Fix(nmea.Fix{Time: at(s), Arrival: at(s), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK})
}

func (d *driver) report(s float64, sections string, kgPerHa float64) {
	r := controller.Report{Has: controller.HasSections | controller.HasWork, Work: true, Sections: controller.NewSections(len(sections))}
	for i, c := range sections {
		r.Sections.Set(i, c == '1')
	}
	r.Tanks = []controller.Reading{{Tank: 1, Has: controller.HasRate, Rate: controller.Quantity{SI: kgPerHa / 1e4, Dim: controller.DimMassPerArea}}}
	d.e.Report(at(s), r)
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

func rigid(sections ...float64) *Implement {
	return &Implement{Name: "rig", Operation: "seeding", SectionsM: sections}
}

// A straight pass of 100 m at 2.5 m/s: 100 m times the width that is on, the
// amount rate times area, the switch where it was reported and not at a fix.
func TestStraightPass(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
	d.report(0, "1111", 120)
	for i := 0; i <= 400; i++ {
		s := float64(i) / 10
		if i > 0 && i%2 == 0 {
			sections := "1111"
			if s > 20 {
				sections = "1100"
			}
			d.report(s-0.03, sections, 120)
		}
		d.fix(s, 0, 2.5*s)
	}
	d.e.Finish()
	ops := d.e.Operations()
	if len(ops) != 1 {
		t.Fatalf("got %d operations, want 1", len(ops))
	}
	off := 20.17 // the first report later than 20 s
	want := 2.5 * (12*off + 6*(40-off))
	near(t, "gross", ops[0].Gross.M2(), want, want*2e-6)
	near(t, "overlap", ops[0].Overlap().M2(), 0, 1e-3)
	kg, ok := ops[0].Products[0].Applied()
	if !ok {
		t.Fatal("the amount is not known")
	}
	near(t, "applied", kg, want*0.012, want*0.012*1e-5)
	near(t, "distance", d.e.Totals().DistanceM, 100, 1e-3)
}
