package deploy

import (
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/live"
	"drawbar/internal/metrics"
	"drawbar/nmea"
	"drawbar/replay"

	"github.com/goccy/go-yaml"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

var scrape = flag.String("scrape", "", "host:port of a running daemon that the dashboard is tried on, instead of a made-up one")

// dashboard is what the tests look at.
type dashboard struct {
	UID        string
	Panels     []panel
	Templating struct {
		List []struct{ Name, Type, Definition string }
	}
}

type panel struct {
	ID      int
	Type    string
	Title   string
	GridPos struct{ X, Y, W, H int }
	Targets []struct {
		RefID string `json:"refId"`
		Expr  string
	}
	Datasource struct{ UID string }
}

func loadDashboard(t *testing.T) dashboard {
	t.Helper()
	var d dashboard
	if err := json.Unmarshal([]byte(read(t, "grafana/drawbar.json")), &d); err != nil {
		t.Fatal(err)
	}
	return d
}

// Panels have numbers of their own, do not lie on each other, and take their data
// from the source that a person chooses.
func TestDashboardLayout(t *testing.T) {
	t.Parallel()
	d := loadDashboard(t)
	type cell struct{ x, y int }
	ids, taken := map[int]string{}, map[cell]string{}
	for _, p := range d.Panels {
		if other, ok := ids[p.ID]; ok || p.ID == 0 {
			t.Errorf("%s: number %d is that of %q or none", p.Title, p.ID, other)
		}
		ids[p.ID] = p.Title
		g := p.GridPos
		if g.W < 1 || g.H < 1 || g.X < 0 || g.X+g.W > 24 {
			t.Errorf("%s: got place %+v, want it within 24 columns", p.Title, g)
		}
		for x := g.X; x < g.X+g.W; x++ {
			for y := g.Y; y < g.Y+g.H; y++ {
				if other, ok := taken[cell{x, y}]; ok {
					t.Fatalf("%s lies on %s", p.Title, other)
				}
				taken[cell{x, y}] = p.Title
			}
		}
		if p.Type != "row" && (p.Datasource.UID != "${datasource}" || len(p.Targets) == 0) {
			t.Errorf("%s: got datasource %q and %d queries", p.Title, p.Datasource.UID, len(p.Targets))
		}
	}
}

// Provisioning names the folder that the package fills and the server that
// prometheus.yml describes.
func TestProvisioning(t *testing.T) {
	t.Parallel()
	var sources struct {
		Datasources []struct{ Type, URL string }
	}
	var boards struct {
		Providers []struct {
			Type    string
			Options struct{ Path string }
		}
	}
	for path, to := range map[string]any{"datasources": &sources, "dashboards": &boards} {
		if err := yaml.Unmarshal([]byte(read(t, "grafana/provisioning/"+path+"/drawbar.yml")), to); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
	}
	if len(sources.Datasources) != 1 || sources.Datasources[0].Type != "prometheus" || sources.Datasources[0].URL == "" {
		t.Errorf("got %+v, want one Prometheus", sources)
	}
	if len(boards.Providers) != 1 || !strings.Contains(read(t, "package/nfpm.yaml"), "dst: "+boards.Providers[0].Options.Path+"/drawbar.json\n") {
		t.Errorf("got %+v, want the folder where the package puts drawbar.json", boards)
	}
}

// Each query of the dashboard parses and gives numbers on a real Prometheus that
// scrapes the daemon's own collector.
func TestDashboardQueries(t *testing.T) {
	t.Parallel()
	target := *scrape
	if target == "" {
		target = madeUp(t)
	}
	tryDashboard(t, startPrometheus(t, target))
}

// tryDashboard runs every query against s.
func tryDashboard(t *testing.T, s server) {
	d := loadDashboard(t)
	fill := strings.NewReplacer("$instance", s.target, "$__rate_interval", "10s")
	n := 0
	for _, p := range d.Panels {
		for _, q := range p.Targets {
			n++
			until(t, func() error { return hasNumbers(s, fill.Replace(q.Expr), p.Title) })
		}
	}
	for _, v := range d.Templating.List {
		m := regexp.MustCompile(`^label_values\((.+), (\w+)\)$`).FindStringSubmatch(v.Definition)
		if v.Type != "query" {
			continue
		}
		if m == nil {
			t.Errorf("variable %s: %q is no label_values", v.Name, v.Definition)
			continue
		}
		until(t, func() error { return hasNumbers(s, fmt.Sprintf(`count by (%s) (%s)`, m[2], m[1]), v.Name) })
	}
	if n < 20 {
		t.Errorf("got %d queries: are they read?", n)
	}
	t.Logf("%d queries gave numbers", n)
}

func hasNumbers(s server, query, title string) error {
	values, err := s.data(query)
	if err != nil {
		return err
	}
	if len(values) == 0 || strings.Contains(query, "$") {
		return fmt.Errorf("%s: no data: %s", title, query)
	}
	for _, v := range values {
		if strings.Contains(v, "NaN") || strings.Contains(v, "Inf") {
			return fmt.Errorf("%s: got %s: %s", title, values, query)
		}
	}
	return nil
}

// The dashboard shows every metric that there is, and no other.
func TestDashboardShowsAll(t *testing.T) {
	t.Parallel()
	want := served(t, madeUp(t))
	var queries strings.Builder
	for _, p := range loadDashboard(t).Panels {
		for _, q := range p.Targets {
			queries.WriteString(q.Expr + "\n")
		}
	}
	got := metricNames(queries.String())
	for _, name := range want {
		if !slices.Contains(got, name) {
			t.Errorf("not shown: %s", name)
		}
	}
	for _, name := range got {
		if !slices.Contains(want, name) {
			t.Errorf("there is no metric %s", name)
		}
	}
}

// served are the names of the metrics at an address.
func served(t *testing.T, target string) []string {
	t.Helper()
	resp, err := http.Get("http://" + target + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, m := range regexp.MustCompile(`(?m)^# TYPE (drawbar_\w+) `).FindAllSubmatch(b, -1) {
		names = append(names, string(m[1]))
	}
	return names
}

// madeUp serves the metrics of a machine at work and gives the address. It is a
// second further on at each scrape.
func madeUp(t *testing.T) string {
	t.Helper()
	var m machine
	c := metrics.New(&m, "1.2.3")
	reg := prometheus.NewPedanticRegistry()
	if err := reg.Register(c); err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	h := promhttp.HandlerFor(reg, promhttp.HandlerOpts{ErrorHandling: promhttp.HTTPErrorOnError})
	mux.HandleFunc("/metrics", func(w http.ResponseWriter, r *http.Request) {
		m.seconds.Add(1)
		c.ObserveFixToCoverage(1500 * time.Microsecond)
		c.ObserveSync(30 * time.Millisecond)
		h.ServeHTTP(w, r)
	})
	s := httptest.NewServer(mux)
	t.Cleanup(s.Close)
	return strings.TrimPrefix(s.URL, "http://")
}

// machine is a drill at 2.5 m/s on 12 m of bar that sows 112.5 kg/ha.
type machine struct{ seconds atomic.Int64 }

func (m *machine) Read() (*live.State, time.Duration) {
	n := m.seconds.Load()
	now := time.Date(2026, 5, 14, 12, 0, 0, 0, time.UTC).Add(time.Duration(n) * time.Second)
	area, skip, remaining, outside := 30*float64(n), 12.5, 80_000-30*float64(n), 3.25
	s := &live.State{Version: "1.2.3", Now: now, Survey: &live.Survey{SkipM2: &skip, RemainingM2: &remaining, OutsideM2: &outside}}
	s.Sources = []live.SourceState{
		{Name: "gnss", Up: true, Reconnects: 1, Bytes: uint64(2000 * n)},
		{Name: "controller", Up: true, Bytes: uint64(300 * n)},
	}
	s.Recording = live.RecordingState{Session: "20260514", Bytes: 2500 * n, Recording: true}
	snap := &s.Snapshot
	snap.Sentences = []nmea.Count{{Formatter: "GGA", Result: nmea.ResultUsed, N: uint64(10 * n)}, {Formatter: "GSV", Result: nmea.ResultUnused, N: uint64(n)}}
	snap.Fix = nmea.Fix{Time: now, Arrival: now.Add(-100 * time.Millisecond)}
	snap.Fixes[nmea.QualityRTK] = uint64(10 * n)
	snap.Controller = replay.ControllerTally{Lines: int(6 * n), Reports: int(5 * n)}
	snap.Controller.Rejected[controller.ReasonChecksum] = int(n)
	snap.ReportAt = now.Add(-150 * time.Millisecond)
	snap.Work = coverage.Snapshot{
		Placed: true, HeadingDeg: 271.5, SpeedMPS: 2.5, HasSpeed: true,
		Sections: []coverage.SectionState{coverage.SectionOn, coverage.SectionOn, coverage.SectionOn, coverage.SectionOff},
		Tanks: []coverage.TankNow{{Number: 1, Product: "Spring oats", Unit: "kg", RatePerM2: 0.01125, TargetPerM2: 0.0112,
			LevelAmount: 3800 - 0.3375*float64(n), HasRate: true, HasTarget: true, HasLevel: true}},
		Operation: &coverage.OperationNow{Field: "Mill Piece", Name: "seeding", GrossM2: area, CoveredM2: 0.98 * area, OverlapM2: 0.02 * area,
			Products: []coverage.ProductNow{{Tank: 1, Product: "Spring oats", Unit: "kg", AppliedAmount: 0.01125 * area, HasApplied: true}}},
	}
	return s, 0
}
