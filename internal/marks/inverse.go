package marks

import "math"

// The WGS 84 ellipsoid (NIMA TR8350.2).
const (
	semiMajorM = 6378137.0
	flattening = 1 / 298.257223563
)

// Inverse is how far one place is from another along the ellipsoid, in metres, and in
// which direction it lies, degrees true clockwise from north in [0, 360); degrees WGS
// 84. ok is false where a place is none and for places all but on opposite sides of
// the Earth. By T. Vincenty, Survey Review 23(176):88-93, 1975, the inverse
// formula; within a millimetre and, from a metre away, an arc second of Karney's
// geodesics as far as farms reach.
func Inverse(fromLonDeg, fromLatDeg, toLonDeg, toLatDeg float64) (distanceM, bearingDeg float64, ok bool) {
	if !(math.Abs(fromLatDeg) <= 90 && math.Abs(toLatDeg) <= 90 && math.Abs(fromLonDeg) <= 360 && math.Abs(toLonDeg) <= 360) {
		return 0, 0, false
	}
	const f, b = flattening, semiMajorM * (1 - flattening)
	const rad = math.Pi / 180
	u1, u2 := math.Atan((1-f)*math.Tan(fromLatDeg*rad)), math.Atan((1-f)*math.Tan(toLatDeg*rad))
	sinU1, cosU1 := math.Sincos(u1)
	sinU2, cosU2 := math.Sincos(u2)
	apart := math.Remainder(toLonDeg-fromLonDeg, 360) * rad
	lambda := apart
	const most = 100 // steps; a handful do, but for places on opposite sides
	for range most {
		sinL, cosL := math.Sincos(lambda)
		east, north := cosU2*sinL, cosU1*sinU2-sinU1*cosU2*cosL
		sinS := math.Hypot(east, north)
		if sinS == 0 && cosL > 0 {
			return 0, 0, true // the same place
		}
		cosS := sinU1*sinU2 + cosU1*cosU2*cosL
		sigma := math.Atan2(sinS, cosS)
		sinA := cosU1 * cosU2 * sinL / sinS
		cos2A := 1 - sinA*sinA
		cos2M := 0.0 // of a line along the equator
		if cos2A > 0 {
			cos2M = cosS - 2*sinU1*sinU2/cos2A
		}
		c := f / 16 * cos2A * (4 + f*(4-3*cos2A))
		next := apart + (1-c)*f*sinA*(sigma+c*sinS*(cos2M+c*cosS*(2*cos2M*cos2M-1)))
		if math.Abs(next-lambda) > 1e-14 {
			lambda = next
			continue
		}
		k := cos2A * (semiMajorM*semiMajorM/(b*b) - 1)
		big := 1 + k/16384*(4096+k*(-768+k*(320-175*k)))
		small := k / 1024 * (256 + k*(-128+k*(74-47*k)))
		less := small * sinS * (cos2M + small/4*(cosS*(2*cos2M*cos2M-1)-small/6*cos2M*(4*sinS*sinS-3)*(4*cos2M*cos2M-3)))
		bearing := math.Atan2(east, north) / rad
		if bearing < 0 {
			bearing += 360
		}
		if bearing >= 360 {
			bearing = 0 // rounded up
		}
		return b * big * (sigma - less), bearing, true
	}
	return 0, 0, false
}
