package nmea

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func rmcOn(tod, date, status string) string {
	return fmt.Sprintf("GPRMC,%s,%s,5301.0000,N,00004.0000,W,4.0,90.0,%s,,,A", tod, status, date)
}

// Midnight, leap seconds and stale dates. Each script is read with arrivals a
// year off; the times of the fixes must come out as stated.
func TestDatesOfFixes(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name   string
		script []string
		want   string
	}{
		{"GGA steps over midnight before RMC says so", []string{
			rmcOn("235959.80", "140526", "A"), gga("000000.00", 1, 1), rmcOn("000000.00", "150526", "A")},
			"05-14T23:59:59.8 05-15T00:00:00"},
		{"GGA alone carries on", []string{
			rmcOn("235959", "310526", "A"), gga("000000", 1, 1), gga("000001", 1, 1)},
			"05-31T23:59:59 06-01T00:00:00 06-01T00:00:01"},
		{"RMC of the epoch before comes late", []string{
			rmcOn("235959.60", "140526", "A"), gga("235959.80", 1, 1), gga("000000.00", 1, 1), rmcOn("235959.80", "140526", "A"),
			gga("000000.20", 1, 1), rmcOn("000000.00", "150526", "A"), gga("000000.40", 1, 1)},
			"05-14T23:59:59.6 05-14T23:59:59.8 05-15T00:00:00 05-15T00:00:00.2 05-15T00:00:00.4"},
		{"ZDA of the epoch before comes late", []string{
			rmcOn("235959", "140526", "A"), gga("000000", 1, 1), "GPZDA,235959,14,05,2026,00,00", gga("000001", 1, 1)},
			"05-14T23:59:59 05-15T00:00:00 05-15T00:00:01"},
		{"ZDA of the next epoch comes early", []string{
			rmcOn("235959", "140526", "A"), "GPZDA,000000,15,05,2026,00,00", gga("000000", 1, 1)},
			"05-14T23:59:59 05-15T00:00:00"},
		{"RMC's date lags a second behind midnight", []string{
			rmcOn("235959", "140526", "A"), rmcOn("000000", "140526", "A"), rmcOn("000001", "150526", "A")},
			"05-14T23:59:59 05-15T00:00:00 05-15T00:00:01"},
		{"leap second", []string{
			rmcOn("235959.50", "311226", "A"), gga("235960.00", 1, 1), gga("235960.50", 1, 1), gga("000000.00", 1, 1), rmcOn("000000.50", "010127", "A")},
			"12-31T23:59:59.5 01-01T00:00:00 01-01T00:00:00.5 01-01T00:00:00 01-01T00:00:00.5"},
		{"RMC states the leap second", []string{
			rmcOn("235960.00", "311226", "A"), gga("000000.00", 1, 1), gga("000001.00", 1, 1)},
			"01-01T00:00:00 01-01T00:00:00 01-01T00:00:01"},
		{"ZDA is preferred", []string{
			"GPZDA,120000,14,05,2026,00,00", rmcOn("120000", "290906", "A"), gga("120001", 1, 1)},
			"05-14T12:00:00 05-14T12:00:01"},
		{"a void RMC's date does not count once a date is known", []string{
			rmcOn("120000", "140526", "A"), rmcOn("120001", "060180", "V"), gga("120002", 1, 1)},
			"05-14T12:00:00 05-14T12:00:02"},
		{"a void RMC's date is better than none", []string{
			rmcOn("120000", "130526", "V"), gga("120001", 1, 1)},
			"05-13T12:00:01"},
		{"three days in the shed", []string{
			rmcOn("120000", "140526", "A"), gga("180000", 1, 1), rmcOn("180000", "170526", "A"), gga("180001", 1, 1)},
			"05-14T12:00:00 05-17T18:00:00 05-17T18:00:01"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			var r Reader
			var got []string
			add := func(fixes []Fix) {
				for _, f := range fixes {
					got = append(got, f.Time.Format("01-02T15:04:05.999"))
				}
			}
			for i, body := range tc.script {
				add(r.Line(session.AddDate(1, 0, 0).Add(time.Duration(i)*time.Second), []byte(sealed(body))))
			}
			add(r.Flush())
			if s := strings.Join(got, " "); s != tc.want {
				t.Errorf("%q:\ngot  %s\nwant %s", tc.script, s, tc.want)
			}
		})
	}
}

// Whatever the rate and the start, times of day put in order come out as
// absolute times in order, with the true distance between them.
func TestNearestDay(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		now := rapid.Int64Range(0, 100*365*dayNS/4).Draw(t, "start")
		last := now
		for range rapid.IntRange(1, 20).Draw(t, "epochs") {
			now += rapid.Int64Range(-dayNS/2+1, dayNS/2-1).Draw(t, "step")
			tod := now - floorDiv(now, dayNS)*dayNS
			if got := nearest(tod, last); got != now {
				t.Fatalf("time of day %d nearest to %d: got %d, want %d", tod, last, got, now)
			}
			last = now
		}
	})
}

// The times of the lines of a plain log.
func TestLogClock(t *testing.T) {
	t.Parallel()
	var c LogClock
	for _, step := range []struct {
		line string
		want string // "" while not known
	}{
		{"# a header", ""},
		{sealed(gga("235958.00", 1, 1)), ""},
		{sealed("GPVTG,90.0,T,,M,4.0,N,7.4,K,A"), ""},
		{sealed(rmcOn("235958.00", "140526", "A")), "2026-05-14T23:59:58Z"},
		{"", "2026-05-14T23:59:58Z"},
		{sealed(gga("235959.90", 1, 0)), "2026-05-14T23:59:59.9Z"},
		{sealed("GPGGA,,,,,,0,,,,M,,M,,"), "2026-05-14T23:59:59.9Z"},
		{sealed(gll("000000.10", 1, "A")), "2026-05-15T00:00:00.1Z"},
		{"noise " + sealed("GPZDA,000001.10,15,05,2026,,"), "2026-05-15T00:00:01.1Z"},
		{strings.Replace(sealed("GPZDA,000002.10,15,05,2026,,"), "15", "16", 1), "2026-05-15T00:00:01.1Z"},
	} {
		at, ok := c.Line([]byte(step.line))
		got := ""
		if ok {
			got = at.Format(time.RFC3339Nano)
		}
		if got != step.want {
			t.Errorf("%q: got %q, want %q", step.line, got, step.want)
		}
	}
}
