package nmea

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	gonmea "github.com/adrianmo/go-nmea"
)

// decoder reads sentences with go-nmea. The zero value is ready.
//
// go-nmea gives 0 without an error for an empty field, its times are rounded to
// milliseconds and its coordinates pass through a difference of floats. So an
// empty field is asked for by its text first, and time of day, coordinates and
// quality are read from the text by this package. It also refuses whole
// sentences for fields that nobody needs here; prepare takes care of those.
type decoder struct {
	parser   *gonmea.SentenceParser
	prepared sentence // what prepare has read
}

// layout is how many fields a kind must have to be worth reading, and how many
// go-nmea wants.
type layout struct{ least, full int }

func layoutOf(k kind) layout {
	switch k {
	case kindGGA:
		return layout{6, 14}
	case kindGNS:
		return layout{6, 13}
	case kindRMC:
		return layout{9, 13}
	case kindGLL:
		return layout{4, 7}
	case kindVTG:
		return layout{4, 9}
	case kindZDA:
		return layout{4, 6}
	case kindGST:
		return layout{7, 8}
	case kindHDT:
		return layout{1, 2}
	default: // THS
		return layout{2, 2}
	}
}

// read fills s from the whole text of a sentence of kind k; false if its
// content cannot be read.
func (d *decoder) read(text string, k kind, s *sentence) bool {
	if d.parser == nil {
		d.parser = &gonmea.SentenceParser{
			// Its own XOR stays on; only GST is unknown to go-nmea.
			CustomParsers:  map[string]gonmea.ParserFunc{"GST": readGST},
			OnBaseSentence: d.prepare,
		}
	}
	d.prepared = sentence{kind: k, talker: [2]byte{text[1], text[2]}}
	parsed, err := d.parser.Parse(text)
	if err != nil {
		return false
	}
	*s = d.prepared
	switch m := parsed.(type) {
	case gonmea.GGA:
		s.fillAccuracy(m.Fields[6:13], m.NumSatellites, m.HDOP, m.Altitude)
		if age, ok := number(m.DGPSAge); ok {
			s.setCorrectionAge(age)
		}
	case gonmea.GNS:
		s.fillAccuracy(m.Fields[6:13], m.SVs, m.HDOP, m.Altitude)
		if m.Fields[10] != "" {
			s.setCorrectionAge(m.Age)
		}
	case gonmea.RMC:
		if s.void = m.Validity != gonmea.ValidRMC; !s.void && m.FFAMode != gonmea.FAAModeDataNotValid {
			if m.Fields[6] != "" {
				s.setSpeedKnots(m.Speed)
			}
			if m.Fields[7] != "" {
				s.setCourse(m.Course)
			}
		}
	case gonmea.VTG:
		s.fillVTG(m)
	case gonmea.ZDA:
		if m.Fields[1] != "" && m.Fields[2] != "" && m.Fields[3] != "" {
			if day, ok := dayNumber(clampInt(m.Year), clampInt(m.Month), clampInt(m.Day)); ok {
				s.setDate(day)
			}
		}
	case gst:
		if m.Fields[5] != "" && m.Fields[6] != "" && m.latDeviationM >= 0 && m.lonDeviationM >= 0 {
			s.latDeviationM, s.lonDeviationM = m.latDeviationM, m.lonDeviationM
			s.has |= HasDeviation
		}
	case gonmea.HDT:
		if m.Fields[0] != "" {
			s.setHeading(m.Heading)
		}
	case gonmea.THS:
		if m.Fields[0] != "" && m.Status != gonmea.InvalidTHS {
			s.setHeading(m.Heading)
		}
	}
	return true
}

func (s *sentence) fillAccuracy(fields []string, satellites int64, hdop, altitude float64) {
	if fields[0] != "" {
		s.setSatellites(satellites)
	}
	if fields[1] != "" {
		s.setHDOP(hdop)
	}
	if fields[2] != "" {
		s.setAltitude(altitude)
	}
}

func (s *sentence) fillVTG(m gonmea.VTG) {
	if m.FFAMode == gonmea.FAAModeDataNotValid {
		return
	}
	switch {
	case m.Fields[4] != "":
		s.setSpeedKnots(m.GroundSpeedKnots)
	case m.Fields[6] != "":
		s.setSpeedKMH(m.GroundSpeedKPH)
	}
	if m.Fields[0] != "" {
		s.setCourse(m.TrueTrack)
	}
}

// clampInt keeps a number in the range of int32, so that int is wide enough on
// any machine.
func clampInt(v int64) int { return int(max(-1, min(v, 1<<30))) }

var (
	errCutShort = errors.New("too few fields")
	errContent  = errors.New("field cannot be read")
)

// prepare is go-nmea's hook between the fields and the typed sentence. It reads
// what go-nmea cannot give exactly, and makes the fields into what it accepts.
func (d *decoder) prepare(b *gonmea.BaseSentence) error {
	s := &d.prepared
	want := layoutOf(s.kind)
	if len(b.Fields) < want.least {
		return fmt.Errorf("%s: %w", b.Type, errCutShort)
	}
	f := b.Fields
	for i := range f {
		f[i] = strings.TrimSpace(f[i]) // some receivers pad with blanks; go-nmea refuses them
	}
	if s.kind == kindVTG && len(f) == 4 {
		// The old form: true course, magnetic course, knots, km/h, no letters.
		f = []string{f[0], "T", f[1], "M", f[2], "N", f[3], "K"}
	}
	for len(f) < want.full {
		f = append(f, "") // a field short at the end: GGA without its station number
	}
	b.Fields = f

	switch s.kind {
	case kindGGA:
		q, ok := qualityOfDigit(f[5])
		f[5] = "" // go-nmea knows no quality above 6
		if !ok || !s.setTime(f[0]) || !s.readPosition(f[1:5], q) {
			return errContent
		}
		dropOddNumbers(f, 7, 8)
		dropOddCount(f, 6)
		f[10] = "" // geoid separation
	case kindGNS:
		mode := f[5]
		f[5] = "" // go-nmea refuses a mode letter that it does not know
		q := qualityOfMode(mode)
		if mode == "" {
			q = QualityNone // unlike RMC and GLL it has no status to say "valid"
		}
		if !s.setTime(f[0]) || !s.readPosition(f[1:5], q) {
			return errContent
		}
		dropOddNumbers(f, 7, 8, 10)
		dropOddCount(f, 6)
		f[9], f[11], f[12] = "", "", "" // separation, station, navigational status
	case kindRMC:
		if !s.setTime(f[0]) || !s.readPosition(f[2:6], qualityOfStatus(f[1], f[11])) {
			return errContent
		}
		if day, ok := shortDate(f[8]); ok {
			s.setDate(day)
		}
		dropOddNumbers(f, 6, 7)
		f[8], f[9], f[10], f[12] = "", "", "", "" // variation 999.9000 and the like
	case kindGLL:
		if !s.setTime(f[4]) || !s.readPosition(f[0:4], qualityOfStatus(f[5], f[6])) {
			return errContent
		}
	case kindVTG:
		dropOddNumbers(f, 0, 4, 6)
		f[2] = ""
	case kindZDA:
		if !s.setTime(f[0]) {
			return errContent
		}
		f[4], f[5] = "", "" // the local zone
	case kindGST:
		if !s.setTime(f[0]) {
			return errContent
		}
	case kindHDT:
		if f[0] != "" && !plainNumber(f[0]) {
			return errContent
		}
	case kindTHS:
		if f[0] != "" && !plainNumber(f[0]) {
			return errContent
		}
	}
	return nil
}

// setTime keeps a time of day if there is one; false if it cannot be read.
func (s *sentence) setTime(f string) bool {
	ns, r := timeOfDay(f)
	if r == readingGood {
		s.todNS = ns
		s.has |= hasTime
	}
	return r != readingUnlikely
}

// readPosition keeps the position in the four fields if it is valid, and blanks
// them for go-nmea, which would refuse a placeholder out of range.
func (s *sentence) readPosition(f []string, q Quality) bool {
	lat, lon, r := position(f[0], f[1], f[2], f[3])
	clear(f)
	s.setPosition(lat, lon, r == readingGood, q)
	return r != readingUnlikely
}

func qualityOfStatus(status, mode string) Quality {
	if status != gonmea.StatusValid {
		return QualityNone
	}
	return qualityOfMode(mode)
}

// dropOddNumbers empties the fields that hold no plain number, so that a
// position is not lost for "nan" in its altitude.
func dropOddNumbers(f []string, fields ...int) {
	for _, i := range fields {
		if !plainNumber(f[i]) {
			f[i] = ""
		}
	}
}

// dropOddCount empties a field that holds no count.
func dropOddCount(f []string, i int) {
	if len(f[i]) > 9 || strings.Trim(f[i], "0123456789") != "" {
		f[i] = ""
	}
}

// plainNumber tells whether f is a decimal number without exponent, which
// strconv would also take, as it would "inf" and "0x1p-2".
func plainNumber(f string) bool {
	digits, points := 0, 0
	for i := range len(f) {
		switch c := f[i]; {
		case c-'0' <= 9:
			digits++
		case c == '.':
			points++
		case (c == '-' || c == '+') && i == 0:
		default:
			return false
		}
	}
	return digits > 0 && digits <= 30 && points <= 1
}

func number(f string) (float64, bool) {
	if !plainNumber(f) {
		return 0, false
	}
	v, err := strconv.ParseFloat(f, 64)
	return v, err == nil
}

// gst is the sentence that go-nmea has no type for.
//
//	$--GST,hhmmss.ss,rms,major,minor,orientation,lat,lon,alt*hh
//	       0         1   2     3     4           5   6   7     metres, one standard deviation
type gst struct {
	gonmea.BaseSentence
	latDeviationM float64
	lonDeviationM float64
}

func readGST(b gonmea.BaseSentence) (gonmea.Sentence, error) {
	p := gonmea.NewParser(b)
	for _, i := range []int{5, 6} {
		if b.Fields[i] != "" && !plainNumber(b.Fields[i]) {
			p.SetErr("deviation", b.Fields[i])
		}
	}
	return gst{BaseSentence: b, latDeviationM: p.Float64(5, "latitude deviation"), lonDeviationM: p.Float64(6, "longitude deviation")}, p.Err()
}
