package server

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"

	"drawbar/coverage"
	"drawbar/internal/arrivals"
	"drawbar/internal/config"
	"drawbar/internal/live"
	"drawbar/nmea"
	"drawbar/replay"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var noon = time.Date(2026, 5, 14, 12, 0, 0, 0, time.UTC)

// atWork is a state in which everything is known.
func atWork() *live.State {
	skip := 12.5
	s := &live.State{Version: "1.2.3", Started: noon.Add(-time.Hour), Now: noon, Survey: &live.Survey{SkipM2: &skip}}
	s.Sources = []live.SourceState{
		{Name: "gnss", Stream: "gnss", Address: "/dev/ttyUSB0", Up: true, Since: noon, Bytes: 12, Lines: 3, Baud: 38400},
		{Name: "controller", Stream: "controller", Address: "tcp://127.0.0.1:4001", LastError: "connection refused", Reconnects: 2},
	}
	s.Alarms = []live.AlarmState{{Alarm: live.TankLow, Subject: "tank 1", Severity: live.Warning, Text: "Tank 1 is below 10 % of its capacity: fill it soon.", Since: noon}}
	s.Recording = live.RecordingState{Session: "20260514-110000", Bytes: 5_400_000, Recording: true, FreeBytes: 12_300_000_000, HasFree: true}
	snap := &s.Snapshot
	snap.Events, snap.ClockSteps = 120, 1
	snap.Fix = nmea.Fix{Time: noon, Arrival: noon.Add(-100 * time.Millisecond), LatDeg: 53.351, LonDeg: -0.012, Quality: nmea.QualityRTK,
		HDOP: 0.7, Satellites: 18, CorrectionAgeS: 1, Has: nmea.HasHDOP | nmea.HasSatellites | nmea.HasCorrection}
	snap.Fixes[nmea.QualityRTK] = 100
	snap.Controller.Lines, snap.Controller.Reports = 20, 20
	snap.ReportAt = noon
	snap.Work = coverage.Snapshot{
		Placed: true, HeadingDeg: 271.5, ImplementDeg: 270, SpeedMPS: 2.5, HasSpeed: true, Marks: 2,
		Bar:      [][2]float64{{-0.012, 53.3511}, {-0.012, 53.3509}},
		Sections: []coverage.SectionState{coverage.SectionOn, coverage.SectionOff}, Metered: []coverage.SectionState{coverage.SectionOn, coverage.SectionUnknown},
		Tanks: []coverage.TankNow{
			{Number: 1, Product: "Spring oats", Unit: "kg", RatePerM2: 0.0113, TargetPerM2: 0.0112, LevelAmount: 300, FullAmount: 3800, HasRate: true, HasTarget: true, HasLevel: true, HasFull: true},
			{Number: 2},
		},
		Operation: &coverage.OperationNow{Field: "Mill Piece", Name: "seeding", GrossM2: 50_000, CoveredM2: 49_000, OverlapM2: 1000,
			Products: []coverage.ProductNow{{Tank: 1, Product: "Spring oats", Unit: "kg", AppliedAmount: 560, AreaM2: 50_000, HasApplied: true}}},
		Totals: coverage.Totals{WorkingNS: 3600e9, DistanceM: 5000, WorkingDistanceM: 4000, Gaps: 1, GapNS: 3e9},
	}
	return s
}

// heard records what was said, or refuses it.
type heard struct {
	mu     sync.Mutex
	lines  []string
	mark   int
	refuse error
}

func (h *heard) Say(_ context.Context, line []byte) (Said, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.refuse == nil {
		h.lines = append(h.lines, string(line))
	}
	return Said{Mark: h.mark}, h.refuse
}

// shelf is a list of sessions, an error or a fault of the program.
type shelf struct {
	list []Session
	err  error
	bug  bool
}

func (s shelf) Sessions(context.Context) ([]Session, error) {
	if s.bug {
		panic("index out of range")
	}
	return s.list, s.err
}

func twoSessions() shelf {
	return shelf{list: []Session{
		{Name: "20260514-110000", Start: noon, Bytes: 5_400_000, State: SessionOpen},
		{Name: "20260513-080000", Start: noon.Add(-28 * time.Hour), End: noon.Add(-20 * time.Hour), Bytes: 31_000_000, State: SessionClosed},
	}}
}

func serverOf(t testing.TB, c Config) *Server {
	t.Helper()
	if c.Hub == nil {
		c.Hub = &live.Hub{}
		c.Hub.Publish(atWork())
	}
	if c.Listen == "" {
		c.Listen = "127.0.0.1:0"
	}
	s, err := New(c)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ask makes a request as a program on this machine would.
func ask(s *Server, method, path, body string, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Host = "127.0.0.1:8080"
	if method != http.MethodGet {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i+1 < len(header); i += 2 {
		switch header[i] {
		case "Host":
			r.Host = header[i+1]
			continue
		case "Remote":
			r.RemoteAddr = header[i+1]
			continue
		}
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, r)
	return w
}

// pipes is a listener without a network: a write waits until it is read, so that
// a client that does not read is slow at once, and the clock of a synctest bubble
// runs while everybody waits.
type pipes struct {
	conns  chan net.Conn
	closed chan struct{}
	once   sync.Once
}

func newPipes() *pipes { return &pipes{conns: make(chan net.Conn), closed: make(chan struct{})} }

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.conns:
		return c, nil
	case <-p.closed:
		return nil, net.ErrClosed
	}
}

func (p *pipes) Close() error {
	p.once.Do(func() { close(p.closed) })
	return nil
}

func (p *pipes) Addr() net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 8080} }

func (p *pipes) dial(ctx context.Context, _, _ string) (net.Conn, error) {
	ours, theirs := net.Pipe()
	select {
	case p.conns <- theirs:
		return ours, nil
	case <-p.closed:
		return nil, errors.New("closed")
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func (p *pipes) get(ctx context.Context, path string, header ...string) (*http.Response, func(), error) {
	transport := &http.Transport{DialContext: p.dial, DisableKeepAlives: true, DisableCompression: true}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://127.0.0.1:8080"+path, nil)
	if err != nil {
		return nil, nil, err
	}
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	resp, err := transport.RoundTrip(r)
	if err != nil {
		return nil, nil, fmt.Errorf("get %s: %w", path, err)
	}
	return resp, func() { resp.Body.Close(); transport.CloseIdleConnections() }, nil
}

// filled is what arrived in a minute: a receiver's sentences and a controller's lines.
func filled(t testing.TB) *arrivals.Log {
	t.Helper()
	f := config.Default()
	l := arrivals.New(&f)
	for i := range 600 {
		at := noon.Add(time.Duration(i-600) * 100 * time.Millisecond)
		l.Take(replay.Event{At: at, Stream: replay.StreamGNSS, Line: []byte("$GPGGA,120000.00,5321.06,N,00000.72,W,4,18,0.7,60.0,M,47.0,M,1.0,0000*40")})
		if i%10 == 0 {
			l.Take(replay.Event{At: at, Stream: replay.StreamController, Line: []byte("work=1 sections=1111 tank.1.rate=112kg/ha")})
		}
	}
	return l
}

// start serves on a real port until the test ends; it returns the address.
func start(t testing.TB, s *Server) string {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	address, err := s.Listen(ctx)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Errorf("serve: %v", err)
		}
	})
	return "http://" + address.String()
}
