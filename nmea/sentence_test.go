package nmea

import (
	"fmt"
	"math"
	"math/big"
	"strings"
	"testing"

	gonmea "github.com/adrianmo/go-nmea"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// sealed is body with '$' and checksum.
func sealed(body string) string {
	return fmt.Sprintf("$%s*%02X", body, xor([]byte(body)))
}

// readOne reads a line that holds one sentence with a good checksum.
func readOne(tb testing.TB, line string) (sentence, Result) {
	tb.Helper()
	candidates := scan([]byte(line))
	for {
		c, more := candidates.next()
		if !more {
			tb.Fatalf("no good sentence in %q", line)
		}
		if c.verdict == verdictGood {
			var (
				d decoder
				s sentence
			)
			_, result := d.decode(c, &s)
			return s, result
		}
	}
}

// Published samples whose checksums were worked out again. Sources:
//   - gpsd: "NMEA Revealed" v2.24, E. S. Raymond, https://gpsd.gitlab.io/gpsd/NMEA.html
//   - NOAA: Physical Sciences Laboratory, ATOMIC 2020 cruise, raw GPS of 14 January 2020 20:00
//   - the GGA of 4807.038 is a sample published in many places
//   - THS: public receiver captures
func TestPublishedSentences(t *testing.T) {
	t.Parallel()
	const kn = 1852.0 / 3600
	clock := func(h, m, s, ns int64) int64 { return (h*3600+m*60+s)*secondNS + ns }
	day := func(y, m, d int) int32 {
		n, ok := dayNumber(y, m, d)
		if !ok {
			t.Fatalf("no day %d-%d-%d", y, m, d)
		}
		return n
	}
	for _, tc := range []struct {
		line string
		want sentence
	}{
		{"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47", sentence{
			latDeg: 48.1173, lonDeg: 11.516666666666667, todNS: clock(12, 35, 19, 0), quality: QualityAutonomous,
			satellites: 8, hdop: 0.9, altitudeM: 545.4, has: hasTime | hasPosition | HasSatellites | HasHDOP | HasAltitude}},
		{"$GNGGA,001043.00,4404.14036,N,12118.85961,W,1,12,0.98,1113.0,M,-21.3,M,,*47", sentence{ // gpsd
			latDeg: 44.069006, lonDeg: -121.3143268333333, todNS: clock(0, 10, 43, 0), quality: QualityAutonomous,
			satellites: 12, hdop: 0.98, altitudeM: 1113, has: hasTime | hasPosition | HasSatellites | HasHDOP | HasAltitude}},
		{"$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B", sentence{ // gpsd: course empty
			latDeg: 44.068998833333, lonDeg: -121.3143371666666, todNS: clock(0, 10, 31, 0), quality: QualityAutonomous,
			speedMPS: 0.146 * kn, day: day(2017, 1, 10), has: hasTime | hasPosition | HasSpeed | HasDate}},
		{"$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34", sentence{ // gpsd
			courseDeg: 220.86, speedMPS: 2.55 * kn, has: HasSpeed | HasCourse}},
		{"$GPGNS,112257.00,3844.24011,N,00908.43828,W,AN,03,10.5,,,,*57", sentence{ // gpsd
			latDeg: 38.7373351666667, lonDeg: -9.140638, todNS: clock(11, 22, 57, 0), quality: QualityAutonomous,
			satellites: 3, hdop: 10.5, has: hasTime | hasPosition | HasSatellites | HasHDOP}},
		{"$GPGST,182141.000,15.5,15.3,7.2,21.8,0.9,0.5,0.8*54", sentence{ // gpsd
			latDeviationM: 0.9, lonDeviationM: 0.5, todNS: clock(18, 21, 41, 0), has: hasTime | HasDeviation}},
		{"$GPHDT,274.07,T*03", sentence{headingDeg: 274.07, has: HasHeading}}, // gpsd
		{"$GPZDA,160012.71,11,03,2004,-1,00*7D", sentence{ // gpsd
			todNS: clock(16, 0, 12, 710_000_000), day: day(2004, 3, 11), has: hasTime | HasDate}},
		{"$GNTHS,202.4681,A*12", sentence{headingDeg: 202.4681, has: HasHeading}},
		{"$GNTHS,341.3344,A*1F", sentence{headingDeg: 341.3344, has: HasHeading}},
		// Cold start, nothing known.
		{"$GPRMC,,V,,,,,,,,,,N*53", sentence{void: true}},
		{"$GPGGA,,,,,,0,00,99.99,,,,,,*48", sentence{hdop: 99.99, has: HasSatellites | HasHDOP}},
		{"$GPVTG,,,,,,,,,N*30", sentence{}},
		// NOAA, one epoch; lines of 86 and 84 bytes.
		{"$GPHDT,74.20,T*34", sentence{headingDeg: 74.2, has: HasHeading}},
		{"$GPGGA,195959.00,1541.31258893,N,05130.51204125,W,2,06,1.5,9.2,M,-37.6,M,4.0,0138*7E", sentence{
			latDeg: 15.6885431488, lonDeg: -51.5085340208, todNS: clock(19, 59, 59, 0), quality: QualityDGNSS,
			satellites: 6, hdop: 1.5, altitudeM: 9.2, correctionS: 4,
			has: hasTime | hasPosition | HasSatellites | HasHDOP | HasAltitude | HasCorrection}},
		{"$GPVTG,147.44,T,164.31,M,0.26,N,0.49,K,D*2C", sentence{courseDeg: 147.44, speedMPS: 0.26 * kn, has: HasSpeed | HasCourse}},
		{"$GPZDA,195959.00,14,01,2020,00,00*6A", sentence{todNS: clock(19, 59, 59, 0), day: day(2020, 1, 14), has: hasTime | HasDate}},
		{"$GPRMC,195959.00,A,1541.31258893,N,05130.51204125,W,0.26,147.44,140120,16.9,W,D*0B", sentence{
			latDeg: 15.6885431488, lonDeg: -51.5085340208, todNS: clock(19, 59, 59, 0), quality: QualityDGNSS,
			speedMPS: 0.26 * kn, courseDeg: 147.44, day: day(2020, 1, 14),
			has: hasTime | hasPosition | HasSpeed | HasCourse | HasDate}},
		{"$GPGST,195959.00,0.30,0.36,0.26,283.74,0.26,0.36,0.68*68", sentence{
			latDeviationM: 0.26, lonDeviationM: 0.36, todNS: clock(19, 59, 59, 0), has: hasTime | HasDeviation}},
	} {
		t.Run(tc.line[1:6], func(t *testing.T) {
			t.Parallel()
			got, result := readOne(t, tc.line)
			if result != ResultUsed {
				t.Fatalf("%s: got %v, want used", tc.line, result)
			}
			tc.want.kind, tc.want.talker = kindOf([]byte(tc.line[1:])), [2]byte{tc.line[1], tc.line[2]}
			near := cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= 1e-9 })
			if diff := cmp.Diff(tc.want, got, near, cmp.AllowUnexported(sentence{})); diff != "" {
				t.Errorf("%s (-want +got):\n%s", tc.line, diff)
			}
		})
	}
}

// Two published samples carry a wrong checksum and must not be read: one in
// "NMEA Revealed" (right value 42), one on a GIS vendor's help page (right
// value 48). With the right value the second is read, blanks and all.
func TestPublishedWrongChecksums(t *testing.T) {
	t.Parallel()
	apa := "$GPAPA,A,A,0.10,R,N,V,V,011,M,DEST,011,M*82"
	gga := "$GPGGA,121505,4807.038,N,01131.324,E,1,08,0.9,133.4,M,46.9,M, , *42"
	for _, line := range []string{apa, gga} {
		c, _ := firstCandidate(line)
		if c.verdict != verdictBad {
			t.Errorf("%s: got verdict %d, want a bad checksum", line, c.verdict)
		}
	}
	s, result := readOne(t, strings.Replace(gga, "*42", "*48", 1))
	if result != ResultUsed || s.has&hasPosition == 0 || s.has&HasCorrection != 0 {
		t.Errorf("with *48: got %v %+v, want a position and no correction age", result, s)
	}
}

func firstCandidate(line string) (candidate, bool) {
	s := scan([]byte(line))
	return s.next()
}

// What is no position, and what is one of which class. A body of "" in the
// second column of fields means that nothing else matters.
func TestPositionOrNone(t *testing.T) {
	t.Parallel()
	const at, pos = "130510.20,", "5327.1234,N,00004.5678,W,"
	for _, tc := range []struct {
		name, body string
		want       Quality // none: read, but no position
		result     Result
	}{
		{"gga 0", "GPGGA," + at + pos + "0,00,,,M,,M,,", QualityNone, ResultUsed},
		{"gga 3", "GPGGA," + at + pos + "3,08,0.9,1,M,,M,,", QualityPrecise, ResultUsed},
		{"gga 7", "GPGGA," + at + pos + "7,08,0.9,1,M,,M,,", QualityManual, ResultUsed},
		{"gga 8", "GPGGA," + at + pos + "8,08,0.9,1,M,,M,,", QualitySimulated, ResultUsed},
		{"gga 9", "GPGGA," + at + pos + "9,08,0.9,1,M,,M,,", QualityUnknown, ResultUsed},
		{"gga 12", "GPGGA," + at + pos + "12,08,0.9,1,M,,M,,", QualityUnknown, ResultUsed},
		{"gga quality empty", "GPGGA," + at + pos + ",11,0.8,86.0,M,-30.1,M,,", QualityNone, ResultUsed},
		{"gga quality no digit", "GPGGA," + at + pos + "A,11,0.8,86.0,M,-30.1,M,,", QualityNone, ResultUnreadable},
		{"gga position empty", "GPGGA," + at + ",,,,1,11,0.8,86.0,M,-30.1,M,,", QualityNone, ResultUsed},
		{"gga half a position", "GPGGA," + at + "5327.1234,N,,,1,11,0.8,86.0,M,-30.1,M,,", QualityNone, ResultUsed},
		{"gga no hemisphere", "GPGGA," + at + "5327.1234,,00004.5678,,1,11,0.8,86.0,M,-30.1,M,,", QualityNone, ResultUsed},
		{"gga placeholder", "GPGGA," + at + "8960.0000,N,00000.0000,E,1,0,,137.0,M,13.0,M,,", QualityNone, ResultUsed},
		{"gga 90 degrees and a bit", "GPGGA," + at + "9000.0001,N,00000.0000,E,1,0,,137.0,M,13.0,M,,", QualityNone, ResultUsed},
		{"gga pole", "GPGGA," + at + "9000.0000,S,18000.0000,W,1,0,,137.0,M,13.0,M,,", QualityAutonomous, ResultUsed},
		{"gga beyond 180", "GPGGA," + at + "0000.0000,S,18000.0001,W,1,0,,137.0,M,13.0,M,,", QualityNone, ResultUsed},
		{"gga letters", "GPGGA," + at + "53x7.1234,N,00004.5678,W,1,0,,137.0,M,13.0,M,,", QualityNone, ResultUnreadable},
		{"gga minus", "GPGGA," + at + "-527.1234,N,00004.5678,W,1,0,,137.0,M,13.0,M,,", QualityNone, ResultUnreadable},
		{"gga swapped hemispheres", "GPGGA," + at + "5327.1234,E,00004.5678,N,1,0,,137.0,M,13.0,M,,", QualityNone, ResultUnreadable},
		{"gga a field short", "GPGGA," + at + pos + "2,,,,,,,", QualityDGNSS, ResultUsed},
		{"gga cut short", "GPGGA," + at + "5327.1234,N", QualityNone, ResultUnreadable},
		{"gga odd altitude", "GPGGA," + at + pos + "4,12,0.7,nan,M,inf,M,1e3,", QualityRTK, ResultUsed},
		{"gga time odd", "GPGGA,1305,5327.1234,N,00004.5678,W,1,08,,,M,,M,,", QualityNone, ResultUnreadable},
		{"rmc A", "GPRMC," + at + "A," + pos + "1.0,2.0,140526,,,R", QualityRTK, ResultUsed},
		{"rmc A, no mode field", "GPRMC," + at + "A," + pos + "1.0,2.0,140526,,", QualityUnknown, ResultUsed},
		{"rmc A, mode empty", "GPRMC," + at + "A," + pos + "1.0,2.0,140526,,,", QualityUnknown, ResultUsed},
		{"rmc A, mode of a maker", "GPRMC," + at + "A," + pos + "1.0,2.0,140526,,,Q", QualityUnknown, ResultUsed},
		{"rmc V", "GPRMC," + at + "V," + pos + "1.0,2.0,140526,,,A", QualityNone, ResultUsed},
		{"rmc A but mode N", "GPRMC," + at + "A," + pos + "1.0,2.0,140526,,,N", QualityNone, ResultUsed},
		{"rmc navigational status", "GPRMC," + at + "A," + pos + "1.0,2.0,140526,999.9000,E,F,V", QualityFloat, ResultUsed},
		{"rmc date without sense", "GPRMC," + at + "A," + pos + "1.0,2.0,310226,,,P", QualityPrecise, ResultUsed},
		{"gll A", "GPGLL," + pos + "130510.20,A,D", QualityDGNSS, ResultUsed},
		{"gll A, no mode field", "GPGLL," + pos + "130510.20,A", QualityUnknown, ResultUsed},
		{"gll V", "GPGLL," + pos + "130510.20,V,N", QualityNone, ResultUsed},
		{"gll of old, no time", "GPGLL,5327.1234,N,00004.5678,W", QualityNone, ResultUsed},
		{"gns best of four", "GNGNS," + at + pos + "NAFD,14,1.3,250.8,50.0,,,V", QualityFloat, ResultUsed},
		{"gns none", "GNGNS," + at + pos + "NN,00,,,,,", QualityNone, ResultUsed},
		{"gns mode empty", "GNGNS," + at + pos + ",00,,,,,", QualityNone, ResultUsed},
		{"gns unknown letter", "GNGNS," + at + pos + "X,04,,,,,", QualityUnknown, ResultUsed},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			got, result := readOne(t, sealed(tc.body))
			if result != tc.result {
				t.Fatalf("%s: got %v, want %v", tc.body, result, tc.result)
			}
			if result == ResultUsed && (got.quality != tc.want || (got.has&hasPosition != 0) != (tc.want != QualityNone)) {
				t.Errorf("%s: got %+v, want quality %v", tc.body, got, tc.want)
			}
		})
	}
}

// Speed, course and heading that are not known must not become 0.
func TestMotion(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		body string
		has  Has
		v    float64 // speed in m/s, or heading
	}{
		{"GPVTG,054.7,T,034.4,M,005.5,N,010.2,K", HasSpeed | HasCourse, 5.5 * 1852 / 3600},
		{"GPVTG,054.7,034.4,005.5,010.2", HasSpeed | HasCourse, 5.5 * 1852 / 3600}, // old form without letters
		{"GPVTG,,T,,M,,N,018.0,K,A", HasSpeed, 5},                                  // km/h alone
		{"GPVTG,3.0,T,,,0.50,N,,,D", HasSpeed | HasCourse, 0.5 * 1852 / 3600},      // ais-and-heading-mix
		{"GPVTG,0.00,T,,,0.00,N,0.00,K,N", 0, 0},                                   // mode N
		{"GPVTG,360.0,T,,,1.0,N,,K,A", HasSpeed | HasCourse, 1852.0 / 3600},
		{"GPVTG,361.0,T,,,1.0,N,,K,A", HasSpeed, 1852.0 / 3600},
		{"GPVTG,-1.0,T,,,-1.0,N,,K,A", 0, 0},
		{"GPVTG,x,T,,,y,N,z,K,A", 0, 0},
		{"GPHDT,,T", 0, 0},
		{"GPHDT,360.0,T", HasHeading, 0},
		{"GNTHS,,V", 0, 0},
		{"GNTHS,123.4,V", 0, 0},
		{"GNTHS,123.4,E", HasHeading, 123.4},
	} {
		t.Run(tc.body, func(t *testing.T) {
			t.Parallel()
			got, result := readOne(t, sealed(tc.body))
			if result != ResultUsed || got.has != tc.has || math.Abs(max(got.speedMPS, got.headingDeg)-tc.v) > 1e-12 {
				t.Errorf("%s: got %v %+v, want has %b value %v", tc.body, result, got, tc.has, tc.v)
			}
		})
	}
}

// Times of day. Second 60 is legal (RFC 3339 section 5.7 shows 23:59:60Z).
func TestTimeOfDay(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		text string
		ns   int64
		r    reading
	}{
		{"", 0, readingEmpty},
		{"000000", 0, readingGood},
		{"123519.", 45319 * secondNS, readingGood},
		{"235959.9999", 86399*secondNS + 999_900_000, readingGood}, // go-nmea makes 1000 ms of .9999
		{"071732.929", 26252*secondNS + 929_000_000, readingGood},
		{"000000.000000001", 1, readingGood},
		{"000000.9999999999", 999_999_999, readingGood},
		{"000000.0000000001234567890123456789", 0, readingGood},
		{"235960", dayNS, readingGood},
		{"235960.25", dayNS + 250_000_000, readingGood},
		{"235961", 0, readingUnlikely},
		{"240000", 0, readingUnlikely},
		{"126000", 0, readingUnlikely},
		{"12351", 0, readingUnlikely},
		{"1235190", 0, readingUnlikely},
		{"12:35:19", 0, readingUnlikely},
		{"-12519", 0, readingUnlikely},
		{"123519.5x", 0, readingUnlikely},
	} {
		if ns, r := timeOfDay(tc.text); ns != tc.ns || r != tc.r {
			t.Errorf("%q: got %d ns, %d; want %d ns, %d", tc.text, ns, r, tc.ns, tc.r)
		}
	}
}

// Two digits of the year: 00 to 79 is 20yy, 80 to 99 is 19yy (the GPS epoch is
// 6 January 1980; the rule from memory).
func TestDates(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		text string
		day  int32
		ok   bool
	}{
		{"060180", 3657, true},  // 1980-01-06
		{"311299", 10956, true}, // 1999-12-31
		{"010100", 10957, true},
		{"290200", 11016, true}, // 2000 was a leap year
		{"140120", 18275, true}, // 2020-01-14
		{"311279", 40176, true}, // 2079-12-31
		{"290221", 0, false},
		{"000000", 0, false},
		{"320120", 0, false},
		{"011320", 0, false},
		{"1401", 0, false},
		{"14o120", 0, false},
	} {
		if day, ok := shortDate(tc.text); day != tc.day || ok != tc.ok {
			t.Errorf("%q: got %d %v, want %d %v", tc.text, day, ok, tc.day, tc.ok)
		}
	}
}

// The coordinate is the float64 nearest to the decimal text, by exact rational
// arithmetic. "NMEA Revealed": 4533.35 is 45 degrees 33 minutes 21 seconds.
func TestCoordinate(t *testing.T) {
	t.Parallel()
	if got, _ := coordinate("4533.35", "N", 'N', 'S', 90); got != 45+33.0/60+21.0/3600 {
		t.Errorf("4533.35: got %v, want 45 degrees 33 minutes 21 seconds", got)
	}
	if got, _ := coordinate("0000.0000", "S", 'N', 'S', 90); math.Signbit(got) {
		t.Error("0000.0000 S: got a negative zero")
	}
	rapid.Check(t, func(t *rapid.T) {
		degrees := rapid.IntRange(0, 179).Draw(t, "degrees")
		minutes := rapid.IntRange(0, 59).Draw(t, "minutes")
		fraction := rapid.StringMatching(`[0-9]{0,10}`).Draw(t, "fraction")
		text := fmt.Sprintf("%03d%02d.%s", degrees, minutes, fraction)
		got, r := coordinate(text, "W", 'E', 'W', 180)
		exact, ok := new(big.Rat).SetString(fmt.Sprintf("%d.%s0", minutes, fraction))
		if !ok {
			t.Fatalf("no number in %q", text)
		}
		exact.Quo(exact, big.NewRat(60, 1)).Add(exact, big.NewRat(int64(degrees), 1))
		want, _ := exact.Float64()
		if r != readingGood || got != -want && got != want {
			t.Fatalf("%s W: got %v, %d; want %v", text, got, r, -want)
		}
		// go-nmea goes through floats; it must agree to its rounding.
		theirs, err := gonmea.ParseGPS(text + " W")
		if err != nil || math.Abs(got-theirs) > 1e-12 {
			t.Fatalf("%s W: got %v, go-nmea has %v, %v", text, got, theirs, err)
		}
	})
}

// Sentences that are passed over, though they look like used ones.
func TestKindOf(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		body string
		want kind
	}{
		{"GPGGA,", kindGGA},
		{"GAGGA", kindGGA},
		{"II" + "VTG,", kindVTG},
		{"PGRMC,A", kindNone}, // proprietary, although it ends in RMC
		{"GPGGAX,", kindNone},
		{"GGA,", kindNone},
		{"gpgga,", kindNone},
		{"GPgga,", kindNone},
		{"GP*GA,", kindNone},
		{"\\PGGA,", kindNone},
		{"CCGPQ,GGA", kindNone}, // a query
		{"", kindNone},
	} {
		if got := kindOf([]byte(tc.body)); got != tc.want {
			t.Errorf("%q: got %v, want %v", tc.body, got, tc.want)
		}
	}
}
