package boundary

import (
	"fmt"

	"drawbar/coverage/plane"

	"github.com/paulmach/orb"
)

// system is a reference system that is read. The zero system is WGS 84 degrees.
type system struct {
	name    string
	warning string // how far its datum is from WGS 84
	project func(orb.Point) (orb.Point, bool)
}

const advice = "another reference system: export in WGS 84 (EPSG:4326)"

// degrees brings a place to WGS 84 degrees; false = not on the system.
func (s system) degrees(p orb.Point) (orb.Point, bool) {
	if s.project == nil {
		return p, true // the ranges are checked with the outline
	}
	return s.project(p)
}

// datum is a datum that may be taken for WGS 84.
type datum struct{ name, warning string }

func wgs84() datum { return datum{name: "WGS 84"} }

// How far the two are from WGS 84: ETRS89 moves with Europe, 2.5 cm a year since
// 1989; NAD83 was laid out about 2 m off the Earth's centre.
func etrs89() datum {
	return datum{"ETRS89", "ETRS89 is taken as WGS 84: up to 1 m off, for a plate moves"}
}
func nad83() datum {
	return datum{"NAD83", "NAD83 is taken as WGS 84: up to 2 m off, for the datums differ"}
}

func geographic(d datum) system {
	return system{name: d.name + " (degrees)", warning: d.warning}
}

func utm(d datum, zone int, south bool) (system, bool) {
	u, ok := plane.NewUTM(zone, south)
	if !ok {
		return system{}, false
	}
	half := "N"
	if south {
		half = "S"
	}
	return system{name: fmt.Sprintf("%s / UTM zone %d%s", d.name, zone, half), warning: d.warning, project: func(p orb.Point) (orb.Point, bool) {
		lat, lon, ok := u.Inverse(p[0], p[1])
		return orb.Point{lon, lat}, ok
	}}, true
}

// webMercator is the map of the web, EPSG:3857: degrees of WGS 84 laid out as if
// on a sphere of its greater axis (EPSG Guidance Note 7-2, method 1024).
func webMercator() system {
	const (
		radiusM = 6378137.0
		edgeM   = radiusM * plane.Pi
	)
	return system{name: "WGS 84 / Pseudo-Mercator", project: func(p orb.Point) (orb.Point, bool) {
		if !(p[0] >= -edgeM && p[0] <= edgeM && p[1] >= -edgeM && p[1] <= edgeM) {
			return orb.Point{}, false
		}
		e := plane.Exp(p[1] / radiusM)
		lat := plane.Atan((e - 1/e) / 2)
		return orb.Point{max(-180, min(180, float64(p[0]/radiusM*plane.RadToDeg))), float64(lat * plane.RadToDeg)}, true
	}}
}

// epsg is the system of a code of the EPSG register; false = not read.
func epsg(code int) (system, bool) {
	switch {
	case code == 4326 || code == 4979:
		return geographic(wgs84()), true
	case code == 4258 || code == 4937:
		return geographic(etrs89()), true
	case code == 4269:
		return geographic(nad83()), true
	case code == 3857:
		return webMercator(), true
	case code > 32600 && code <= 32660:
		return utm(wgs84(), code-32600, false)
	case code > 32700 && code <= 32760:
		return utm(wgs84(), code-32700, true)
	case code >= 25828 && code <= 25838:
		return utm(etrs89(), code-25800, false)
	case code > 26900 && code <= 26923:
		return utm(nad83(), code-26900, false)
	default:
		return system{}, false
	}
}

// use puts a system in force.
func (r *reader) use(s system) {
	r.system, r.warnings = s, nil
	if s.warning != "" {
		r.warnings = []string{s.warning}
	}
}
