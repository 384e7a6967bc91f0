package nmea

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

var session = time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)

// feed reads a script: one sentence body a line, before it the arrival in ms
// after session. It returns the fixes, each with the number of the line that
// completed it, from 1; 0 for the flush.
func feed(r *Reader, script string) (fixes []Fix, lines []int) {
	n := 0
	for _, line := range strings.Split(strings.TrimSpace(script), "\n") {
		n++
		ms, body, _ := strings.Cut(strings.TrimSpace(line), " ")
		var arrival int
		if _, err := fmt.Sscan(ms, &arrival); err != nil {
			panic(fmt.Sprintf("line %d of the script: %v", n, err))
		}
		body = strings.TrimSpace(body)
		text := body
		if !strings.ContainsAny(body, "*$") {
			text = sealed(body)
		}
		for _, f := range r.Line(session.Add(time.Duration(arrival)*time.Millisecond), []byte(text)) {
			fixes, lines = append(fixes, f), append(lines, n)
		}
	}
	for _, f := range r.Flush() {
		fixes, lines = append(fixes, f), append(lines, 0)
	}
	return fixes, lines
}

// gga, rmc and gll are bodies at a time of day and a latitude in minutes north
// of 53 degrees, by which the chosen sentence is known.
func gga(tod string, minutes float64, quality int) string {
	return fmt.Sprintf("GPGGA,%s,53%07.4f,N,00004.0000,W,%d,08,0.9,30.0,M,47.0,M,,", tod, minutes, quality)
}

func rmc(tod string, minutes float64, mode string) string {
	return fmt.Sprintf("GPRMC,%s,A,53%07.4f,N,00004.0000,W,4.0,90.0,140526,,,%s", tod, minutes, mode)
}

func gll(tod string, minutes float64, mode string) string {
	return fmt.Sprintf("GPGLL,53%07.4f,N,00004.0000,W,%s,A,%s", minutes, tod, mode)
}

func minutesOf(f Fix) int { return int((f.LatDeg-53)*60 + 0.5) }

// The best position of an epoch counts once: by quality, then GGA, GNS, RMC,
// GLL, then the first.
func TestBestPosition(t *testing.T) {
	t.Parallel()
	const at = "130510.00"
	gns := "GNGNS,130510.00,5304.0000,N,00004.0000,W,AN,10,0.8,30.0,47.0,,"
	for _, tc := range []struct {
		name      string
		sentences []string
		minutes   int
		quality   Quality
	}{
		{"quality before kind", []string{gga(at, 1, 1), rmc(at, 2, "R")}, 2, QualityRTK},
		{"tie: GGA", []string{gll(at, 3, "A"), rmc(at, 2, "A"), gns, gga(at, 1, 1)}, 1, QualityAutonomous},
		{"tie: GNS before RMC", []string{gll(at, 3, "A"), rmc(at, 2, "A"), gns}, 4, QualityAutonomous},
		{"tie: the first", []string{gga(at, 1, 2), strings.Replace(gga(at, 2, 2), "GP", "GA", 1)}, 1, QualityDGNSS},
		{"void GGA, valid GLL", []string{gga(at, 1, 0), gll(at, 3, "D")}, 3, QualityDGNSS},
		{"unknown ranks below autonomous", []string{rmc(at, 2, ""), gll(at, 3, "A")}, 3, QualityAutonomous},
		{"unknown ranks above estimated", []string{gga(at, 1, 6), gll(at, 3, "")}, 3, QualityUnknown},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			var r Reader
			fixes, _ := feed(&r, "0 "+strings.Join(tc.sentences, "\n1 "))
			if len(fixes) != 1 || minutesOf(fixes[0]) != tc.minutes || fixes[0].Quality != tc.quality {
				t.Errorf("%q:\ngot %+v\nwant one fix at minute %d of quality %v", tc.sentences, fixes, tc.minutes, tc.quality)
			}
		})
	}
}

// All fields of one epoch, the placeholder values among them.
func TestFixOfAnEpoch(t *testing.T) {
	t.Parallel()
	var r Reader
	fixes, _ := feed(&r, `
		0  GPHDT,74.20,T
		5  GPGGA,195959.00,1541.31258893,N,05130.51204125,W,2,06,1.5,9.2,M,-37.6,M,4.0,0138
		10 GPVTG,147.44,T,164.31,M,0.26,N,0.49,K,D
		15 GPZDA,195959.00,14,01,2020,00,00
		20 GPRMC,195959.00,A,1541.31258893,N,05130.51204125,W,0.26,147.44,140120,16.9,W,D
		25 GPGST,195959.00,0.30,0.36,0.26,283.74,0.26,0.36,0.68`)
	knots := 0.26 // a variable: constants would be multiplied exactly
	want := Fix{
		Time: time.Date(2020, 1, 14, 19, 59, 59, 0, time.UTC), Arrival: session,
		LatDeg: 15.688543148833332, LonDeg: -51.50853402083333, SpeedMPS: knots * 1852 / 3600, CourseDeg: 147.44,
		HeadingDeg: 74.2, AltitudeM: 9.2, HDOP: 1.5, CorrectionAgeS: 4, LatDeviationM: 0.26, LonDeviationM: 0.36,
		Quality: QualityDGNSS, Satellites: 6,
		Has: HasSpeed | HasCourse | HasHeading | HasAltitude | HasHDOP | HasSatellites | HasCorrection | HasDeviation | HasDate,
	}
	if len(fixes) != 1 || fixes[0] != want {
		t.Errorf("got %+v\nwant %+v", fixes, want)
	}
}

// 5 Hz, GGA RMC VTG, a ZDA after the VTG once a second, TXT and GSV between and
// behind. The fix comes with the VTG from the fourth epoch on, the ZDA changes
// nothing and is the start of no epoch's time.
func TestNoNeedlessWait(t *testing.T) {
	t.Parallel()
	var script strings.Builder
	var ends []int // line of each VTG
	line := 0
	add := func(ms int, body string) { line++; fmt.Fprintf(&script, "%d %s\n", ms, body) }
	for i := range 40 {
		ms, tod := 200*i, fmt.Sprintf("1305%02d.%d00", 10+i/5, i%5*2)
		add(ms, gga(tod, float64(i), 4))
		add(ms+10, rmc(tod, float64(i), "R"))
		add(ms+12, "GPGSV,1,1,00")
		add(ms+20, "GPVTG,90.0,T,,M,4.0,N,7.4,K,R")
		ends = append(ends, line)
		if i%5 == 0 {
			add(ms+25, fmt.Sprintf("GPZDA,%s,14,05,2026,00,00", tod))
		}
		add(ms+30, "GPTXT,01,01,02,ANTENNA OK")
	}
	var r Reader
	fixes, at := feed(&r, script.String())
	if len(fixes) != 40 {
		t.Fatalf("got %d fixes, want 40", len(fixes))
	}
	early := 0
	for i, f := range fixes {
		if at[i] == ends[i] {
			early++
		} else if i >= 5 {
			t.Errorf("fix %d came with line %d, want %d, its VTG", i, at[i], ends[i])
		}
		if want := session.Add(time.Duration(200*i) * time.Millisecond); !f.Time.Equal(want) || !f.Arrival.Equal(want) {
			t.Errorf("fix %d: got time %v, arrival %v; want both %v", i, f.Time, f.Arrival, want)
		}
	}
	if early < 35 {
		t.Errorf("%d of 40 fixes came with their last sentence, want at least 35", early)
	}
}

// Three epochs teach the pattern, the fourth makes use of it; when the last
// sentence is gone, three more teach the new one. Nothing is lost on the way.
func TestHabitLearnsAnew(t *testing.T) {
	t.Parallel()
	var script strings.Builder
	for i := range 12 {
		tod := fmt.Sprintf("1305%02d", 10+i)
		fmt.Fprintf(&script, "%d %s\n%d %s\n", 1000*i, gga(tod, float64(i), 1), 1000*i+10, rmc(tod, float64(i), "A"))
		if i < 6 {
			fmt.Fprintf(&script, "%d GPGSA,A,3\n%d %s\n", 1000*i+15, 1000*i+20, gll(tod, float64(i), "A"))
		}
	}
	var r Reader
	fixes, lines := feed(&r, script.String())
	// Lines: epochs 0 to 5 have four (GLL is the last), 6 to 11 have two.
	want := []int{5, 9, 13, 16, 20, 24, 27, 29, 31, 32, 34, 36}
	if fmt.Sprint(lines) != fmt.Sprint(want) {
		t.Errorf("fixes came with lines %v, want %v", lines, want)
	}
	for i, f := range fixes {
		if minutesOf(f) != i {
			t.Errorf("fix %d is of epoch %d", i, minutesOf(f))
		}
	}
}

// A position sentence after the fix was handed out makes no second fix. One of a
// new kind, once, changes nothing; one of an epoch before is a repeat.
func TestStraggler(t *testing.T) {
	t.Parallel()
	var script strings.Builder
	line := 0
	add := func(ms int, body string) { line++; fmt.Fprintf(&script, "%d %s\n", ms, body) }
	for i := range 8 {
		tod := fmt.Sprintf("1305%02d", 10+i)
		add(1000*i, gga(tod, float64(i), 1))
		add(1000*i+10, rmc(tod, float64(i), "A"))
		if i == 5 {
			add(1000*i+20, gll(tod, 59, "R"))
		}
	}
	add(8000, gga("130518", 8, 1))
	add(8010, rmc("130517", 59, "R")) // of the epoch before
	add(8020, rmc("130518", 8, "A"))
	var r Reader
	fixes, lines := feed(&r, script.String())
	if len(fixes) != 9 {
		t.Fatalf("got %d fixes, want 9", len(fixes))
	}
	for i, f := range fixes {
		if minutesOf(f) != i || f.Has&HasSpeed == 0 {
			t.Errorf("fix %d: got %+v, want the position of epoch %d with a speed", i, f, i)
		}
	}
	if lines[4] != 10 || lines[6] != 15 || r.Repeated() != 1 {
		t.Errorf("fixes came with lines %v and %d repeats, want the fifth with line 10, the seventh with line 15, and 1", lines, r.Repeated())
	}
}

// Heading before the position, VTG behind it; after the pattern is known VTG's
// successor HDT belongs to the next epoch, and so does its arrival.
func TestHeadOfAnEpoch(t *testing.T) {
	t.Parallel()
	var script strings.Builder
	for i := range 10 {
		ms, tod := 100*i, fmt.Sprintf("1305%02d.%d", 10+i/10, i%10)
		fmt.Fprintf(&script, "%d GPHDT,%d.0,T\n%d %s\n%d GPVTG,90.0,T,,M,%d.0,N,,K,R\n",
			ms, 10+i, ms+8, gga(tod, float64(i), 4), ms+14, i)
	}
	var r Reader
	fixes, lines := feed(&r, script.String())
	if len(fixes) != 10 {
		t.Fatalf("got %d fixes, want 10", len(fixes))
	}
	for i, f := range fixes {
		arrival := session.Add(time.Duration(100*i) * time.Millisecond)
		if f.HeadingDeg != float64(10+i) || f.SpeedMPS != float64(i)*1852/3600 || !f.Arrival.Equal(arrival) {
			t.Errorf("fix %d: got heading %v, speed %v, arrival %v; want those of its own epoch", i, f.HeadingDeg, f.SpeedMPS, f.Arrival)
		}
		if i >= 3 && lines[i] != 3*i+3 {
			t.Errorf("fix %d came with line %d, want %d, its VTG", i, lines[i], 3*i+3)
		}
	}
}

// Sentences without a position belong to the epoch in which they arrive, even
// if their own time differs a little.
func TestLooseSentencesOfAnotherTime(t *testing.T) {
	t.Parallel()
	var r Reader
	fixes, _ := feed(&r, `
		0   `+gga("130510.00", 1, 4)+`
		5   GPGST,130509.80,1,1,1,0,0.02,0.03,0.05
		10  GPZDA,130510.01,14,05,2026,00,00
		15  `+rmc("130510.00", 1, "R")+`
		200 `+gga("130510.20", 2, 4))
	if len(fixes) != 2 || fixes[0].LatDeviationM != 0.02 || fixes[1].Has&HasDeviation != 0 {
		t.Errorf("got %+v, want two fixes, the deviation in the first alone", fixes)
	}
}

// A void position without a time belongs to the epoch in hand; when the
// receiver has lost the time, the fix in hand does not wait for its return.
func TestVoidWithoutTime(t *testing.T) {
	t.Parallel()
	var r Reader
	fixes, _ := feed(&r, "0 "+gga("130510", 1, 1)+"\n5 GPRMC,,V,,,,,,,,,,N\n10 "+gll("130510", 1, "R"))
	if len(fixes) != 1 || fixes[0].Quality != QualityRTK {
		t.Errorf("got %+v, want one fix with the GLL after the void RMC", fixes)
	}
	r = Reader{}
	script := "0 " + gga("130510", 1, 1)
	for i := range 10 {
		script += fmt.Sprintf("\n%d GPGGA,,,,,,0,,,,M,,M,,\n%d GPRMC,,V,,,,,,,,,,N", 1000*(i+1), 1000*(i+1)+5)
	}
	fixes, lines := feed(&r, script)
	if len(fixes) != 1 || lines[0] == 0 || lines[0] > 1+maxVoids+1 {
		t.Errorf("got %d fixes at lines %v, want one after %d voids", len(fixes), lines, maxVoids)
	}
}

// Minutes without time or position leave nothing behind in the first fix.
func TestColdStart(t *testing.T) {
	t.Parallel()
	var script strings.Builder
	for i := range 100 {
		fmt.Fprintf(&script, "%d GPHDT,,T\n%d GPGGA,,,,,,0,,,,M,,M,,\n%d GPVTG,1.0,T,,M,9.0,N,,K,A\n", 500*i, 500*i+5, 500*i+10)
	}
	script.WriteString("50000 GPHDT,10.0,T\n50005 " + gga("130600", 1, 1))
	var r Reader
	fixes, _ := feed(&r, script.String())
	if len(fixes) != 1 || !fixes[0].Arrival.Equal(session.Add(50*time.Second)) || fixes[0].HeadingDeg != 10 {
		t.Fatalf("got %+v, want one fix that arrived at 50 s with heading 10", fixes)
	}
}

// A wrong clock gives the date only as long as no sentence has.
func TestDateByArrival(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name    string
		arrival time.Time
		tod     string
		want    time.Time
	}{
		{"same day", time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC), "130510", time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)},
		{"arrival after midnight", time.Date(2026, 5, 15, 0, 0, 1, 0, time.UTC), "235959", time.Date(2026, 5, 14, 23, 59, 59, 0, time.UTC)},
		{"clock behind", time.Date(2026, 5, 14, 23, 59, 58, 0, time.UTC), "000001", time.Date(2026, 5, 15, 0, 0, 1, 0, time.UTC)},
		{"local time is no matter", time.Date(2026, 5, 14, 23, 0, 0, 0, time.FixedZone("", -6*3600)), "050001", time.Date(2026, 5, 15, 5, 0, 1, 0, time.UTC)},
		{"before 1970", time.Date(1960, 1, 1, 0, 0, 0, 0, time.UTC), "000001", time.Date(1960, 1, 1, 0, 0, 1, 0, time.UTC)},
		{"no clock at all", time.Time{}, "000001", time.Date(1970, 1, 1, 0, 0, 1, 0, time.UTC)},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			var r Reader
			r.Line(tc.arrival, []byte(sealed(gga(tc.tod, 1, 1))))
			fixes := r.Flush()
			if len(fixes) != 1 || !fixes[0].Time.Equal(tc.want) || fixes[0].Has&HasDate != 0 {
				t.Errorf("got %+v, want %v without a date of its own", fixes, tc.want)
			}
		})
	}
}

// Damage costs the damaged sentences only. Every second sentence is cut, spoilt
// or buried; the arrivals have a wrong date, so the date comes from what is left.
func TestHalfDamaged(t *testing.T) {
	t.Parallel()
	var r Reader
	var got []Fix
	want := 0
	for i := range 400 {
		at := session.Add(time.Duration(i) * 100 * time.Millisecond)
		tod := at.Format("150405.00")
		good := sealed(gga(tod, float64(i%60), 4))
		bad := []byte(sealed(rmc(tod, float64(i%60), "R")))
		switch i % 5 {
		case 0:
			bad[20] ^= 0x10
		case 1:
			bad = bad[:len(bad)/2]
		case 2:
			bad = append([]byte("\x00\xff$G$$!*01*"), bad[9:]...)
		case 3:
			bad = append(bad[:30], '$')
		case 4:
			bad = append(bad[:12], bad[40:]...)
		}
		want++
		glued := append(append(bad, "\xb5b*7F!"...), good...) // the line end was lost too
		got = append(got, r.Line(at, glued)...)
	}
	got = append(got, r.Flush()...)
	if len(got) != want {
		t.Fatalf("got %d fixes, want %d", len(got), want)
	}
	for i, f := range got {
		if minutesOf(f) != i%60 || f.Quality != QualityRTK {
			t.Errorf("fix %d: got %+v", i, f)
		}
	}
	if n := r.Tally().Sentences; n != 400 {
		t.Errorf("got %d good sentences, want 400", n)
	}
}

// What was said before the first position counts only while it is fresh.
func TestNothingStaleBeforeAPosition(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name, script string
		has          Has
		arrivalMS    int
	}{
		{"VTG of an earlier round without a time",
			"0 GPVTG,1.0,T,,M,9.0,N,,K,A\n5 GPGGA,,,,,,0,,,,M,,M,,\n500 GPGGA,,,,,,0,,,,M,,M,,\n1000 " + gga("130600", 1, 1), 0, 1000},
		{"an empty HDT after a full one",
			"0 GPHDT,10.0,T\n100 GPHDT,,T\n105 " + gga("130600", 1, 1), 0, 100},
		{"HDT at a higher rate: the last one",
			"0 GPHDT,10.0,T\n100 GPHDT,11.0,T\n200 GPHDT,12.0,T\n205 " + gga("130600", 1, 1), HasHeading, 200},
		{"VTG, then HDT at a higher rate",
			"0 GPVTG,1.0,T,,M,9.0,N,,K,A\n1 GPHDT,10.0,T\n2 GPHDT,11.0,T\n3 " + gga("130600", 1, 1), HasHeading | HasSpeed | HasCourse, 2},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			var r Reader
			fixes, _ := feed(&r, tc.script)
			const about = HasHeading | HasSpeed | HasCourse
			if want := session.Add(time.Duration(tc.arrivalMS) * time.Millisecond); len(fixes) != 1 || fixes[0].Has&about != tc.has || !fixes[0].Arrival.Equal(want) {
				t.Errorf("%s:\ngot %+v\nwant has %b, arrival %v", tc.script, fixes, tc.has, want)
			}
		})
	}
}

// Without pauses to go by, what arrives after the fix was handed out begins the
// next epoch.
func TestAfterTheFixWithoutPauses(t *testing.T) {
	t.Parallel()
	script, ms := "", 0
	for i := range 6 {
		tod := fmt.Sprintf("1305%02d", 10+i)
		if i == 5 {
			script += fmt.Sprintf("%d GPHDT,10.0,T\n", ms)
			ms += 10
		}
		script += fmt.Sprintf("%d %s\n%d %s\n", ms, gga(tod, 1, 1), ms+10, rmc(tod, 1, "A"))
		ms += 20
	}
	var r Reader
	fixes, _ := feed(&r, script)
	last := fixes[len(fixes)-1]
	if len(fixes) != 6 || last.Has&HasHeading == 0 || !last.Arrival.Equal(session.Add(100*time.Millisecond)) {
		t.Errorf("got %d fixes, the last %+v; want 6, the last with the HDT and its arrival", len(fixes), last)
	}
}

// Where the last sentence was damaged again and again, the one before it is not
// taken for the last: the next good RMC still counts.
func TestDamageTeachesNoHabit(t *testing.T) {
	t.Parallel()
	script := ""
	for i := range 8 {
		tod := fmt.Sprintf("1305%02d", 10+i)
		second := sealed(rmc(tod, 1, "A"))
		if i < 7 {
			second = strings.Replace(second, "4.0,90.0", "4.0,91.0", 1)
		}
		script += fmt.Sprintf("%d %s\n%d %s\n", 1000*i, gga(tod, 1, 1), 1000*i+10, second)
	}
	var r Reader
	fixes, _ := feed(&r, script)
	if len(fixes) != 8 || fixes[7].Has&HasSpeed == 0 || fixes[6].Has&HasSpeed != 0 {
		t.Errorf("got %d fixes, %+v; want 8, with a speed in the last alone", len(fixes), fixes)
	}
}
