package daemon_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/internal/config"
	"drawbar/internal/daemon"
	"drawbar/internal/sim"
	"drawbar/internal/sim/simdir"
	"drawbar/internal/store"
	"drawbar/replay"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	if os.Getenv(childEnv) != "" {
		os.Exit(child())
	}
	goleak.VerifyTestMain(m)
}

// port is a TCP server that plays the device: the daemon dials it.
type port struct {
	t    *testing.T
	l    net.Listener
	conn net.Conn
}

func newPort(t *testing.T) *port {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return &port{t: t, l: l}
}

func (p *port) address() string { return "tcp://" + p.l.Addr().String() }

// send writes a line, waiting for the daemon to connect where it has not yet.
func (p *port) send(line []byte) {
	p.t.Helper()
	if p.conn == nil {
		conn, err := p.l.Accept()
		if err != nil {
			p.t.Fatal(err)
		}
		p.conn = conn
	}
	if _, err := p.conn.Write(append(bytes.Clone(line), '\r', '\n')); err != nil {
		p.t.Fatal(err)
	}
}

// drop hangs up: the device was unplugged.
func (p *port) drop() {
	if p.conn != nil {
		p.conn.Close()
		p.conn = nil
	}
}

// write puts the scenario's configuration and boundary into dir.
func write(t *testing.T, dir string, sc sim.Scenario, ports simdir.Ports) (path string, text []byte) {
	t.Helper()
	text = simdir.ConfigFor(sc, ports)
	path = filepath.Join(dir, simdir.ConfigFile)
	files := map[string][]byte{path: text}
	if len(sc.Field.Outline) > 0 {
		files[filepath.Join(dir, simdir.BoundaryFile)] = simdir.Boundary(sc.Field)
	}
	for name, data := range files {
		if err := os.WriteFile(name, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return path, text
}

// bench is a daemon at work in a folder of its own.
type bench struct {
	t                *testing.T
	dir, path        string
	gnss, controller *port
	base             string
	reload           chan struct{}
	log              *syncBuffer
	stop             func() error
	steps            *stepped // goes with the lines; nil: they are sent as fast as they are taken
	beside           int      // lines said beside those played

	summary replay.Summary // after stop
	swaths  []string
}

type syncBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *syncBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *syncBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

// start runs a daemon on the scenario's machine.
func start(t *testing.T, sc sim.Scenario, now func() time.Time) *bench {
	t.Helper()
	return startWith(t, sc, now, func(string) []byte { return nil })
}

// startWith is start with more configuration, which may name files in dir.
func startWith(t *testing.T, sc sim.Scenario, now func() time.Time, more func(dir string) []byte) *bench {
	t.Helper()
	b := &bench{t: t, dir: t.TempDir(), gnss: newPort(t), controller: newPort(t), reload: make(chan struct{}), log: &syncBuffer{}}
	var text []byte
	b.path, text = write(t, b.dir, sc, simdir.Ports{GNSS: b.gnss.address(), Controller: b.controller.address()})
	if extra := more(b.dir); extra != nil {
		text = append(text, extra...)
		if err := os.WriteFile(b.path, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	file, err := config.Load(b.path)
	if err != nil {
		t.Fatal(err)
	}
	file.Listen = "127.0.0.1:0"
	ctx, cancel := context.WithCancel(context.Background())
	ready, ended := make(chan string, 1), make(chan error, 1)
	go func() {
		ended <- daemon.Run(ctx, daemon.Config{
			File: file, Name: b.path, Text: text, Version: "test", Now: now,
			Log:     slog.New(slog.NewTextHandler(b.log, nil)),
			Ready:   func(address string) { ready <- address },
			OnSwath: func(s coverage.Swath) { b.swaths = append(b.swaths, swathText(s)) },
			Ended:   func(s replay.Summary) { b.summary = s },
		}, b.reload)
	}()
	select {
	case address := <-ready:
		b.base = "http://" + address
	case err := <-ended:
		t.Fatalf("the daemon did not start: %v", err)
	}
	var once sync.Once
	b.stop = func() (err error) {
		once.Do(func() {
			cancel()
			err = <-ended
		})
		return err
	}
	t.Cleanup(func() {
		b.gnss.drop()
		b.controller.drop()
		if err := b.stop(); err != nil {
			t.Errorf("stop: %v", err)
		}
		http.DefaultClient.CloseIdleConnections()
	})
	return b
}

func swathText(s coverage.Swath) string {
	return fmt.Sprint(s.Number, s.Section, s.Start, s.End, s.Rings, s.Tanks)
}

// events is how many events the daemon has processed.
func (b *bench) events() int {
	b.t.Helper()
	var s struct {
		Events int `json:"events"`
	}
	r, err := http.Get(b.base + "/api/state")
	if err != nil {
		b.t.Fatal(err)
	}
	defer r.Body.Close()
	if err := json.NewDecoder(r.Body).Decode(&s); err != nil {
		b.t.Fatal(err)
	}
	return s.Events
}

// say posts an operator line and returns the status.
func (b *bench) say(line string) int {
	b.t.Helper()
	r, err := http.Post(b.base+"/api/operator", "application/json", strings.NewReader(line))
	if err != nil {
		b.t.Fatal(err)
	}
	defer r.Body.Close()
	_, _ = io.Copy(io.Discard, r.Body)
	return r.StatusCode
}

// waitFor looks again and again until it is so.
func (b *bench) waitFor(what string, ok func() bool) {
	b.t.Helper()
	for range 4000 {
		if ok() {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	var state json.RawMessage
	b.get("/api/state", &state)
	b.t.Fatalf("waited in vain for %s; state:\n%s\nlog:\n%s", what, state, b.log)
}

// again replays the recordings in dir/data and returns what came of them.
func again(t *testing.T, dir string) (summary replay.Summary, swaths []string) {
	t.Helper()
	file, err := config.Load(filepath.Join(dir, simdir.ConfigFile))
	if err != nil {
		t.Fatal(err)
	}
	setup := file.Setup()
	setup.Coverage.OnSwath = func(s coverage.Swath) { swaths = append(swaths, swathText(s)) }
	s, err := replay.NewSession(setup)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range recorded(t, dir) {
		s.Feed(e)
	}
	s.Finish()
	return s.Summary(), swaths
}

// recorded reads the events of all sessions in dir/data.
func recorded(t *testing.T, dir string) (events []replay.Event) {
	t.Helper()
	sessions, err := store.List(filepath.Join(dir, "data"))
	if err != nil {
		t.Fatal(err)
	}
	for _, session := range sessions {
		for _, part := range session.Parts {
			events = append(events, readPart(t, part.File)...)
		}
	}
	return events
}

func readPart(t *testing.T, name string) (events []replay.Event) {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := replay.NewMCAPReader(f, name)
	for {
		e, err := r.Next()
		if errors.Is(err, io.EOF) {
			return events
		}
		var cut *replay.CorruptError
		if errors.As(err, &cut) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		e.Line = bytes.Clone(e.Line)
		events = append(events, e)
	}
}

// job is a short piece of work with a mark.
func job() sim.Scenario {
	sc := sim.ParallelPasses(2, 60, 12, 11.5)
	sc.Orders = []sim.Order{{AtS: 12, JSON: `{"mark":{"kind":"stone","at":"bar"}}`}}
	return sc
}

// play sends the scenario's lines as fast as they are taken; before is called with
// the number of each.
func (b *bench) play(sc sim.Scenario, before func(n int)) (sent int) {
	b.t.Helper()
	_, err := sim.Run(sc, func(at time.Time, stream string, line []byte) error {
		if b.steps != nil {
			if sent%25 == 0 { // under a second of them
				b.waitFor("what was sent", func() bool { return b.events() >= sent+b.beside })
			}
			b.steps.to(at)
		}
		before(sent)
		sent++
		switch stream {
		case sim.StreamOperator:
			if code := b.say(string(line)); code >= 300 {
				return fmt.Errorf("say: status %d", code)
			}
		case sim.StreamController:
			b.controller.send(line)
		default:
			b.gnss.send(line)
		}
		return nil
	})
	if err != nil {
		b.t.Fatal(err)
	}
	return sent
}

// A live run and the replay of its recording are the same to the byte, summary and
// swaths: also when a port is lost on the way, and when the board's clock is set by
// a day and by ten years.
func TestReplayEqualsLive(t *testing.T) {
	t.Parallel()
	for _, fault := range []string{"none", "port lost", "clock set"} {
		t.Run(fault, func(t *testing.T) {
			t.Parallel()
			sc := job()
			var ahead atomic.Int64
			b := start(t, sc, func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) })
			lost := 0
			sent := b.play(sc, func(n int) {
				switch {
				case fault == "clock set" && n == 300:
					ahead.Store(int64(-24 * time.Hour))
				case fault == "clock set" && n == 500:
					ahead.Store(int64(10 * 365 * 24 * time.Hour))
				case fault == "port lost" && n == 400:
					b.gnss.drop()
					lost = 100
				}
			})
			b.waitFor("the last line", func() bool { return b.events() >= sent-lost })
			if err := b.stop(); err != nil {
				t.Fatal(err)
			}
			summary, swaths := again(t, b.dir)
			live, err := json.Marshal(b.summary)
			if err != nil {
				t.Fatal(err)
			}
			replayed, err := json.Marshal(summary)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(live, replayed) {
				t.Errorf("summaries differ:\n    live %s\nreplayed %s", live, replayed)
			}
			if got, want := strings.Join(swaths, "\n"), strings.Join(b.swaths, "\n"); got != want {
				t.Errorf("swaths differ: live %d bytes, replayed %d", len(want), len(got))
			}
			if b.summary.GNSS.Fixes == 0 || b.summary.Controller.Reports == 0 || len(b.summary.Marks) != 1 {
				t.Errorf("nothing much was seen: %s", live)
			}
		})
	}
}

// With an empty configuration and no port the daemon runs; what is said is recorded
// and a second start keeps the first session.
func TestNothingSetUp(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := config.Default()
	file.Listen, file.Data = "127.0.0.1:0", filepath.Join(dir, "data")
	for run := range 2 {
		ctx, cancel := context.WithCancel(context.Background())
		err := daemon.Run(ctx, daemon.Config{
			File: file, Log: slog.New(slog.DiscardHandler),
			Ready: func(address string) {
				defer cancel()
				r, err := http.Post("http://"+address+"/api/operator", "application/json", strings.NewReader(`{"field":"Far Reach","note":"hello"}`))
				if err != nil {
					t.Error(err)
					return
				}
				r.Body.Close()
				if r.StatusCode >= 300 {
					t.Errorf("say: status %d", r.StatusCode)
				}
			},
		}, nil)
		http.DefaultClient.CloseIdleConnections()
		if err != nil {
			t.Fatal(err)
		}
		if got := len(recorded(t, dir)); got != run+1 {
			t.Errorf("after run %d: %d lines recorded", run+1, got)
		}
	}
}

// Tanks that change in the configuration hold from the reload on, by a line in the
// recording; the rest waits for a restart and is named.
func TestReload(t *testing.T) {
	t.Parallel()
	b := start(t, job(), time.Now)
	text, err := os.ReadFile(b.path)
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.Replace(string(text), "Spring oats", "Winter barley", 1)
	changed = strings.Replace(changed, "stale_after_s: ", "stale_after_s: 1", 1)
	if err := os.WriteFile(b.path, []byte(changed), 0o600); err != nil {
		t.Fatal(err)
	}
	b.reload <- struct{}{}
	b.waitFor("the tanks", func() bool { return b.events() >= 1 })
	b.waitFor("the word on the rest", func() bool { return strings.Contains(b.log.String(), "controller times") })
	if err := os.WriteFile(b.path, []byte("tanks: 7\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	b.reload <- struct{}{}
	b.waitFor("the refusal", func() bool { return strings.Contains(b.log.String(), "not read again") })
	if err := b.stop(); err != nil {
		t.Fatal(err)
	}
	lines := recorded(t, b.dir)
	if len(lines) != 1 || !strings.Contains(string(lines[0].Line), "Winter barley") {
		t.Errorf("recorded %q", lines)
	}
}
