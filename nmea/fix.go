package nmea

import "time"

// Quality is the class of a position as the receiver states it, worst to best,
// so that two qualities may be compared with < and >.
type Quality uint8

// The order follows what a grower can rely on from pass to pass. A class that
// the receiver does not state, or states with a digit we do not know, ranks
// below an autonomous position: unknown is never taken for good.
const (
	QualityNone       Quality = iota // no position: GGA 0, mode N, status V
	QualitySimulated                 // GGA 8, mode S
	QualityManual                    // GGA 7, mode M
	QualityEstimated                 // dead reckoning: GGA 6, mode E
	QualityUnknown                   // a valid position of an unstated class
	QualityAutonomous                // GGA 1, mode A
	QualityDGNSS                     // differential, SBAS included: GGA 2, mode D
	QualityPrecise                   // GGA 3, mode P
	QualityFloat                     // RTK float: GGA 5, mode F
	QualityRTK                       // RTK fixed: GGA 4, mode R
)

// String is the metric label of the quality.
func (q Quality) String() string {
	switch q {
	case QualityNone:
		return "none"
	case QualitySimulated:
		return "simulated"
	case QualityManual:
		return "manual"
	case QualityEstimated:
		return "estimated"
	case QualityAutonomous:
		return "autonomous"
	case QualityDGNSS:
		return "dgnss"
	case QualityPrecise:
		return "precise"
	case QualityFloat:
		return "float"
	case QualityRTK:
		return "rtk"
	default:
		return "unknown"
	}
}

// Has tells which fields of a Fix the receiver sent. A field whose bit is not
// set is not known and holds zero.
type Has uint16

// The optional fields of a Fix.
const (
	HasSpeed      Has = 1 << iota // SpeedMPS
	HasCourse                     // CourseDeg
	HasHeading                    // HeadingDeg
	HasAltitude                   // AltitudeM
	HasHDOP                       // HDOP
	HasSatellites                 // Satellites
	HasCorrection                 // CorrectionAgeS
	HasDeviation                  // LatDeviationM, LonDeviationM
	HasDate                       // the date came from a sentence, not from the arrival
)

// Fix is one GNSS epoch that has a position.
//
// Time is UTC by the receiver; Arrival is the arrival of the epoch's first
// sentence on the session's clock, which may be wrong by years. LatDeg is
// north positive in [-90, 90], LonDeg east positive in [-180, 180], both
// degrees WGS 84. CourseDeg (direction of movement) and HeadingDeg (where a
// measured baseline points) are degrees true, clockwise from north, in
// [0, 360). A Fix is copied by value and owns nothing.
type Fix struct {
	Time           time.Time
	Arrival        time.Time
	LatDeg         float64
	LonDeg         float64
	SpeedMPS       float64 // over ground, m/s
	CourseDeg      float64
	HeadingDeg     float64
	AltitudeM      float64 // above the geoid, m
	HDOP           float64 // horizontal dilution of precision, a plain number
	CorrectionAgeS float64
	LatDeviationM  float64 // one standard deviation, m
	LonDeviationM  float64 // one standard deviation, m
	Has            Has
	Quality        Quality
	Satellites     uint8
}
