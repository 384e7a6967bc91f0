package metrics_test

import (
	"bytes"
	"fmt"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"github.com/prometheus/client_golang/prometheus/testutil"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/live"
	"drawbar/internal/metrics"
	"drawbar/internal/testkit"
	"drawbar/nmea"
	"drawbar/replay"
)

// still is a published state of a stated age.
type still struct {
	state *live.State
	age   time.Duration
}

func (s still) Read() (*live.State, time.Duration) { return s.state, s.age }

var noon = time.Date(2026, 5, 14, 12, 0, 0, 0, time.UTC)

// atWork is a state in which every metric has a sample.
func atWork() *live.State {
	skip, remaining, outside := 12.5, 80_000.0, 3.25
	s := &live.State{Version: "1.2.3", Started: noon.Add(-time.Hour), Now: noon}
	s.Survey = &live.Survey{SkipM2: &skip, RemainingM2: &remaining, OutsideM2: &outside}
	s.Sources = []live.SourceState{
		{Name: "gnss", Stream: "gnss", Up: true, Reconnects: 2, Bytes: 123_456},
		{Name: "controller", Stream: "controller", Bytes: 789},
	}
	s.Recording = live.RecordingState{Session: "20260514", Bytes: 124_245, Recording: true}
	s.Alarms = []live.AlarmState{
		{Alarm: live.TankLow, Subject: "tank 1", Since: noon},
		{Alarm: live.TankLow, Subject: "tank 2", Since: noon},
	}
	snap := &s.Snapshot
	snap.Sentences = []nmea.Count{
		{Formatter: "GGA", Result: nmea.ResultUsed, N: 36_000},
		{Formatter: "GGA", Result: nmea.ResultBadChecksum, N: 3},
		{Formatter: "GSV", Result: nmea.ResultUnused, N: 400},
	}
	snap.Fix = nmea.Fix{Time: noon, Arrival: noon.Add(-300 * time.Millisecond)}
	snap.Fixes[nmea.QualityRTK], snap.Fixes[nmea.QualityFloat] = 35_900, 100
	snap.Controller = replay.ControllerTally{Lines: 20, Reports: 15}
	snap.Controller.Rejected[controller.ReasonChecksum] = 3
	snap.ReportAt = noon.Add(-450 * time.Millisecond)
	snap.Work = coverage.Snapshot{
		Placed: true, HeadingDeg: 271.5, SpeedMPS: 2.25, HasSpeed: true,
		Sections: []coverage.SectionState{coverage.SectionOn, coverage.SectionOff, coverage.SectionOn},
		Tanks: []coverage.TankNow{
			{Number: 1, Product: "Spring oats", Unit: "kg", RatePerM2: 0.0113, TargetPerM2: 0.0112, LevelAmount: 300, HasRate: true, HasTarget: true, HasLevel: true},
			{Number: 2, Product: "Starter", Unit: "l"},
			{Number: 3, Product: "not known yet"},
		},
		Operation: &coverage.OperationNow{
			Field: "Mill Piece", Name: "seeding", GrossM2: 50_000, CoveredM2: 49_000, OverlapM2: 1000,
			Products: []coverage.ProductNow{
				{Tank: 1, Product: "Spring oats", Unit: "kg", AppliedAmount: 560, HasApplied: true},
				{Tank: 1, Product: "Spring oats", Unit: "kg", AppliedAmount: 4, HasApplied: true}, // described anew
				{Tank: 2, Product: "Starter", Unit: "l"},
			},
		},
	}
	return s
}

func gatherer(t testing.TB, s *live.State, age time.Duration) (*prometheus.Registry, *metrics.Collector) {
	t.Helper()
	c := metrics.New(still{s, age}, "1.2.3")
	reg := prometheus.NewPedanticRegistry()
	if err := reg.Register(c); err != nil {
		t.Fatal(err)
	}
	return reg, c
}

func scrape(t testing.TB, g prometheus.Gatherer) []byte {
	t.Helper()
	rec := httptest.NewRecorder()
	promhttp.HandlerFor(g, promhttp.HandlerOpts{ErrorHandling: promhttp.HTTPErrorOnError}).ServeHTTP(rec, httptest.NewRequest("GET", "/metrics", nil))
	if rec.Code != 200 {
		t.Fatalf("scrape: status %d: %s", rec.Code, rec.Body)
	}
	return rec.Body.Bytes()
}

func TestGolden(t *testing.T) {
	t.Parallel()
	for name, s := range map[string]*live.State{"working": atWork(), "started": {Now: noon}, "nothing": nil} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			reg, c := gatherer(t, s, 200*time.Millisecond)
			c.ObserveFixToCoverage(1500 * time.Microsecond)
			c.ObserveSync(30 * time.Millisecond)
			path := filepath.Join("testdata", name+".prom")
			testkit.Golden(t, path, scrape(t, reg))
			want, err := os.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer want.Close()
			if err := testutil.GatherAndCompare(reg, want); err != nil {
				t.Error(err)
			}
		})
	}
}

// The linters of client_golang and of Prometheus itself find nothing.
func TestLint(t *testing.T) {
	t.Parallel()
	reg, _ := gatherer(t, atWork(), 0)
	problems, err := testutil.GatherAndLint(reg)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Errorf("%s: %s", p.Metric, p.Text)
	}
}

func TestPromtool(t *testing.T) {
	t.Parallel()
	tool := testkit.Tool(t, "promtool")
	reg, _ := gatherer(t, atWork(), 0)
	text := scrape(t, reg)
	cmd := exec.Command(tool, "check", "metrics")
	cmd.Stdin = bytes.NewReader(text)
	if out, err := cmd.CombinedOutput(); err != nil || len(out) > 0 {
		t.Errorf("promtool check metrics: %v\n%s\ninput:\n%s", err, out, text)
	}
}

// names are those that the outside relies on, with their labels and types.
var names = map[string]string{
	"drawbar_gnss_sentences_total":          "counter formatter,result",
	"drawbar_gnss_fixes_total":              "counter quality",
	"drawbar_gnss_fix_age_seconds":          "gauge ",
	"drawbar_controller_lines_total":        "counter result",
	"drawbar_controller_report_age_seconds": "gauge ",
	"drawbar_source_up":                     "gauge source",
	"drawbar_source_reconnects_total":       "counter source",
	"drawbar_source_bytes_total":            "counter source",
	"drawbar_speed_meters_per_second":       "gauge ",
	"drawbar_heading_degrees":               "gauge ",
	"drawbar_area_square_meters":            "gauge kind",
	"drawbar_applied_total":                 "counter product,tank,unit",
	"drawbar_rate":                          "gauge kind,product,tank,unit",
	"drawbar_sections_on":                   "gauge ",
	"drawbar_section_count":                 "untyped ",
	"drawbar_tank_level":                    "gauge tank,unit",
	"drawbar_fix_to_coverage_seconds":       "histogram ",
	"drawbar_session_bytes_total":           "counter ",
	"drawbar_session_sync_seconds":          "histogram ",
	"drawbar_alarm":                         "gauge alarm",
	"drawbar_build_info":                    "gauge version",
}

func TestNames(t *testing.T) {
	t.Parallel()
	reg, _ := gatherer(t, atWork(), 0)
	families, err := reg.Gather()
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, f := range families {
		for _, m := range f.GetMetric() {
			var labels []string
			for _, l := range m.GetLabel() {
				labels = append(labels, l.GetName())
			}
			form := strings.ToLower(f.GetType().String()) + " " + strings.Join(labels, ",")
			if was, ok := got[f.GetName()]; ok && was != form {
				t.Errorf("%s: has both %q and %q", f.GetName(), was, form)
			}
			got[f.GetName()] = form
		}
	}
	for name, want := range names {
		if got[name] != want {
			t.Errorf("%s: got %q, want %q", name, got[name], want)
		}
		delete(got, name)
	}
	for name := range got {
		t.Errorf("%s: is not among the names that are promised", name)
	}
}

// Noise with ever new addresses, a person who renames a product all day and a
// long name do not make ever more series.
func TestLabelsAreBounded(t *testing.T) {
	t.Parallel()
	s := atWork()
	var reader nmea.Reader
	for i := range 500 {
		body := fmt.Sprintf("GPX%02X,1", i)
		sum := byte(0)
		for _, c := range []byte(body) {
			sum ^= c
		}
		reader.Line(noon, fmt.Appendf(nil, "$%s*%02X", body, sum))
	}
	s.Snapshot.Sentences = reader.Tally().Counts()
	op := s.Snapshot.Work.Operation
	for i := range 1000 {
		op.Products = append(op.Products, coverage.ProductNow{Tank: 1 + i%9, Product: fmt.Sprintf("mix %d", i), Unit: "kg", AppliedAmount: 1, HasApplied: true})
	}
	s.Snapshot.Work.Tanks[0].Product = strings.Repeat("ä", 100) + "\xff"
	reg, _ := gatherer(t, s, 0)
	text := scrape(t, reg)
	sum, series := 0.0, 0
	for _, m := range regexp.MustCompile(`(?m)^drawbar_gnss_sentences_total\{formatter="(\w+)",.*\} (\d+)$`).FindAllSubmatch(text, -1) {
		series++
		var n float64
		fmt.Sscan(string(m[2]), &n)
		sum += n
	}
	if series > 65 || sum != 500 || !bytes.Contains(text, []byte(`formatter="other"`)) {
		t.Errorf("500 formatters: got %d series that count %g sentences, want at most 65 with one for other that count 500:\n%s", series, sum, text)
	}
	sum, series = 0, 0
	for _, m := range regexp.MustCompile(`(?m)^drawbar_applied_total\{.*\} (\d+)$`).FindAllSubmatch(text, -1) {
		series++
		var n float64
		fmt.Sscan(string(m[1]), &n)
		sum += n
	}
	if series > 33 || sum != 1564 {
		t.Errorf("1001 products: got %d series of together %g kg, want at most 33 of 1564 kg", series, sum)
	}
	if long := regexp.MustCompile(`product="[^"]{101,}"`).Find(text); long != nil {
		t.Errorf("label longer than 100 bytes: %s", long)
	}
}

// What is old is not shown as if it were new, and an age grows while the core
// publishes nothing.
func TestAges(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name      string
		published time.Time
		since     time.Duration
		wantAge   float64
		wantSpeed bool
	}{
		{"fresh", noon, 0, 0.3, true},
		{"core stands still", noon, time.Minute, 60.3, false},
		{"no fix for long", noon.Add(10 * time.Second), 0, 10.3, false},
		{"clock set back a day since the fix", noon.Add(-24 * time.Hour), time.Second, 1, true},
	} {
		s := atWork()
		s.Now = c.published
		reg, _ := gatherer(t, s, c.since)
		text := string(scrape(t, reg))
		if want := fmt.Sprintf("\ndrawbar_gnss_fix_age_seconds %g\n", c.wantAge); !strings.Contains(text, want) {
			t.Errorf("%s: want %q in\n%s", c.name, want, text)
		}
		if got := strings.Contains(text, "\ndrawbar_speed_meters_per_second "); got != c.wantSpeed {
			t.Errorf("%s: speed shown: got %v, want %v", c.name, got, c.wantSpeed)
		}
	}
}

// BenchmarkScrape is a whole scrape of a large machine: 36 sections, 8 tanks, 65
// formatters. It must stay below 2 ms.
func BenchmarkScrape(b *testing.B) {
	s := atWork()
	s.Snapshot.Work.Sections = make([]coverage.SectionState, 36)
	for i := range 62 {
		s.Snapshot.Sentences = append(s.Snapshot.Sentences, nmea.Count{Formatter: fmt.Sprintf("P%02d", i), Result: nmea.ResultUnused, N: 1})
	}
	tank := s.Snapshot.Work.Tanks[0]
	s.Snapshot.Work.Tanks = nil
	for i := range 8 {
		tank.Number = i + 1
		s.Snapshot.Work.Tanks = append(s.Snapshot.Work.Tanks, tank)
	}
	reg, _ := gatherer(b, s, 0)
	h := promhttp.HandlerFor(reg, promhttp.HandlerOpts{})
	b.ReportAllocs()
	size := 0
	for b.Loop() {
		rec := httptest.NewRecorder()
		h.ServeHTTP(rec, httptest.NewRequest("GET", "/metrics", nil))
		size = rec.Body.Len()
	}
	if size < 5000 {
		b.Fatalf("scrape of %d bytes: something is missing", size)
	}
	b.ReportMetric(float64(size), "bytes/scrape")
}
