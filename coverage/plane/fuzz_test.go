package plane

import (
	"math"
	"testing"
)

// FuzzForward gives a plane whatever a receiver may send: no NaN comes out, and
// what is accepted comes back.
func FuzzForward(f *testing.F) {
	f.Add(53.3, -0.02, 53.301, -0.019)
	f.Add(0.0, 180.0, 0.0, -180.0)
	f.Add(89.5, 0.0, 89.6, 180.0)
	f.Add(math.NaN(), math.Inf(1), 1e308, -1e308)
	f.Fuzz(func(t *testing.T, lat0, lon0, lat, lon float64) {
		p := New(lat0, lon0)
		x, y, ok := p.Forward(lat, lon)
		if !(math.Abs(x) <= MaxReachM && math.Abs(y) <= MaxReachM) {
			t.Fatalf("New(%v, %v).Forward(%v, %v): got %v, %v", lat0, lon0, lat, lon, x, y)
		}
		if c := p.Convergence(lat, lon); math.IsNaN(c) {
			t.Fatalf("New(%v, %v).Convergence(%v, %v): got NaN", lat0, lon0, lat, lon)
		}
		if !ok {
			return
		}
		gotLat, gotLon := p.Inverse(x, y)
		gx, gy, ok := p.Forward(gotLat, gotLon)
		if !(gotLon > -180 && gotLon <= 180) || math.Abs(gotLat) < MaxLatDeg && (!ok || math.Abs(gx-x) > 1e-5 || math.Abs(gy-y) > 1e-5) {
			t.Fatalf("New(%v, %v): %v, %v m goes to %v, %v and comes back as %v, %v, %v", lat0, lon0, x, y, gotLat, gotLon, gx, gy, ok)
		}
	})
}
