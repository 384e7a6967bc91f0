package nmea

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

// What real receivers were seen to do, a few lines each, quoted from the
// recorded logs named (gpsd's regression logs, BSD 2-Clause; the last from
// NmeaParser, Apache-2.0).
func TestQuirks(t *testing.T) {
	t.Parallel()
	type want struct {
		at      string // time of each fix
		quality Quality
		lat     float64 // of the last fix
		has     Has     // of the last fix
	}
	const accuracy = HasAltitude | HasHDOP | HasSatellites
	const motion = HasSpeed | HasCourse
	for _, tc := range []struct {
		name, log string
		want      want
	}{
		{"two GGA, two RMC and a GNS an epoch, CR CR LF (cr-cr-lf-two-gga)",
			"$GPGGA,043539.00,4333.190206,N,00127.618380,E,1,05,1.3,250.8,M,50.0,M,,*62\r\r\n" +
				"$GAGGA,043539.00,4333.190206,N,00127.618380,E,1,01,1.3,250.8,M,50.0,M,,*77\r\r\n" +
				"$GNGNS,043539.00,4333.190206,N,00127.618380,E,AAAAN,14,1.3,250.8,50.0,,,V*62\r\r\n" +
				"$GPVTG,,T,1.7,M,0.0,N,0.0,K,A*0B\r\r\n" +
				"$GPRMC,043539.00,A,4333.190206,N,00127.618380,E,0.0,,040925,1.7,W,A,V*7C\r\r\n" +
				"$GARMC,043539.00,A,4333.190206,N,00127.618380,E,0.0,,040925,1.7,W,A,V*6D\r\r\n",
			want{"2025-09-04T04:35:39Z", QualityAutonomous, 43.5531701, accuracy | HasSpeed | HasDate}},
		{"two dollars (double-dollar)",
			"$$GNRMC,135806.000,A,4723.00484,N,00045.88150,E,0.5,120.9,210325,,,A,C*11\n" +
				"$$GNGGA,135806.000,4723.00484,N,00045.88150,E,1,13,1.7,063.64,M,48.3,M,,*78\n" +
				"$$GNGST,135806.000,6.1,4.0,4.0,61.0,4.6,4.4,4.8*4E\n",
			want{"2025-03-21T13:58:06Z", QualityAutonomous, 47.383414, accuracy | motion | HasDeviation | HasDate}},
		{"GGA with a wrong checksum, RMC without a mode, zone +00 (bad-checksum-gga)",
			"$GPGGA,005947.00,3715.6616,N,12157.6709,W,,11,0.8,86.0,M,-30.1,M,,*54\r\n" +
				"$GPRMC,005947.00,A,3715.6616,N,12157.6709,W,0.0,0.0,080710,,*2F\r\n" +
				"$GPZDA,005947.00,08,07,2010,+00,00*4E\r\n",
			want{"2010-07-08T00:59:47Z", QualityUnknown, 37.261026667, motion | HasDate}},
		{"a placeholder, then a position of quality 0, then one (placeholder-position)",
			"$GPGGA,071733.929,8960.0000,N,00000.0000,E,0,0,,137.0,M,13.0,M,,*40\n" +
				"$GPRMC,071733.929,V,8960.0000,N,00000.0000,E,0.00,0.00,111111,,,N*72\n" +
				"$GPGGA,071734.929,4404.1178,N,12118.8608,W,0,4,,1127.8,M,-19.6,M,,*49\n" +
				"$GPRMC,071734.929,V,4404.1178,N,12118.8608,W,0.10,0.00,111111,,,N*67\n" +
				"$GPGGA,071736.000,4404.1316,N,12118.8445,W,1,4,5.21,1134.4,M,-19.6,M,,*5F\n",
			want{"2011-11-11T07:17:36Z", QualityAutonomous, 44.06886, accuracy | HasDate}},
		{"a GGA one field short, 130711 and 130711.00 in one epoch, AIS between (ais-and-heading-mix)",
			"!AIVDO,1,1,,B,13`kvwO005wJnb0Lfo:@7P8F05`L,0*5B\n" +
				"$GPZDA,130711,01,06,2011,01,00*49\n" +
				"$GPGLL,5012.790800,N,00806.879600,W,130711,A,D*5B\n" +
				"$GPGGA,130711,5012.790800,N,00806.879600,W,2,,,,,,,*6A\n" +
				"$GPVTG,3.0,T,,,0.50,N,,,D*16\n" +
				"$GPRMC,130711.00,A,5012.790800,N,00806.879600,W,0.5,3.0,010611,,A*6A\n" +
				"$GPDTM,W84,C*52\n" +
				"$HEHDT,4.0,T*2B\n",
			want{"2011-06-01T13:07:11Z", QualityDGNSS, 50.21318, motion | HasHeading | HasDate}},
		{"talkers change, 8 decimals, more than 82 characters (rtk-10hz-gga-rmc)",
			"$GNGGA,132820.50,4134.49819100,N,09345.03363938,W,2,10,0.9,278.071,M,-31.442,M,7.4,0133*6C\r\n" +
				"$GNRMC,132820.50,A,4134.49819100,N,09345.03363938,W,2.973,94.772,180320,11.5985,E,D*08\r\n" +
				"$GPGGA,132820.60,4134.49821229,N,09345.03351845,W,2,09,1.0,278.020,M,-31.442,M,7.6,0133*7E\r\n" +
				"$GPRMC,132820.60,A,4134.49821229,N,09345.03351845,W,3.252,92.308,180320,11.5985,E,D*1A\r\n",
			want{"2020-03-18T13:28:20.5Z 2020-03-18T13:28:20.6Z", QualityDGNSS, 41.5749702048, accuracy | motion | HasCorrection | HasDate}},
		{"float by GGA and RMC, differential by GLL and VTG; THS and HDT (dual-antenna-ths-hdt)",
			"$GPGGA,003832.000,4404.1271062,N,12118.8438377,W,5,14,0.8,1127.630,M,-20.300,M,1.000,0000*74\r\n" +
				"$GNGLL,4404.1271062,N,12118.8438377,W,003832.000,A,D*50\r\n" +
				"$GNRMC,003832.000,A,4404.1271062,N,12118.8438377,W,000.0,171.0,290322,,,F,V*10\r\n" +
				"$GNVTG,171.0,T,,M,000.0,N,000.0,K,D*11\r\n" +
				"$GNZDA,003832.000,29,03,2022,00,00*48\r\n" +
				"$GNTHS,244.28,A*11\r\n" +
				"$GNHDT,244.28,T*13\r\n",
			want{"2022-03-29T00:38:32Z", QualityFloat, 44.0687851033, accuracy | motion | HasHeading | HasCorrection | HasDate}},
		{"position by GNS, date by a ZDA without a zone (gns-without-rmc)",
			"$GNZDA,213712.000,12,02,2026,,*4B\n" +
				"$GNGNS,213712.000,4111.59903,N,11156.54809,W,AANN,13,0.93,01482.5,-016.5,,*52\n" +
				"$GNVTG,000.0,T,348.3,M,000.0,N,000.1,K,A*30\n" +
				"$PTNLRBA,1,0*56\n",
			want{"2026-02-12T21:37:12Z", QualityAutonomous, 41.1933171667, accuracy | motion | HasDate}},
		{"status V with a position, then A; south and east (south-east-cold-start)",
			"$GPRMC,095255.810,V,2712.6404,S,15303.1201,E,0.00,0.00,080407,,,A*6E\n" +
				"$GPGGA,095257.809,2712.6404,S,15303.1201,E,0,00,00.0,4.0,M,42.2,M,,*7B\n" +
				"$GPGGA,095304.802,2712.6520,S,15303.1397,E,1,00,17.0,3.0,M,42.2,M,,*7E\n" +
				"$GPRMC,095304.802,A,2712.6520,S,15303.1397,E,0.00,133.96,080407,,,A*78\n",
			want{"2007-04-08T09:53:04.802Z", QualityAutonomous, -27.2108666667, accuracy | motion | HasDate}},
		{"estimated under cover (estimated-then-lost)",
			"$GPRMC,165009.000,A,4143.6058,N,08338.0787,W,0.60,231.03,180710,,,A*7C\r\n" +
				"$GPGGA,165010.000,4143.6057,N,08338.0788,W,6,00,50.0,203.8,M,-33.7,M,,0000*5D\r\n",
			want{"2010-07-18T16:50:09Z 2010-07-18T16:50:10Z", QualityEstimated, 41.7267616667, accuracy | HasDate}},
		{"no time but from ZDA, then a position (heading-cold-start-2hz)",
			"$GPHDT,,T*1B\n$GPGGA,,,,,,0,,,,M,,M,,*66\n$GPVTG,,T,,M,,N,,K,N*2C\n" +
				"$GPZDA,193913.00,07,09,2018,00,00*63\n$GPHDT,,T*1B\n" +
				"$GPGGA,194050.00,4221.8237733,N,07101.9411707,W,1,00,3.3,10.835,M,-33.320,M,,*62\n",
			want{"2018-09-07T19:40:50Z", QualityAutonomous, 42.363729555, accuracy | HasDate}},
		{"binary before a sentence, no line end between (nmea-with-binary-interleaved)",
			"$GNRMC,071551.000,A,4739.71754,N,12219.58177,W,0.00,286.35,060826,,,A,V*13\r\n" +
				"\x03\x00\xba\xce,\x00\x01\x00$$\n\r\x0e5\x01\xf2\xdd=($GNGLL,4739.71755,N,12219.58177,W,071552.000,A,A*5C\r\n",
			want{"2026-08-06T07:15:51Z 2026-08-06T07:15:52Z", QualityAutonomous, 47.6619591667, HasDate}},
		{"variation 999.9000 (machine-2hz-gga-rmc)",
			"$GPRMC,113938.50,A,3842.86006889,N,11705.43645510,W,0.011,46.405,231122,999.9000,E,D*2E\n",
			want{"2022-11-23T11:39:38.5Z", QualityDGNSS, 38.7143344815, motion | HasDate}},
		{"a banner, a comment that quotes a sentence, whole seconds (drive-across-midnight)",
			"************ program startup 16:40:33 09-25-2005 ************\n\n" +
				"# first: $GPRMC,235234,A,3925.9702,N,11945.9354,W,45.1,153.1,250905,15.2,E,A*01\n" +
				"$GPGGA,235234,3925.9702,N,11945.9354,W,1,10,0.8,1378.6,M,-22.1,M,,*4D\n",
			want{"2005-09-25T23:52:34Z", QualityAutonomous, 39.4328366667, accuracy | motion | HasDate}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			fixes, tally := play([]byte(tc.log))
			var times []string
			for _, f := range fixes {
				times = append(times, f.Time.Format(time.RFC3339Nano))
			}
			if got := strings.Join(times, " "); got != tc.want.at || len(fixes) == 0 {
				t.Fatalf("got fixes at %q, want %q", got, tc.want.at)
			}
			f := fixes[len(fixes)-1]
			if d := f.LatDeg - tc.want.lat; f.Quality != tc.want.quality || d > 1e-9 || d < -1e-9 || f.Has != tc.want.has {
				t.Errorf("got %+v\nwant quality %v, latitude %v, has %b", f, tc.want.quality, tc.want.lat, tc.want.has)
			}
			for _, c := range tally.Counts() {
				if c.Result == ResultUnreadable {
					t.Errorf("%d %s could not be read", c.N, c.Formatter)
				}
			}
		})
	}
}

// Times that run back or stand still are handed on, one fix an epoch; a later
// stage judges them (cold-start-odd-fractions: the second fix is 0.302 s before
// the first).
func TestTimesAreNotJudged(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name string
		tods []string
		want string
	}{
		{"a little back", []string{"105153.710", "105153.408", "105154.408"}, "53.71 53.408 54.408"},
		{"far back", []string{"105153", "105154", "105155", "095153", "095154"}, "53 54 55 53 54"},
		{"the same again is the same epoch", []string{"105153", "105153", "105154"}, "53 54"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			var r Reader
			script := ""
			for i, tod := range tc.tods {
				script += fmt.Sprintf("%d %s\n", 1000*i, gga(tod, 1, 1))
			}
			fixes, _ := feed(&r, script)
			var got []string
			for _, f := range fixes {
				got = append(got, f.Time.Format("5.999"))
			}
			if s := strings.Join(got, " "); s != tc.want {
				t.Errorf("%q: got %q, want %q", tc.tods, s, tc.want)
			}
		})
	}
}

// A log cut at any byte gives the fixes of its whole lines; the cut line adds
// nothing unless only its line end is missing.
func TestCutAnywhere(t *testing.T) {
	t.Parallel()
	cut := func(t *testing.T, log []byte, step int) {
		for n := 0; n <= len(log); n += step {
			whole := slices.Clone(log[:n])
			if i := strings.LastIndexByte(string(whole), '\n'); i >= 0 {
				whole = whole[:i+1]
			} else {
				whole = nil
			}
			if rest := found(string(log[len(whole):n])); len(rest) > 0 {
				continue
			}
			got, gotTally := play(log[:n])
			want, wantTally := play(whole)
			if !slices.Equal(got, want) || gotTally.Sentences != wantTally.Sentences || gotTally.BadChecksum != wantTally.BadChecksum {
				t.Fatalf("cut at byte %d: got %d fixes, %d sentences, want %d, %d", n, len(got), gotTally.Sentences, len(want), wantTally.Sentences)
			}
		}
	}
	t.Run("made", func(t *testing.T) {
		t.Parallel()
		cut(t, tenHertz(12), 1)
	})
	t.Run("machine-2hz-gga-rmc", func(t *testing.T) {
		t.Parallel()
		cut(t, readLog(t, "machine-2hz-gga-rmc.nmea"), 7)
	})
}

// However the bytes of a log are chopped, the fixes and the counts are the same.
func TestChoppedLog(t *testing.T) {
	t.Parallel()
	log := append([]byte("\x00$\xff!\r\r\n"), tenHertz(40)...)
	want, wantTally := play(log)
	for size := 1; size < 200; size += 6 {
		var (
			s     Splitter
			r     Reader
			clock LogClock
			got   []Fix
		)
		line := func(line []byte) {
			at, ok := clock.Line(line)
			if !ok {
				at = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
			}
			got = append(got, r.Line(at, line)...)
		}
		for chunk := range slices.Chunk(log, size) {
			s.Push(chunk, line)
		}
		s.Flush(line)
		got = append(got, r.Flush()...)
		if !slices.Equal(got, want) || fmt.Sprint(r.Tally().Counts()) != fmt.Sprint(wantTally.Counts()) {
			t.Fatalf("chunks of %d bytes: got %d fixes, want %d", size, len(got), len(want))
		}
	}
}
