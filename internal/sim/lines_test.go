package sim

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"drawbar/coverage/plane"

	"github.com/adrianmo/go-nmea"
)

// arrival is one line as a test keeps it.
type arrival struct {
	at     time.Time
	stream string
	line   string
}

func record(t testing.TB, sc Scenario) ([]arrival, *Truth) {
	t.Helper()
	var out []arrival
	tr, err := Run(sc, func(at time.Time, stream string, line []byte) error {
		if bytes.ContainsAny(line, "\r\n") {
			t.Fatalf("line end inside %q", line)
		}
		out = append(out, arrival{at, stream, string(line)})
		return nil
	})
	if err != nil {
		t.Fatalf("run: %v", err)
	}
	return out, tr
}

func TestSameSeedSameLines(t *testing.T) {
	t.Parallel()
	sum := func(sc Scenario) [32]byte {
		h := sha256.New()
		if _, err := Run(sc, func(at time.Time, stream string, line []byte) error {
			fmt.Fprintf(h, "%s %s %s\n", at.Format(time.RFC3339Nano), stream, line)
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		return [32]byte(h.Sum(nil))
	}
	for _, c := range []struct {
		name string
		make func(uint64) Scenario
	}{{"demo", Demo}, {"meadow", Meadow}, {"random", RandomField}} {
		a, b, other := sum(c.make(5)), sum(c.make(5)), sum(c.make(6))
		if a != b {
			t.Errorf("%s: seed 5 gives two different sessions", c.name)
		}
		if a == other {
			t.Errorf("%s: seeds 5 and 6 give the same session", c.name)
		}
	}
}

// TestPositions: every sentence is read by go-nmea, its position put back on
// the plane and compared with the path. Eight decimals of a minute are 0.02 mm.
func TestPositions(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(3, 150, 12, 11)
	sc.Field.TurnDeg, sc.Drive.HeadingDeg = 30, 60
	sc.Field.LonDeg = -0.0005 // the field lies on both sides of the meridian
	sc.Receiver.HZ = 10
	sc.Receiver.Sentences = []Sentence{
		{Formatter: "GGA"}, {Formatter: "RMC"}, {Formatter: "VTG"}, {Formatter: "ZDA", Every: 10}, {Formatter: "GNS"},
		{Formatter: "GLL"}, {Formatter: "HDT"}, {Formatter: "THS"},
	}
	pl, err := NewPlan(&sc)
	if err != nil {
		t.Fatal(err)
	}
	m := newMotion(pl, sc.Drive, sc.maxLagS()+2)
	k := seeker{m: m}
	proj := plane.New(sc.Field.LatDeg, sc.Field.LonDeg)
	lines, tr := record(t, sc)
	count := map[string]int{}
	west, east := 0, 0
	now := 0.0
	for _, l := range lines {
		if l.stream != StreamGNSS {
			continue
		}
		s, err := nmea.Parse(l.line)
		if err != nil {
			t.Fatalf("%s: %v", l.line, err)
		}
		count[s.DataType()]++
		place := func(lat, lon float64) {
			x, y, ok := proj.Forward(lat, lon)
			at, _, _ := k.truePose(now)
			if d := math.Hypot(x-at.X, y-at.Y); !ok || d > 1e-4 {
				t.Fatalf("%s: %.6f m off the path", l.line, d)
			}
			if lon < 0 {
				west++
			} else {
				east++
			}
		}
		_, nose, v := k.truePose(now)
		course := math.Mod(450-nose*180/math.Pi, 360)
		heading := func(what string, deg, tol float64) {
			if d := math.Remainder(deg-course, 360); math.Abs(d) > tol {
				t.Fatalf("%s: %s %.4f, path has %.4f on the grid", l.line, what, deg, course)
			}
		}
		switch s := s.(type) {
		case nmea.GGA:
			now = float64(s.Time.Hour*3600+s.Time.Minute*60+s.Time.Second) + float64(s.Time.Millisecond)/1000 - (13*3600 + 5*60 + 10)
			place(s.Latitude, s.Longitude)
			if s.FixQuality != "4" {
				t.Fatalf("%s: quality %s, want 4", l.line, s.FixQuality)
			}
		case nmea.RMC:
			place(s.Latitude, s.Longitude)
			if s.Date.DD != 14 || s.Date.MM != 5 || s.Date.YY != 26 {
				t.Fatalf("%s: date %v", l.line, s.Date)
			}
			near(t, "speed by RMC", s.Speed*1852/3600, math.Max(v, 1e-9), 1e-3+3e-4/math.Max(v, 1e-9))
		case nmea.GNS:
			place(s.Latitude, s.Longitude)
		case nmea.GLL:
			place(s.Latitude, s.Longitude)
		case nmea.VTG:
			near(t, "km/h by VTG", s.GroundSpeedKPH, math.Max(v*3.6, 1e-9), 1e-3+6e-4/math.Max(v*3.6, 1e-9))
			if v > standstillMPS {
				heading("course", s.TrueTrack, 0.02)
			}
		case nmea.HDT:
			heading("heading", s.Heading, 0.02)
		case nmea.THS:
			heading("heading", s.Heading, 0.02)
		}
	}
	if count["GGA"] != tr.GNSS.Epochs || count["HDT"] != tr.GNSS.Epochs || count["ZDA"] != (tr.GNSS.Epochs+9)/10 {
		t.Errorf("%v of %d epochs", count, tr.GNSS.Epochs)
	}
	if west == 0 || east == 0 {
		t.Errorf("%d positions west of the meridian, %d east: the field should lie on both sides", west, east)
	}
}

// report is one controller line as the small reader of this test sees it.
type report struct {
	at       time.Time
	sections string
	work     string
	value    map[string]float64
}

// readReport is written from the format alone: key=value with blanks between,
// exclusive or of all that stands before the *.
func readReport(l arrival) (report, bool) {
	star := strings.LastIndexByte(l.line, '*')
	if star < 0 {
		return report{}, false
	}
	sum := byte(0)
	for i := range star {
		sum ^= l.line[i]
	}
	if fmt.Sprintf("%02X", sum) != l.line[star+1:] {
		return report{}, false
	}
	r := report{at: l.at, value: map[string]float64{}}
	for _, pair := range strings.Fields(l.line[:star]) {
		key, v, ok := strings.Cut(pair, "=")
		if !ok {
			return report{}, false
		}
		switch key {
		case "sections":
			r.sections = v
		case "work":
			r.work = v
		default:
			n, err := strconv.ParseFloat(strings.TrimRight(v, "abcdefghijklmnopqrstuvwxyz/"), 64)
			if err != nil {
				return report{}, false
			}
			r.value[key] = n
		}
	}
	return r, true
}

func reports(t *testing.T, lines []arrival) []report {
	t.Helper()
	var out []report
	for _, l := range lines {
		if l.stream != StreamController {
			continue
		}
		r, ok := readReport(l)
		if !ok {
			t.Fatalf("controller line %q", l.line)
		}
		out = append(out, r)
	}
	return out
}

// TestReports puts the reported sections on the ground one lag later: they are
// the true switchings, to the microsecond. Rate times gross between reports
// gives the amount; work stays on until the last tank's meter stands.
func TestReports(t *testing.T) {
	t.Parallel()
	sc := Demo(2)
	sc.Machine = Machine{HZ: 2, OnChange: true}
	lines, tr := record(t, sc)
	all := reports(t, lines)
	const lag = 4
	last := strings.Repeat("0", 4)
	i := 0
	for _, r := range all {
		for s := range last {
			if r.sections[s] == last[s] {
				continue
			}
			want := tr.Switches[i]
			i++
			if d := r.at.Add(lag * time.Second).Sub(want.At); d.Abs() > time.Microsecond || want.Section != s || want.On != (r.sections[s] == '1') {
				t.Fatalf("report %v sections %s: truth has %+v", r.at, r.sections, want)
			}
		}
		last = r.sections
		on := strings.Contains(r.sections, "1") || r.value["tank.1.rate"] > 0 || r.value["tank.2.rate"] > 0
		if (r.work == "1") != on {
			t.Fatalf("report %v: work=%s sections=%s rates %v", r.at, r.work, r.sections, r.value)
		}
	}
	if i != len(tr.Switches) {
		t.Errorf("%d switchings reported, truth has %d", i, len(tr.Switches))
	}
	for n, tank := range []string{"tank.1", "tank.2"} {
		total, level := 0.0, 3800-1400*float64(n)
		for _, r := range all {
			if v := r.value[tank+".total"]; v < total {
				t.Fatalf("%s total goes back from %g to %g", tank, total, v)
			} else {
				total = v
			}
			if got := r.value[tank+".level"]; math.Abs(got+total-level) > 0.11 {
				t.Fatalf("%s holds %g after %g of %g", tank, got, total, level)
			}
		}
		if math.Abs(total-tr.Tanks[n].Applied) > 0.06 {
			t.Errorf("%s ends at %g, truth %g", tank, total, tr.Tanks[n].Applied)
		}
	}
}

// TestRefills: with a tank that holds 2.6 passes the tractor stops and fills.
func TestRefills(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(6, 200, 12, 12)
	sc.Tanks[0].Capacity.SI = 70 // kg; a pass takes 26.88
	sc.Drive.RefillS = 60
	lines, tr := record(t, sc)
	if tr.Refills != 3 {
		t.Errorf("%d refills, want one after every second pass", tr.Refills)
	}
	ups, before := 0, 70.0
	for _, r := range reports(t, lines) {
		level := r.value["tank.1.level"]
		if level <= 0 {
			t.Fatalf("tank empty at %v", r.at)
		}
		if level > before+0.5 {
			ups++
		}
		before = level
	}
	if ups != tr.Refills {
		t.Errorf("level rose %d times, %d refills", ups, tr.Refills)
	}
}

func TestOneTankALine(t *testing.T) {
	t.Parallel()
	sc := ParallelPasses(1, 100, 12, 12)
	second := sc.Tanks[0]
	second.Number = 2
	sc.Tanks = append(sc.Tanks, second)
	sc.Machine.OneTankALine = true
	lines, _ := record(t, sc)
	one, two := 0, 0
	for _, r := range reports(t, lines) {
		_, a := r.value["tank.1.rate"]
		_, b := r.value["tank.2.rate"]
		if a == b {
			t.Fatalf("line with tanks 1 %v and 2 %v", a, b)
		}
		if a {
			one++
		} else {
			two++
		}
	}
	if one == 0 || one != two {
		t.Errorf("%d lines of tank 1, %d of tank 2", one, two)
	}
}
