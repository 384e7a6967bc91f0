package plane

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// metres on newPlane(e, scale, 0, lon0) with the northing counted from the
// equator, as national grids do; the reach of a field does not apply.
func (p *Plane) gridM(t testing.TB, latDeg, lonDeg float64) (eastM, northM float64) {
	t.Helper()
	s, ok := p.reach(latDeg, lonDeg)
	if !ok {
		t.Fatalf("position %v, %v: out of reach of the central meridian", latDeg, lonDeg)
	}
	xi, eta := p.toPlane(s)
	return eta * p.radiusM, (xi - p.northing) * p.radiusM
}

// near reports a value that is off by more than tol.
func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.10f, want %.10f within %g (off by %.3g)", what, got, want, tol, got-want)
	}
}

func dms(deg, minutes, seconds float64) float64 { return deg + minutes/60 + seconds/3600 }

// Worked points of other users of the same projection, on their own ellipsoid
// and scale.
func TestWorkedPoints(t *testing.T) {
	t.Parallel()
	airy := ellipsoid{semiMajorM: 6377563.396, flattening: 299.3249646}
	for _, c := range []struct {
		name                     string
		e                        ellipsoid
		scale, lat0, lon0        float64
		falseE, falseN           float64
		lat, lon, east, north    float64
		tolM                     float64
		convergenceDeg, tolAngle float64 // tolAngle 0: not stated
	}{
		{"GeographicLib, GeoConvert manual: 33.3N 44.4E is 38n 444140.54 3684706.36", wgs84, 0.9996, 0, 45, 500e3, 0,
			33.3, 44.4, 444140.54, 3684706.36, 0.006, 0, 0},
		{"UTM 13, by GeographicLib 2.1.2", wgs84, 0.9996, 0, -105, 500e3, 0,
			50, -105, 500000, 5538630.7029, 1e-4, 0, 1e-9},
		{"UTM 13, by GeographicLib 2.1.2", wgs84, 0.9996, 0, -105, 500e3, 0,
			52, -106.65, 386730.3755, 5762323.5877, 1e-4, -1.300355, 1e-6},
		{"UTM 14, by GeographicLib 2.1.2", wgs84, 0.9996, 0, -99, 500e3, 0,
			49.8, -97.1, 636727.3348, 5518126.0108, 1e-4, 1.451436, 1e-6},
		{"Ordnance Survey, A guide to coordinate systems in Great Britain, annex C", airy, 0.9996012717, 49, -2, 400e3, -100e3,
			dms(52, 39, 27.2531), dms(1, 43, 4.5177), 651409.903, 313177.270, 0.001, 0, 0},
		{"EPSG Guidance Note 7-2, transverse Mercator (last digits there by an older formula)", airy, 0.9996012717, 49, -2, 400e3, -100e3,
			50.5, 0.5, 577274.99, 69740.50, 0.01, 0, 0},
		{"the same by PROJ", airy, 0.9996012717, 49, -2, 400e3, -100e3,
			50.5, 0.5, 577274.984, 69740.492, 0.001, 0, 0},
	} {
		p := newPlane(c.e, c.scale, c.lat0, c.lon0)
		e, n := p.gridM(t, c.lat, c.lon)
		near(t, c.name+": east", e+c.falseE, c.east, c.tolM)
		near(t, c.name+": north", n+c.falseN, c.north, c.tolM)
		if c.tolAngle > 0 {
			near(t, c.name+": convergence", p.Convergence(c.lat, c.lon)*RadToDeg, c.convergenceDeg, c.tolAngle)
		}
	}
}

// The length of one degree by the exact radii of curvature M and N, as tabled
// from GeographicLib's WGS 84; the northing of a whole degree is nearly M.
func TestDegreeLengths(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ lat, latM, lonM float64 }{
		{0, 110574.276, 111319.491}, {15, 110648.696, 107550.489}, {30, 110852.442, 96486.280},
		{45, 111131.777, 78846.835}, {49, 111209.738, 73171.793}, {50, 111229.064, 71695.754},
		{52, 111267.353, 68678.016}, {60, 111412.287, 55800.002}, {75, 111618.384, 28902.006},
	} {
		const step = 1. / 1024
		p := New(c.lat, 0)
		_, up, _ := p.Forward(c.lat+step, 0)
		_, down, _ := p.Forward(c.lat-step, 0)
		near(t, "metres of a degree of latitude", (up-down)/(2*step), c.latM, 0.001)
		right, _, _ := p.Forward(c.lat, step)
		near(t, "metres of a degree of longitude", right/step, c.lonM, 0.001)
	}
}

func TestReach(t *testing.T) {
	t.Parallel()
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name                 string
		lat0, lon0, lat, lon float64
		want                 bool
	}{
		{"the origin", 53.3, 0, 53.3, 0, true},
		{"299 km north", 50, 0, 52.68, 0, true},
		{"301 km north", 50, 0, 52.71, 0, false},
		{"299 km east on the equator", 0, 0, 0, 2.685, true},
		{"301 km east on the equator", 0, 0, 0, 2.705, false},
		{"299 km west across 180", 0, -179, 0, 178.315, true},
		{"a quarter round the equator", 0, 0, 0, 90, false},
		{"the antipode", 10, 0, -10, 180, false},
		{"the far side of the equator", 0, 0, 0, 180, false},
		{"the same meridian, the far hemisphere", 53, 0, -53, 0, false},
		{"over the pole", 89.5, 0, 89.5, 180, true},
		{"beyond 89.9", 89.5, 0, 89.91, 0, false},
		{"no latitude", 53, 0, 91, 0, false},
		{"latitude NaN", 53, 0, nan, 0, false},
		{"longitude NaN", 53, 0, 53, nan, false},
		{"longitude infinite", 53, 0, 53, inf, false},
		{"longitude some turns off", 53, 0, 53, 720.1, true},
		{"origin NaN", nan, 0, 53, 0, false},
		{"origin beyond 89.9", 90, 0, 89.8, 0, false},
	} {
		p := New(c.lat0, c.lon0)
		x, y, ok := p.Forward(c.lat, c.lon)
		if ok != c.want || (!ok && (x != 0 || y != 0)) {
			t.Errorf("%s: New(%v, %v).Forward(%v, %v): got %v, %v, %v, want ok %v", c.name, c.lat0, c.lon0, c.lat, c.lon, x, y, ok, c.want)
		}
		if conv := p.Convergence(c.lat, c.lon); math.IsNaN(conv) {
			t.Errorf("%s: Convergence(%v, %v): got NaN", c.name, c.lat, c.lon)
		}
	}
}

func TestZeroPlane(t *testing.T) {
	t.Parallel()
	var p Plane
	if x, y, ok := p.Forward(53, 0); ok || x != 0 || y != 0 {
		t.Errorf("zero Plane, Forward: got %v, %v, %v, want 0, 0, false", x, y, ok)
	}
	if lat, lon := p.Inverse(1, 2); lat != 0 || lon != 0 {
		t.Errorf("zero Plane, Inverse: got %v, %v, want 0, 0", lat, lon)
	}
}

// drawOrigin draws an origin, with the equator, the Greenwich and the 180
// degree meridians more often than chance would.
func drawOrigin(t *rapid.T) (latDeg, lonDeg float64) {
	lat := rapid.OneOf(rapid.Float64Range(-85, 85), rapid.SampledFrom([]float64{0, 53.3, -53.3, 70})).Draw(t, "lat0")
	lon := rapid.OneOf(rapid.Float64Range(-180, 180), rapid.SampledFrom([]float64{0, 180, -180, 179.9999, -0.0001})).Draw(t, "lon0")
	return lat, lon
}

func TestRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := New(drawOrigin(t))
		x := rapid.Float64Range(-250e3, 250e3).Draw(t, "x")
		y := rapid.Float64Range(-250e3, 250e3).Draw(t, "y")
		lat, lon := p.Inverse(x, y)
		if math.Abs(lat) > 90 || !(lon > -180 && lon <= 180) {
			t.Fatalf("Inverse(%v, %v): got %v, %v, want a latitude in [-90, 90], a longitude in (-180, 180]", x, y, lat, lon)
		}
		gx, gy, ok := p.Forward(lat, lon)
		if math.Abs(lat) > MaxLatDeg {
			t.Skip("over the pole")
		}
		const tolM = 20e-9 // 2 ulp of a longitude of 180 degrees are 6 nm
		if !ok || math.Abs(gx-x) > tolM || math.Abs(gy-y) > tolM {
			t.Fatalf("Forward(Inverse(%v, %v)) = Forward(%v, %v): got %v, %v, %v, off by %g, %g", x, y, lat, lon, gx, gy, ok, gx-x, gy-y)
		}
	})
}

func TestInverseIsDefined(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := New(drawOrigin(t))
		any := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1)}))
		x, y := any.Draw(t, "x"), any.Draw(t, "y")
		lat, lon := p.Inverse(x, y)
		if !(math.Abs(lat) <= 90) || !(lon > -180 && lon <= 180) {
			t.Fatalf("Inverse(%v, %v): got %v, %v, want a position on the Earth", x, y, lat, lon)
		}
	})
}

func TestSymmetry(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lat0 := rapid.Float64Range(-80, 80).Draw(t, "lat0")
		lat := lat0 + rapid.Float64Range(-1, 1).Draw(t, "dlat")
		dLon := rapid.Float64Range(-1, 1).Draw(t, "dlon")
		x, y, ok := New(lat0, 0).Forward(lat, dLon)
		west, wy, _ := New(lat0, 0).Forward(lat, -dLon)
		sx, south, _ := New(-lat0, 0).Forward(-lat, dLon)
		if !ok || west != -x || wy != y || sx != x || south != -y {
			t.Fatalf("Forward(%v, %v) about latitude %v = %v, %v, %v: mirrored west %v, %v, mirrored south %v, %v", lat, dLon, lat0, x, y, ok, west, wy, sx, south)
		}
		c := New(lat0, 0).Convergence(lat, dLon)
		if w := New(lat0, 0).Convergence(lat, -dLon); w != -c {
			t.Fatalf("Convergence(%v, %v): got %v west of the origin, %v east of it", lat, dLon, w, c)
		}
	})
}

// A heading on the ground less the convergence is the heading on the plane.
func TestConvergenceSign(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lat0, lon0 := drawOrigin(t)
		p := New(lat0, lon0)
		lat, lon := p.Inverse(rapid.Float64Range(-100e3, 100e3).Draw(t, "x"), rapid.Float64Range(-100e3, 100e3).Draw(t, "y"))
		if math.Abs(lat) > 85 {
			t.Skip("close to the pole the meridians fan out")
		}
		const step = 1e-4 // true north, some 11 m
		x0, y0, _ := p.Forward(lat-step, lon)
		x1, y1, _ := p.Forward(lat+step, lon)
		got := -Atan2(x1-x0, y1-y0) // grid heading of true north is minus the convergence
		if want := p.Convergence(lat, lon); math.Abs(WrapPi(got-want)) > 1e-8 {
			t.Fatalf("Convergence(%v, %v) about %v, %v: got %v, the plane's true north says %v", lat, lon, lat0, lon0, want, got)
		}
	})
}
