package nmea

import (
	"bytes"
	"math"
	"testing"
	"time"

	gonmea "github.com/adrianmo/go-nmea"
)

// goodSentences calls each for every good sentence of a log.
func goodSentences(log []byte, each func(c candidate)) {
	var s Splitter
	line := func(line []byte) {
		for candidates := scan(line); ; {
			c, more := candidates.next()
			if !more {
				return
			}
			if c.verdict == verdictGood {
				each(c)
			}
		}
	}
	s.Push(log, line)
	s.Flush(line)
}

// The fast path and the go-nmea path read the same from every hot sentence of
// every log, and the fast path takes nearly all of them: all but the GGA that are a field
// short (ais-and-heading-mix).
func TestFastPathOnLogs(t *testing.T) {
	t.Parallel()
	hot, taken := 0, 0
	for _, name := range logNames {
		var d decoder
		goodSentences(readLog(t, name+".nmea"), func(c candidate) {
			k := kindOf(c.body())
			if k != kindGGA && k != kindRMC && k != kindVTG {
				return
			}
			hot++
			var fast, slow sentence
			okSlow := d.read(string(c.text), k, &slow)
			if !readFast(c.body(), k, &fast) {
				return
			}
			taken++
			if !okSlow || fast != slow {
				t.Errorf("%s: %s\nfast %+v\nslow %+v %v", name, c.text, fast, slow, okSlow)
			}
		})
	}
	if hot < 4000 || taken < hot*99/100 {
		t.Errorf("the fast path took %d of %d sentences, want 99 %%", taken, hot)
	}
}

// plainText judges eight bytes at once; byte by byte it must be the same.
func TestPlainText(t *testing.T) {
	t.Parallel()
	for n := range 20 {
		for at := range n {
			for c := range 256 {
				b := bytes.Repeat([]byte{'~'}, n)
				b[at] = byte(c)
				want := c > ' ' && c < 0x7f && c != '*' && c != '\\'
				if got := plainText(b); got != want {
					t.Fatalf("%q: got %v, want %v", b, got, want)
				}
			}
		}
	}
}

// go-nmea's own typed sentences, untouched by this package, agree wherever they
// parse: positions to the rounding of their floats, times to their millisecond.
func TestAgainstGoNMEA(t *testing.T) {
	t.Parallel()
	near := func(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }
	const kn = 1852.0 / 3600
	compared := map[string]int{}
	for _, name := range logNames {
		var d decoder
		goodSentences(readLog(t, name+".nmea"), func(c candidate) {
			var (
				s      sentence
				parser gonmea.SentenceParser
			)
			if _, result := d.decode(c, &s); result != ResultUsed {
				return
			}
			theirs, err := parser.Parse(string(c.text))
			if err != nil {
				return
			}
			position := func(lat, lon float64) bool {
				return s.has&hasPosition == 0 || near(s.latDeg, lat, 1e-11) && near(s.lonDeg, lon, 1e-11)
			}
			at := func(m gonmea.Time) bool {
				ms := int64(m.Hour*3600+m.Minute*60+m.Second)*1000 + int64(m.Millisecond)
				return m.Valid == (s.has&hasTime != 0) && near(float64(s.todNS)/1e6, float64(ms), 0.501)
			}
			ok := true
			switch m := theirs.(type) {
			case gonmea.GGA:
				ok = position(m.Latitude, m.Longitude) && at(m.Time) && s.hdop == m.HDOP && s.altitudeM == m.Altitude && int64(s.satellites) == m.NumSatellites
			case gonmea.GNS:
				ok = position(m.Latitude, m.Longitude) && at(m.Time) && s.hdop == m.HDOP && s.altitudeM == m.Altitude && int64(s.satellites) == m.SVs
			case gonmea.RMC:
				day, _ := dayNumber(2000+m.Date.YY, m.Date.MM, m.Date.DD)
				ok = position(m.Latitude, m.Longitude) && at(m.Time) && (s.void || near(s.speedMPS, m.Speed*kn, 1e-9) && s.courseDeg == math.Mod(m.Course, 360)) &&
					m.Date.Valid == (s.has&HasDate != 0) && s.day == day
			case gonmea.GLL:
				ok = position(m.Latitude, m.Longitude) && at(m.Time)
			case gonmea.VTG:
				ok = near(s.speedMPS, m.GroundSpeedKnots*kn, 1e-9) && s.courseDeg == math.Mod(m.TrueTrack, 360)
			case gonmea.ZDA:
				day, _ := dayNumber(int(m.Year), int(m.Month), int(m.Day))
				ok = at(m.Time) && s.day == day
			case gonmea.HDT:
				ok = s.headingDeg == m.Heading
			case gonmea.THS:
				ok = s.headingDeg == m.Heading
			default:
				ok = false
			}
			compared[s.kind.String()]++
			if !ok {
				t.Errorf("%s: %s\nours   %+v\ntheirs %+v", name, c.text, s, theirs)
			}
		})
	}
	for k := range kindCount {
		if k != kindGST && compared[k.String()] == 0 {
			t.Errorf("no %v was compared", k)
		}
	}
}

// FuzzFastPath: what the fast path takes, go-nmea takes too and reads the same.
// The body is sealed by the test, so that the fuzzer need not find checksums.
func FuzzFastPath(f *testing.F) {
	for _, body := range []string{
		"GPGGA,195959.00,1541.31258893,N,05130.51204125,W,2,06,1.5,9.2,M,-37.6,M,4.0,0138",
		"GPRMC,195959.00,A,1541.31258893,N,05130.51204125,W,0.26,147.44,140120,16.9,W,D",
		"GNRMC,055234.000,A,4739.71890,N,12219.58362,W,0.00,286.35,050826,,,A,V",
		"GPRMC,,V,,,,,,,,,,N",
		"GPVTG,147.44,T,164.31,M,0.26,N,0.49,K,D",
		"GPVTG,054.7,034.4,005.5,010.2",
		"GPGGA,130711,5012.790800,N,00806.879600,W,2,,,,,,,",
		"GPGGA,071733.929,8960.0000,N,00000.0000,E,0,0,,137.0,M,13.0,M,,",
	} {
		f.Add(body)
	}
	f.Fuzz(func(t *testing.T, body string) {
		k := kindOf([]byte(body))
		var (
			d          decoder
			fast, slow sentence
		)
		if !readFast([]byte(body), k, &fast) {
			return
		}
		if !d.read(sealed(body), k, &slow) {
			t.Fatalf("%q: fast %+v, refused by go-nmea", body, fast)
		}
		if fast != slow {
			t.Fatalf("%q:\nfast %+v\nslow %+v", body, fast, slow)
		}
	})
}

// FuzzReader: no panic, one fix an epoch, counters that add up, fixes in range,
// and bounded memory, whatever comes.
func FuzzReader(f *testing.F) {
	f.Add([]byte("$GPGGA,195959.00,1541.31258893,N,05130.51204125,W,2,06,1.5,9.2,M,-37.6,M,4.0,0138*7E\r\n$GPZDA,195959.00,14,01,2020,00,00*6A\n"), int64(1))
	f.Add([]byte("$GPRMC,,V,,,,,,,,,,N*53\n$GPGGA,,,,,,0,00,99.99,,,,,,*48\n$GPVTG,,,,,,,,,N*30\n$GNTHS,202.4681,A*12"), int64(-1e15))
	f.Add([]byte("$GPGST,182141.000,15.5,15.3,7.2,21.8,0.9,0.5,0.8*54\n!AIVDM,1,1,,B,13aGhtw0R<OJf=6LgQ?Ad1FF05`L,0*24$GPHDT,274.07,T*03x"), int64(0))
	f.Fuzz(func(t *testing.T, stream []byte, stepNS int64) {
		var (
			s     Splitter
			r     Reader
			clock LogClock
			n     uint64
		)
		check := func(fixes []Fix) {
			for i := range fixes {
				x := &fixes[i]
				if !(math.Abs(x.LatDeg) <= 90 && math.Abs(x.LonDeg) <= 180) || x.Quality == QualityNone {
					t.Fatalf("no position: %+v", x)
				}
				if !(x.CourseDeg >= 0 && x.CourseDeg < 360 && x.HeadingDeg >= 0 && x.HeadingDeg < 360 && x.SpeedMPS >= 0 && x.HDOP >= 0) {
					t.Fatalf("out of range: %+v", x)
				}
			}
		}
		at := time.Unix(0, 0)
		line := func(line []byte) {
			n++
			clock.Line(line)
			check(r.Line(at, line))
			at = at.Add(time.Duration(stepNS))
		}
		s.Push(stream, line)
		s.Flush(line)
		check(r.Flush())
		if again := r.Flush(); len(again) != 0 {
			t.Fatalf("a second flush gave %+v", again)
		}
		y := r.Tally()
		var sum uint64
		for _, c := range y.Counts() {
			sum += c.N
		}
		if y.Lines != n || sum != y.Sentences+y.BadChecksum {
			t.Fatalf("%d lines, %d counted; %d sentences in counters, %d good, %d bad", n, y.Lines, sum, y.Sentences, y.BadChecksum)
		}
	})
}
