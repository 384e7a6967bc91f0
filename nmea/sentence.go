package nmea

import "math"

// kind is a sentence type that is used.
type kind uint8

// The position sentences come first, best source of a position first: a tie in
// quality is broken in this order.
const (
	kindGGA kind = iota
	kindGNS
	kindRMC
	kindGLL
	kindVTG
	kindZDA
	kindGST
	kindHDT
	kindTHS
	kindCount
	kindNone = kindCount // not used
)

func (k kind) position() bool { return k <= kindGLL }

func (k kind) String() string {
	const names = "GGAGNSRMCGLLVTGZDAGSTHDTTHS"
	if k >= kindCount {
		return OtherFormatter
	}
	return names[3*k : 3*k+3]
}

// kindOf is the kind by the address of a sentence, whatever its talker. An
// address that begins with P is proprietary: PGRMC is no RMC.
func kindOf(body []byte) kind {
	if len(body) < 5 || body[0] == 'P' || len(body) > 5 && body[5] != ',' {
		return kindNone
	}
	if !capitalOrDigit(body[0]) || !capitalOrDigit(body[1]) {
		return kindNone
	}
	switch string(body[2:5]) {
	case "GGA":
		return kindGGA
	case "GNS":
		return kindGNS
	case "RMC":
		return kindRMC
	case "GLL":
		return kindGLL
	case "VTG":
		return kindVTG
	case "ZDA":
		return kindZDA
	case "GST":
		return kindGST
	case "HDT":
		return kindHDT
	case "THS":
		return kindTHS
	}
	return kindNone
}

func capitalOrDigit(c byte) bool { return c-'A' <= 25 || c-'0' <= 9 }

// What a sentence may carry beside the optional fields of a Fix. HasDate in a
// sentence means that day is set.
const (
	hasTime     Has = 1 << 14 // todNS
	hasPosition Has = 1 << 15 // LatDeg, LonDeg, Quality of a valid position
)

// sentence is what one sentence says, in the units of a Fix. A field whose bit
// is not set in has holds zero.
type sentence struct {
	latDeg        float64
	lonDeg        float64
	speedMPS      float64
	courseDeg     float64
	headingDeg    float64
	altitudeM     float64
	hdop          float64
	correctionS   float64
	latDeviationM float64
	lonDeviationM float64
	todNS         int64 // time of day, ns after midnight UTC, below 86,401 s
	day           int32 // days after 1970-01-01
	has           Has
	talker        [2]byte
	kind          kind
	quality       Quality
	satellites    uint8
	void          bool // RMC with status other than A
}

// decode reads a sentence with a good checksum. It is used, unused or
// unreadable; s is filled only if used.
func (d *decoder) decode(c candidate, s *sentence) (kind, Result) {
	body := c.body()
	k := kindOf(body)
	if k == kindNone || c.text[0] != '$' {
		return k, ResultUnused
	}
	if readFast(body, k, s) || d.read(string(c.text), k, s) {
		return k, ResultUsed
	}
	return k, ResultUnreadable
}

// setPosition keeps a position whose quality is stated. Coordinates that cannot
// exist are a placeholder (8960.0000): no position, yet the sentence is sound.
func (s *sentence) setPosition(lat, lon float64, inRange bool, q Quality) {
	if !inRange || q == QualityNone {
		return
	}
	s.latDeg, s.lonDeg, s.quality = lat, lon, q
	s.has |= hasPosition
}

func (s *sentence) setSpeedKnots(kn float64) {
	s.setSpeed(float64(kn*1852) / 3600)
}

func (s *sentence) setSpeedKMH(kmh float64) {
	s.setSpeed(float64(kmh*1000) / 3600)
}

func (s *sentence) setSpeed(mps float64) {
	if mps >= 0 {
		s.speedMPS = math.Abs(mps) // no negative zero
		s.has |= HasSpeed
	}
}

func (s *sentence) setCourse(deg float64) {
	if deg, ok := direction(deg); ok {
		s.courseDeg = deg
		s.has |= HasCourse
	}
}

func (s *sentence) setHeading(deg float64) {
	if deg, ok := direction(deg); ok {
		s.headingDeg = deg
		s.has |= HasHeading
	}
}

// direction turns [0, 360] into [0, 360); anything else is not known.
func direction(deg float64) (float64, bool) {
	if deg == 360 {
		return 0, true
	}
	return math.Abs(deg), deg >= 0 && deg < 360
}

func (s *sentence) setSatellites(n int64) {
	if n >= 0 && n <= 255 {
		s.satellites = uint8(n)
		s.has |= HasSatellites
	}
}

func (s *sentence) setHDOP(v float64) {
	if v >= 0 {
		s.hdop = v
		s.has |= HasHDOP
	}
}

func (s *sentence) setAltitude(m float64) {
	s.altitudeM = m
	s.has |= HasAltitude
}

func (s *sentence) setCorrectionAge(seconds float64) {
	if seconds >= 0 {
		s.correctionS = seconds
		s.has |= HasCorrection
	}
}

func (s *sentence) setDate(day int32) {
	s.day = day
	s.has |= HasDate
}
