package plane

import "math"

// The Universal Transverse Mercator grid: zones of 6 degrees, scale on the
// central meridian, metres added to eastings and, south of the equator, to
// northings (NGA.SIG.0012, The Universal Grids and the Transverse Mercator and
// Polar Stereographic Map Projections, 2014, section 7).
const (
	utmScale         = 0.9996
	utmFalseEastingM = 500e3
	utmSouthM        = 10_000e3
)

// How far from the central meridian and from the equator a place may be given on
// a zone: beyond its own 6 degrees, as maps of a country on one zone are.
const (
	utmReachM   = 600e3
	utmHighestM = 9_400e3
)

// UTM is a zone of the Universal Transverse Mercator grid on the WGS 84
// ellipsoid. The zero UTM knows no place.
type UTM struct {
	grid           *Plane
	falseNorthingM float64
}

// NewUTM returns zone 1 to 60 of the northern hemisphere or of the southern; ok
// is false for any other number.
func NewUTM(zone int, south bool) (u UTM, ok bool) {
	if zone < 1 || zone > 60 {
		return UTM{}, false
	}
	u.grid = newPlane(wgs84, utmScale, 0, float64(6*zone-183))
	if south {
		u.falseNorthingM = utmSouthM
	}
	return u, true
}

// Inverse returns the position of a place given in metres on the zone, degrees
// WGS 84, the longitude in (-180, 180]. ok is false, and the degrees 0, more than
// 600 km east or west of the central meridian, beyond the poles, and for what is
// no number.
func (u UTM) Inverse(eastingM, northingM float64) (latDeg, lonDeg float64, ok bool) {
	x, y := eastingM-utmFalseEastingM, northingM-u.falseNorthingM
	if u.grid == nil || !(math.Abs(x) <= utmReachM && math.Abs(y) <= utmHighestM) {
		return 0, 0, false
	}
	latDeg, lonDeg = u.grid.inverse(y/u.grid.radiusM, x/u.grid.radiusM)
	return latDeg, lonDeg, true
}
