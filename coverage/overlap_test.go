package coverage

import (
	"math"
	"testing"

	"drawbar/coverage/ground"
	"drawbar/nmea"
)

// sameGround compares the ground of each cause with its overlap: less where a place
// was worked a third time, at most 0.5 % more, for the ground is looked at every
// 15 cm. All of them together are the ground worked twice.
func sameGround(t *testing.T, name string, op *Operation) {
	t.Helper()
	areaOf := func(s *ground.Set) (m2 float64) {
		for _, p := range s.Outline(2) {
			m2 += p.Area().M2()
		}
		return m2
	}
	set, sum := op.OverlapGround(), 0.0
	for cause := range OverlapCause(OverlapCauses) {
		got, most := areaOf(set.Only(ground.Cause(cause))), op.OverlapBy().Of(cause)
		if got > most*1.005+1 || got == 0 && most > 1 {
			t.Errorf("%s: ground of %v is %.2f m2, overlap %.2f", name, cause, got, most)
		}
		sum += got
	}
	whole := areaOf(op.Ground())
	near(t, name+": ground of all causes", sum, whole, 100e-6*whole+0.01)
}

// Each cause by itself, by closed forms; the three always make up the overlap.
func TestOverlapByCause(t *testing.T) {
	t.Parallel()
	check := func(name string, d *driver, headland, between, sections, tol float64) {
		t.Helper()
		d.e.Finish()
		op := d.e.Operations()[0]
		by := op.OverlapBy()
		near(t, name+": headland", by.HeadlandM2, headland, tol)
		near(t, name+": between passes", by.BetweenPassesM2, between, tol)
		near(t, name+": sections", by.SectionsM2, sections, tol)
		near(t, name+": sum", by.HeadlandM2+by.BetweenPassesM2+by.SectionsM2, op.Overlap().M2(), 1e-6)
		sameGround(t, name, op)
	}

	// Ten passes of 12 m, 11.4 m apart: 9 x 0.6 x 400 m2 between passes.
	d := newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
	for k := range 10 {
		t0 := float64(k) * 1000
		d.drive(t0, t0+160, 10, "1111", func(now float64) (float64, float64) {
			y := 2.5 * (now - t0)
			if k%2 == 1 {
				y = 400 - y
			}
			if k > 0 && int64(10*now)%97 == 0 { // at any moment, some of it without a cause yet
				sameGround(t, "on the way", d.e.Operations()[0])
			}
			return float64(k) * 11.4, y
		})
	}
	check("parallel passes", d, 0, 9*0.6*400, 0, 3)

	// One pass along y = 0, then five across it that run 8 m into it (it ends at
	// y = 6): 12 m x 8 m each, of which the first metre is looked at too late.
	d = newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
	d.drive(0, 60, 10, "1111", func(now float64) (float64, float64) { return 2.5 * now, 0 })
	for k := range 5 {
		t0 := float64(k+1) * 1000
		d.drive(t0, t0+40, 10, "1111", func(now float64) (float64, float64) {
			return 12 + float64(k)*12, 98 - 2.5*(now-t0)
		})
	}
	check("across the headland", d, 0, 0, 5*8*12, 5*12+1)

	// Round in a circle of 4 m with a bar of 12 m to either side: all that is worked
	// again lies in the turn.
	d = newDriver(t, Setup{Implement: rigid(6, 6, 6, 6)})
	for i := range 800 {
		s := float64(i) / 20
		a := 2 * math.Pi * float64(i) / 800
		d.report(s, "1111", 100)
		lat, lon := d.plane.Inverse(4*math.Cos(a), 4*math.Sin(a))
		d.e.Fix(nmea.Fix{Time: at(s), Arrival: at(s), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK,
			HeadingDeg: math.Mod(360-a*180/math.Pi, 360), Has: nmea.HasHeading})
	}
	d.e.Finish()
	op := d.e.Operations()[0]
	check("turning on the spot", d, op.Overlap().M2(), 0, 0, 1e-6)
	if op.Overlap() == 0 {
		t.Error("turning on the spot: no overlap")
	}
}
