package nmea

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// The recorded logs are real receiver output: 16 from the regression folder of
// the general GNSS daemon gpsd (GitHub ntpsec/gpsd, test/daemon) and one drive
// from GitHub dotMorten/NmeaParser. They lie outside the repository.
var logNames = []string{
	"ais-and-heading-mix", "bad-checksum-gga", "cold-start-odd-fractions", "cr-cr-lf-two-gga",
	"double-dollar", "drive-across-midnight", "dual-antenna-ths-hdt", "estimated-then-lost",
	"gns-without-rmc", "heading-cold-start-2hz", "machine-2hz-gga-rmc", "multi-constellation-1hz",
	"multi-constellation-5hz", "nmea-with-binary-interleaved", "placeholder-position",
	"rtk-10hz-gga-rmc", "south-east-cold-start",
}

// readLog returns a file of the recorded logs, or skips where they are absent:
// DRAWBAR_DATA names their folder, else shared/data beside the module.
func readLog(tb testing.TB, name string) []byte {
	tb.Helper()
	folder := os.Getenv("DRAWBAR_DATA")
	if folder == "" {
		root, err := os.Getwd()
		if err != nil {
			tb.Fatal(err)
		}
		for {
			if _, err := os.Stat(filepath.Join(root, "go.mod")); err == nil {
				break
			}
			if filepath.Dir(root) == root {
				tb.Fatal("no go.mod above the package folder")
			}
			root = filepath.Dir(root)
		}
		folder = filepath.Join(root, "..", "shared", "data")
	}
	if _, err := os.Stat(folder); err != nil {
		tb.Skipf("recorded data is absent (%v); set DRAWBAR_DATA to its folder", err)
	}
	b, err := os.ReadFile(filepath.Join(folder, "nmea", name))
	if err != nil {
		tb.Fatal(err)
	}
	return b
}

// play reads a whole log. The arrivals are the log's own times, which is what a
// plain log has; before its first date they are a day in 2000.
func play(log []byte) (fixes []Fix, tally *Tally) {
	var (
		s     Splitter
		r     Reader
		clock LogClock
	)
	line := func(line []byte) {
		at, ok := clock.Line(line)
		if !ok {
			at = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
		}
		fixes = append(fixes, r.Line(at, line)...)
	}
	s.Push(log, line)
	s.Flush(line)
	return append(fixes, r.Flush()...), r.Tally()
}

// counts.json was made by the rule in the README of the recorded data: from the
// last '$' or '!' of a line to its end, carriage returns removed. A reader that
// works on the stream may find more; on these logs it finds the same.
func TestLogCounts(t *testing.T) {
	t.Parallel()
	type counts struct {
		Lines       uint64            `json:"lines"`
		Sentences   uint64            `json:"sentences_valid"`
		BadChecksum uint64            `json:"sentences_bad_checksum"`
		Formatters  map[string]uint64 `json:"formatters"`
	}
	var all map[string]counts
	if err := json.Unmarshal(readLog(t, "counts.json"), &all); err != nil {
		t.Fatal(err)
	}
	if len(all) != len(logNames) {
		t.Errorf("counts.json has %d logs, want %d", len(all), len(logNames))
	}
	for _, name := range logNames {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			want := all[name+".nmea"]
			_, tally := play(readLog(t, name+".nmea"))
			got := counts{tally.Lines, tally.Sentences, tally.BadChecksum, map[string]uint64{}}
			for _, c := range tally.Counts() {
				if c.Result != ResultBadChecksum {
					got.Formatters[c.Formatter] += c.N
				}
				if c.Result == ResultUnreadable {
					t.Errorf("%d %s cannot be read, want 0: every sentence of this log is sound", c.N, c.Formatter)
				}
			}
			if fmt.Sprint(got) != fmt.Sprint(want) {
				t.Errorf("got  %v\nwant %v", got, want)
			}
		})
	}
}

// tpv is a position report of the daemon's own regression output.
type tpv struct {
	Class string   `json:"class"`
	Time  string   `json:"time"`
	Lat   *float64 `json:"lat"`
	Lon   *float64 `json:"lon"`
	Mode  int      `json:"mode"`
}

func readExpected(t *testing.T, name string) []tpv {
	t.Helper()
	var all []tpv
	for line := range bytes.Lines(readLog(t, name+".nmea.expected")) {
		var v tpv
		if json.Unmarshal(line, &v) == nil && v.Class == "TPV" && v.Lat != nil && v.Lon != nil && v.Time != "" {
			all = append(all, v)
		}
	}
	return all
}

// onlyOurs are the fixes for which the daemon has no position with that time,
// and why they are fixes all the same: the receiver states a quality above 0.
var onlyOurs = map[string]struct {
	times []string
	why   string
}{
	"estimated-then-lost":     {[]string{"16:50:10.000"}, "quality 6: the daemon reports no position for an estimated one"},
	"multi-constellation-5hz": {[]string{"05:53:04.000"}, "the log ends within this epoch, before the daemon reports it"},
	"placeholder-position":    {[]string{"07:17:36.000"}, "the first valid epoch: the daemon reports it without a time"},
	"south-east-cold-start":   {[]string{"09:53:04.802"}, "the first valid epoch: the daemon reports it without a time"},
	"heading-cold-start-2hz": {[]string{
		"19:40:50.000", "19:40:50.500", "19:40:51.000", "19:40:51.500", "19:40:52.000", "19:40:52.500", "19:40:53.000", "19:40:53.500",
		"19:40:54.000", "19:40:54.500", "19:40:55.000", "19:40:55.500", "19:40:56.000", "19:40:56.500", "19:40:57.000",
	}, "quality 1 with 0 satellites in use: the daemon does not believe it"},
}

// otherPositions are the logs in which the daemon also reads positions that are
// not in sentences that are used here.
var otherPositions = map[string]string{
	"nmea-with-binary-interleaved": "one position an epoch from the binary protocol",
	"gns-without-rmc":              "a rounded position from a proprietary sentence, twice",
}

// The daemon is independent of this package. Both read the same text, so only
// its nine printed decimals separate them; 1e-8 degrees is 1 mm.
func TestLogPositions(t *testing.T) {
	t.Parallel()
	for _, name := range logNames {
		if name == "drive-across-midnight" {
			continue // comes from elsewhere, without an expected output
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			fixes, _ := play(readLog(t, name+".nmea"))
			ours := map[string]Fix{}
			for _, f := range fixes {
				at := f.Time.Format("2006-01-02T15:04:05.000Z")
				if _, twice := ours[at]; twice {
					t.Errorf("two fixes at %s, want one an epoch", at)
				}
				ours[at] = f
			}
			agreed := map[string]bool{}
			for _, v := range readExpected(t, name) {
				f, ok := ours[v.Time]
				switch {
				case !ok:
					t.Errorf("no fix at %s, where the daemon has %.9f %.9f", v.Time, *v.Lat, *v.Lon)
				case math.Abs(f.LatDeg-*v.Lat) <= 1e-8 && math.Abs(f.LonDeg-*v.Lon) <= 1e-8:
					agreed[v.Time] = true
				case otherPositions[name] == "":
					t.Errorf("%s: got %.9f %.9f, the daemon has %.9f %.9f", v.Time, f.LatDeg, f.LonDeg, *v.Lat, *v.Lon)
				}
			}
			var only []string
			for _, f := range fixes {
				if !agreed[f.Time.Format("2006-01-02T15:04:05.000Z")] {
					only = append(only, f.Time.Format("15:04:05.000"))
				}
			}
			if want := onlyOurs[name]; !slices.Equal(only, want.times) {
				t.Errorf("fixes that the daemon does not have:\ngot  %v\nwant %v (%s)", only, want.times, want.why)
			}
			if len(agreed) < 6 {
				t.Errorf("only %d positions agree, want at least 6: the comparison is empty", len(agreed))
			}
		})
	}
}

// The README of the recorded data: 25 minutes of driving from 23:52:34 on
// 25 September 2005 to 00:17:32 on the 26th, an epoch every 2 s, RMC first.
func TestDriveAcrossMidnight(t *testing.T) {
	t.Parallel()
	fixes, _ := play(readLog(t, "drive-across-midnight.nmea"))
	if len(fixes) != 750 {
		t.Fatalf("got %d fixes, want 750", len(fixes))
	}
	at := time.Date(2005, 9, 25, 23, 52, 34, 0, time.UTC)
	for i, f := range fixes {
		if !f.Time.Equal(at) {
			t.Fatalf("fix %d: got %v, want %v", i, f.Time, at)
		}
		at = at.Add(2 * time.Second)
	}
}

// What the README of the recorded data says about quality, heading and the
// like, counted in the fixes.
func TestLogContents(t *testing.T) {
	t.Parallel()
	count := func(fixes []Fix, is func(*Fix) bool) (n int) {
		for i := range fixes {
			if is(&fixes[i]) {
				n++
			}
		}
		return n
	}
	quality := func(q Quality) func(*Fix) bool { return func(f *Fix) bool { return f.Quality == q } }
	has := func(h Has) func(*Fix) bool { return func(f *Fix) bool { return f.Has&h == h } }
	for _, tc := range []struct {
		log  string
		what string
		is   func(*Fix) bool
		want int
	}{
		{"rtk-10hz-gga-rmc", "quality 2", quality(QualityDGNSS), 104},
		{"rtk-10hz-gga-rmc", "quality 4", quality(QualityRTK), 18},
		{"dual-antenna-ths-hdt", "quality 5", quality(QualityFloat), 9},
		{"dual-antenna-ths-hdt", "measured heading", has(HasHeading), 9},
		{"heading-cold-start-2hz", "measured heading, the last four", has(HasHeading), 4},
		{"bad-checksum-gga", "RMC without a mode, GGA damaged", quality(QualityUnknown), 23},
		{"bad-checksum-gga", "altitude, which only GGA has", has(HasAltitude), 0},
		{"machine-2hz-gga-rmc", "quality 2", quality(QualityDGNSS), 40},
		{"ais-and-heading-mix", "satellites, HDOP or altitude, all empty", func(f *Fix) bool { return f.Has&(HasSatellites|HasHDOP|HasAltitude) != 0 }, 0},
		{"ais-and-heading-mix", "compass heading", has(HasHeading), 12},
		{"estimated-then-lost", "quality 6", quality(QualityEstimated), 1},
		{"multi-constellation-1hz", "course, empty while standing", has(HasCourse), 0},
		{"multi-constellation-1hz", "deviation from GST", has(HasDeviation), 61},
		{"gns-without-rmc", "a date, from ZDA alone", has(HasDate), 71},
		{"south-east-cold-start", "south and east", func(f *Fix) bool { return f.LatDeg < -27 && f.LonDeg > 153 }, 68},
	} {
		t.Run(tc.log+"/"+tc.what, func(t *testing.T) {
			t.Parallel()
			fixes, _ := play(readLog(t, tc.log+".nmea"))
			if got := count(fixes, tc.is); got != tc.want {
				t.Errorf("got %d of %d fixes, want %d", got, len(fixes), tc.want)
			}
		})
	}
}
