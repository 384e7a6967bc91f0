package plane

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Worked values of UTM.
func TestUTM(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		source               string
		zone                 int
		eastingM, northingM  float64
		latDeg, lonDeg, tolM float64
	}{
		{"GeographicLib, manual of GeoConvert: 33.3N 44.4E", 38, 444140.54, 3684706.36, 33.3, 44.4, 0.01},
		{"GeographicLib: 50N 105W", 13, 500000.0000, 5538630.7029, 50, -105, 0.001},
		{"GeographicLib: 52N 106.65W", 13, 386730.3755, 5762323.5877, 52, -106.65, 0.001},
		{"GeographicLib: 49.8N 97.1W", 14, 636727.3348, 5518126.0108, 49.8, -97.1, 0.001},
	} {
		u, ok := NewUTM(c.zone, false)
		if !ok {
			t.Fatalf("no zone %d", c.zone)
		}
		lat, lon, ok := u.Inverse(c.eastingM, c.northingM)
		const mPerDeg = 111_320
		dLat, dLon := math.Abs(lat-c.latDeg)*mPerDeg, math.Abs(lon-c.lonDeg)*mPerDeg*Cos(c.latDeg*DegToRad)
		if !ok || dLat > c.tolM || dLon > c.tolM {
			t.Errorf("%s: got %.9f %.9f, %v, want %v %v within %v m", c.source, lat, lon, ok, c.latDeg, c.lonDeg, c.tolM)
		}
	}
}

// Every zone of both hemispheres beside GeoConvert of GeographicLib.
func TestUTMByGeoConvert(t *testing.T) {
	t.Parallel()
	type place struct {
		zone       int
		south      bool
		east, nord float64
	}
	var places []place
	var in strings.Builder
	for zone := 1; zone <= 60; zone++ {
		for k, south := range []bool{false, true, false, true} {
			p := place{zone, south, 180e3 + float64((zone*37+k*211)%640)*1e3, float64((zone*613+k*2741)%8800) * 1e3}
			if south {
				p.nord = 10e6 - p.nord
			}
			places = append(places, p)
			fmt.Fprintf(&in, "%d%c %.1f %.1f\n", zone, "ns"[k%2], p.east, p.nord)
		}
	}
	rows := pipe(t, in.String(), "GeoConvert", "-g", "-p", "9")
	if len(rows) != len(places) {
		t.Fatalf("GeoConvert: %d lines, want %d", len(rows), len(places))
	}
	worst := 0.0
	for i, p := range places {
		u, _ := NewUTM(p.zone, p.south)
		lat, lon, ok := u.Inverse(p.east, p.nord)
		wantLat, wantLon := number(t, rows[i][0]), number(t, rows[i][1])
		d := max(math.Abs(lat-wantLat), math.Abs(wrapDeg(lon-wantLon))*Cos(lat*DegToRad))
		if worst = max(worst, d); !ok || d > 1e-12 {
			t.Errorf("zone %d south %v, %.0f %.0f: got %.12f %.12f, %v, GeoConvert %s", p.zone, p.south, p.east, p.nord, lat, lon, ok, rows[i])
		}
	}
	t.Logf("%d places within %.2g degrees", len(places), worst)
}

func TestUTMRefuses(t *testing.T) {
	t.Parallel()
	for _, zone := range []int{-1, 0, 61} {
		if _, ok := NewUTM(zone, false); ok {
			t.Errorf("zone %d: got one, want none", zone)
		}
	}
	north, _ := NewUTM(31, false)
	south, _ := NewUTM(31, true)
	for _, c := range []struct {
		name       string
		u          UTM
		east, nord float64
	}{
		{"the zero UTM", UTM{}, 500e3, 0},
		{"too far east", north, 1_100_001, 5e6},
		{"too far west", north, -100_001, 5e6},
		{"beyond the pole", north, 500e3, 9_400_001},
		{"beyond the south pole", south, 500e3, 599_999},
		{"no number", north, math.NaN(), 0},
		{"no number north", north, 500e3, math.NaN()},
		{"infinite", north, 500e3, math.Inf(1)},
	} {
		if lat, lon, ok := c.u.Inverse(c.east, c.nord); ok || lat != 0 || lon != 0 {
			t.Errorf("%s: got %v %v, %v, want none", c.name, lat, lon, ok)
		}
	}
}
