package coverage

import (
	"math"
	"testing"
)

// round drives once round a shape given by the way along it, of which the machine
// goes speed metres a second, and a little further.
func (d *driver) round(lengthM, beyondM, speedMPS float64, path func(wayM float64) (x, y float64)) {
	for i := 0; ; i++ {
		s := float64(i) / 10
		if s*speedMPS > lengthM+beyondM {
			return
		}
		x, y := path(s * speedMPS)
		d.fix(s, x, y)
	}
}

// boundaryAreaM2 is the area of a boundary on the plane of the driver.
func (d *driver) boundaryAreaM2(b Boundary) float64 {
	op := Operation{Plane: d.plane, Boundary: b}
	m2, _ := op.FieldAreaM2()
	return m2
}

func circle(r float64) func(wayM float64) (x, y float64) {
	return func(w float64) (float64, float64) { return r * math.Sin(w/r), r * math.Cos(w/r) }
}

// Round a circle clockwise, the antenna on radius R: a rigid 12 m bar at the
// antenna draws R + 6 + offset with its left end, R - 6 - offset with its right
// one, the antenna R - offset. Closed forms; simplifying to 0.1 m leaves out up to
// two thirds of that along the circle.
func TestDrivenCircle(t *testing.T) {
	t.Parallel()
	const r = 252.0
	for _, c := range []struct {
		edge   Edge
		offset float64
		radius float64
	}{{EdgeLeft, 0, r + 6}, {EdgeLeft, 0.5, r + 6.5}, {EdgeRight, 0.5, r - 6.5}, {EdgeAntenna, 1, r - 1}, {EdgeAntenna, -2, r + 2}} {
		d := newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
		if err := d.e.StartDriving(c.edge, c.offset); err != nil {
			t.Fatal(err)
		}
		d.round(2*math.Pi*r, 40, 2.5, circle(r))
		d.e.Finish()
		at, ok := d.e.Driving()
		if !ok || !at.Closed || at.GapM > 0.5 {
			t.Errorf("edge %d: got %+v, want a closed line", c.edge, at)
		}
		near(t, "length", at.LengthM, 2*math.Pi*c.radius, 40)
		b, err := d.e.DrivenBoundary()
		if err != nil {
			t.Fatal(err)
		}
		want := math.Pi * c.radius * c.radius
		near(t, "area", d.boundaryAreaM2(b), want, 2*math.Pi*c.radius*0.07)
	}
}
