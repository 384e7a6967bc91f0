package sim

import (
	"math"
	"testing"

	"drawbar/coverage"
)

func wheel(lengthM float64) coverage.Implement {
	return coverage.Implement{Mount: coverage.MountTowed, HitchToAxleM: lengthM, HitchToBarM: lengthM, SectionsM: []float64{1}}
}

// TestTrailStraightPull: tan(θ/2) = tan(θ0/2) exp(-s/L) for a trailed wheel
// pulled straight on, θ its angle to the pull; L 5 m, θ0 60 degrees. Derived
// from dθ/ds = -sin θ/L, the tractrix (Exact equations for tractrix curves
// associated with vehicle offtracking, Vehicle System Dynamics 20(5):297-308,
// 1991).
func TestTrailStraightPull(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ s, deg float64 }{{1, 50.59968}, {5, 23.98232}, {10, 8.93556}, {20, 1.21177}} {
		tr := trail{im: wheel(5), phi: 60 * math.Pi / 180}
		sg := Segment{LengthM: 100}
		tr.advance(&sg, 0, c.s)
		if got := tr.phi * 180 / math.Pi; math.Abs(got-c.deg) > 1e-4 {
			t.Errorf("after %g m: %.6f degrees, want %.5f", c.s, got, c.deg)
		}
		exact := 2 * math.Atan(math.Tan(math.Pi/6)*math.Exp(-c.s/5))
		if math.Abs(tr.phi-exact) > 1e-10 {
			t.Errorf("after %g m: off the closed form by %.3g rad", c.s, tr.phi-exact)
		}
	}
}

// TestTrailCircle: on a circle of hitch radius R the axle settles on sqrt(R²-L²)
// at an angle of asin(L/R). R 12, L 5: 10.90871 m, 24.62432 degrees; R 20, L 8:
// 18.33030 m (plane geometry; off-tracking 1.09129 and 1.66970 m).
func TestTrailCircle(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ r, l, axle, deg float64 }{
		{12, 5, 10.90871, 24.62432}, {20, 8, 18.33030, 23.57818},
	} {
		for _, side := range []float64{1, -1} {
			tr := trail{im: wheel(c.l)}
			sg := Segment{LengthM: 1e4, Curve: side / c.r}
			u := 40 * c.r
			tr.advance(&sg, 0, u)
			b := tr.state(&sg, u, 0, u, 1)
			centre := Point{0, side * c.r}
			if got := b.at.sub(centre).len(); math.Abs(got-c.axle) > 1e-5 {
				t.Errorf("R %g L %g: axle on %.6f m, want %.5f", c.r, c.l, got, c.axle)
			}
			angle := math.Remainder(sg.at(u).theta-tr.phi, 2*math.Pi) * 180 / math.Pi
			if math.Abs(angle-side*c.deg) > 1e-5 {
				t.Errorf("R %g L %g: angle %.6f degrees, want %.5f", c.r, c.l, angle, side*c.deg)
			}
			// The axle cannot slip sideways: its speed is cos of the angle.
			if want := math.Cos(c.deg * math.Pi / 180); math.Abs(b.fwdMPS-want) > 1e-6 {
				t.Errorf("R %g L %g: axle at %.6f m/s, want %.6f", c.r, c.l, b.fwdMPS, want)
			}
		}
	}
}

// TestMountedBarSpeed compares the bar's speed and swing with differences of
// its place, for a bar out of the middle behind an antenna out of the middle.
func TestMountedBarSpeed(t *testing.T) {
	t.Parallel()
	for _, mount := range []coverage.Mount{coverage.MountRigid, coverage.MountTowed} {
		im := coverage.Implement{
			Mount: mount, AntennaToHitchM: 1.8, AntennaRightM: 0.4, HitchToAxleM: 6, HitchToBarM: 7.2, BarRightM: -0.3,
			SectionsM: []float64{3, 3},
		}
		for _, sg := range []Segment{
			{Theta: 0.7, Curve: 0.1, LengthM: 30}, {Theta: 2, Curve: -0.08, LengthM: 30}, {Theta: -1, LengthM: 30},
		} {
			tr := trail{im: im, phi: sg.Theta + 0.3}
			tr.advance(&sg, 0, 4)
			const v, dt = 2.5, 1e-4
			at := func(d float64) barState {
				c := tr
				c.advance(&sg, 4, d*v)
				return c.state(&sg, 4+d*v, d, 4+d*v, v)
			}
			a, b := at(0), at(2*dt)
			mid := at(dt)
			for _, y := range []float64{-3, 0, 3} {
				s, c := math.Sincos(mid.phi)
				got := b.point(y).sub(a.point(y)).dot(Point{c, s}) / (2 * dt)
				if math.Abs(got-mid.forwardMPS(y)) > 1e-5 {
					t.Errorf("%v curve %g, %g m right: %.6f m/s by difference, %.6f stated", mount, sg.Curve, y, got, mid.forwardMPS(y))
				}
			}
		}
	}
}
