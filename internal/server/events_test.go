package server

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"drawbar/coverage"
	"drawbar/internal/live"
)

// event is one that a client received; a comment has only a comment.
type event struct {
	id, name, data, comment string
}

// client reads one event stream.
type client struct {
	resp   *http.Response
	lines  *bufio.Reader
	cancel func()
}

// rig is a server over pipes inside a bubble.
type rig struct {
	hub    *live.Hub
	server *Server
	pipes  *pipes
	stop   context.CancelFunc
	done   chan error
	log    *atomicLog
}

// atomicLog counts log lines that tell of a client cut off.
type atomicLog struct {
	slog.Handler
	cut atomic.Int32
}

func (l *atomicLog) Handle(_ context.Context, r slog.Record) error {
	if strings.Contains(r.Message, "cut off") {
		l.cut.Add(1)
	}
	return nil
}

func (l *atomicLog) Enabled(context.Context, slog.Level) bool { return true }

func logTo(l *atomicLog) *slog.Logger { return slog.New(l) }

func newRig(t *testing.T) *rig {
	t.Helper()
	r := &rig{hub: &live.Hub{}, pipes: newPipes(), done: make(chan error, 1), log: &atomicLog{Handler: slog.DiscardHandler}}
	r.server = serverOf(t, Config{Hub: r.hub, Log: logTo(r.log)})
	ctx, cancel := context.WithCancel(t.Context())
	r.stop = cancel
	go func() { r.done <- r.server.serve(ctx, r.pipes) }()
	t.Cleanup(func() {
		cancel()
		r.pipes.Close()
		if err := <-r.done; err != nil {
			t.Errorf("serve: %v", err)
		}
	})
	return r
}

func (r *rig) open(t *testing.T, lastID string) *client {
	t.Helper()
	return r.openAt(t, "/events", lastID)
}

func (r *rig) openAt(t *testing.T, path, lastID string) *client {
	t.Helper()
	var header []string
	if lastID != "" {
		header = []string{"Last-Event-ID", lastID}
	}
	resp, end, err := r.pipes.get(t.Context(), path, header...)
	if err != nil {
		t.Fatal(err)
	}
	if resp.StatusCode != 200 || resp.Header.Get("Content-Type") != "text/event-stream" {
		t.Fatalf("events: got %d %q", resp.StatusCode, resp.Header.Get("Content-Type"))
	}
	t.Cleanup(end)
	c := newClient(resp)
	c.cancel = end
	return c
}

func newClient(resp *http.Response) *client {
	return &client{resp: resp, lines: bufio.NewReader(resp.Body)}
}

// next is the next event or comment, io.EOF at the end. The field retry is passed
// over.
func (c *client) next() (e event, err error) {
	for {
		line, err := c.lines.ReadString('\n')
		if err != nil {
			return e, err
		}
		line = strings.TrimSuffix(line, "\n")
		name, value, _ := strings.Cut(line, ": ")
		switch name {
		case "id":
			e.id = value
		case "event":
			e.name = value
		case "data":
			e.data = value
		case "":
			if value != "" {
				e.comment = value
			}
			if line == "" && e != (event{}) {
				return e, nil
			}
		}
	}
}

func (c *client) want(t *testing.T, name string) event {
	t.Helper()
	e, err := c.next()
	if err != nil || e.name != name {
		t.Fatalf("got %+v, %v, want the event %q", e, err, name)
	}
	return e
}

func alarmNotice(text string, raised bool) live.Notice {
	return live.Notice{At: noon, Alarm: &live.AlarmChange{Raised: raised, At: noon, AlarmState: live.AlarmState{Alarm: live.NoFix, Severity: live.Critical, Text: text, Since: noon}}}
}

// What happens is sent in order and with what the description says.
func TestEvents(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		d, r := description(t), newRig(t)
		c := r.open(t, "")
		synctest.Wait()
		r.hub.Publish(atWork())
		fit := func(e event, schema string) {
			t.Helper()
			var v any
			if err := json.Unmarshal([]byte(e.data), &v); err != nil {
				t.Fatalf("%s: %v in %s", e.name, err, e.data)
			}
			for _, fault := range d.check(d.schemas[schema].(map[string]any), v, e.name) {
				t.Error(fault)
			}
		}
		fit(c.want(t, "state"), "State")
		r.hub.Tell(alarmNotice("There is no position: check the antenna.", true))
		r.hub.Tell(live.Notice{At: noon, Mark: &coverage.Mark{Time: noon, Kind: "stone", Note: "big", LatDeg: 53.35, LonDeg: -0.01, Known: true}})
		r.hub.Tell(live.Notice{At: noon, Mark: &coverage.Mark{Kind: "stone", Number: 7}, Undone: true})
		first := c.want(t, "alarm")
		fit(first, "AlarmEvent")
		fit(c.want(t, "mark"), "MarkEvent")
		last := c.want(t, "mark")
		fit(last, "MarkEvent")
		if !strings.HasSuffix(first.id, "-1") || !strings.HasSuffix(last.id, "-3") {
			t.Errorf("ids: got %q and %q, want numbers 1 and 3", first.id, last.id)
		}
		if !strings.Contains(last.data, `"lon_deg":null`) || !strings.Contains(last.data, `"number":7`) || !strings.Contains(last.data, `"undone":true`) {
			t.Errorf("a mark without a place: %s", last.data)
		}
	})
}

// However often the core publishes, a client gets at most ten states a second,
// and always the latest in the end.
func TestAtMostTenStatesASecond(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		r := newRig(t)
		c := r.open(t, "")
		go func() {
			for i := range 200 { // 10 s at 20 Hz
				s := atWork()
				s.Snapshot.Events = uint64(i + 1)
				r.hub.Publish(s)
				time.Sleep(50 * time.Millisecond)
			}
			r.hub.Close()
		}()
		begin, n, last := time.Now(), 0, event{}
		var took time.Duration
		for {
			e, err := c.next()
			if err != nil {
				if err != io.EOF {
					t.Errorf("the stream ended with %v", err)
				}
				break
			}
			n, last, took = n+1, e, time.Since(begin)
		}
		if limit := int(took/stateEvery) + 1; n > limit || n < limit-5 {
			t.Errorf("got %d states in %v, want at most %d and few less", n, took, limit)
		}
		var s struct{ Events int }
		if err := json.Unmarshal([]byte(last.data), &s); err != nil || s.Events < 196 {
			t.Errorf("the last state is of event %d, %v, want about 200", s.Events, err)
		}
	})
}

func TestBeat(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		r := newRig(t)
		c := r.open(t, "")
		begin := time.Now()
		for i := range 20 { // 200 s: no timeout of the server ends a stream
			e, err := c.next()
			if want := time.Duration(i+1) * beatEvery; err != nil || e.comment != "beat" || time.Since(begin) != want {
				t.Fatalf("got %+v, %v after %v, want a beat after %v", e, err, time.Since(begin), want)
			}
		}
	})
}

// A client that lost its connection gets what happened meanwhile, once.
func TestComeBack(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		r := newRig(t)
		r.hub.Publish(atWork())
		r.hub.Tell(alarmNotice("before anyone looked", true))
		c := r.open(t, "")
		state := c.want(t, "state") // nothing of before: the state has what stands
		r.hub.Tell(alarmNotice("one", true))
		seen := c.want(t, "alarm")
		c.cancel()
		synctest.Wait()
		r.hub.Tell(alarmNotice("two", false))
		r.hub.Tell(alarmNotice("three", true))

		for _, again := range []struct {
			id   string
			want []string
		}{
			{seen.id, []string{"two", "three"}},
			{state.id, []string{"one", "two", "three"}},
			{"0-77", []string{"before anyone looked", "one", "two", "three"}}, // of another run of the daemon
			{"nonsense", []string{"before anyone looked", "one", "two", "three"}},
		} {
			c := r.open(t, again.id)
			for _, want := range again.want {
				if e := c.want(t, "alarm"); !strings.Contains(e.data, `"text":"`+want+`"`) {
					t.Errorf("after %q: got %s, want %q", again.id, e.data, want)
				}
			}
			if e := c.want(t, "state"); !strings.HasSuffix(e.id, "-4") {
				t.Errorf("after %q: the state has the id %q, want number 4", again.id, e.id)
			}
			c.cancel()
		}
		for range 300 {
			r.hub.Tell(alarmNotice("many", true))
		}
		c = r.open(t, seen.id)
		if e := c.want(t, "missed"); e.data != `{"notices":46}` { // 302 since, 256 kept
			t.Errorf("got %s, want 46 missed", e.data)
		}
	})
}

// A client that stops reading is cut within the time it has, while another one
// gets everything and the core never waits.
func TestSlowClientIsCut(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		r := newRig(t)
		r.hub.Publish(atWork())
		slow, quick := r.open(t, ""), r.open(t, "")
		got := make(chan int)
		go func() {
			n := 0
			for {
				if _, err := quick.next(); err != nil {
					got <- n
					return
				}
				n++
			}
		}()
		begin := time.Now()
		for range 100 { // 20 s
			published := time.Now()
			r.hub.Publish(atWork())
			if waited := time.Since(published); waited > 0 {
				t.Fatalf("the core waited %v for a client", waited)
			}
			time.Sleep(200 * time.Millisecond)
		}
		if n := r.log.cut.Load(); n != 1 {
			t.Errorf("clients cut after %v: got %d, want 1", time.Since(begin), n)
		}
		r.hub.Close()
		if n := <-got; n < 95 {
			t.Errorf("the quick client got %d states, want about 100", n)
		}
		if rest, err := io.ReadAll(slow.resp.Body); err == nil && len(rest) > 100_000 {
			t.Errorf("the slow client still got %d bytes", len(rest))
		}
	})
}

// Notices that no longer fit a client's buffer cut it even before its time is up.
func TestTooManyNoticesCut(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		r := newRig(t)
		c := r.open(t, "")
		synctest.Wait()
		for i := range 400 {
			r.hub.Tell(alarmNotice(fmt.Sprint("number ", i), true))
		}
		n := 0
		for {
			e, err := c.next()
			if err != nil {
				break
			}
			if want := fmt.Sprintf(`"text":"number %d"`, n); !strings.Contains(e.data, want) {
				t.Fatalf("notice %d: got %s", n, e.data)
			}
			n++
		}
		if n >= 400 {
			t.Fatalf("got all %d notices, want to be cut", n)
		}
		// With the id of the last one it gets those that are kept.
		c = r.open(t, fmt.Sprintf("%s-%d", r.server.run, n))
		if e := c.want(t, "missed"); e.data != fmt.Sprintf(`{"notices":%d}`, 400-n-256) {
			t.Errorf("after %d of 400: %s", n, e.data)
		}
	})
}

// Who asks for the head of a stream is not kept waiting for its end.
func TestHeadOfEvents(t *testing.T) {
	t.Parallel()
	w := ask(serverOf(t, Config{}), "HEAD", "/events", "")
	if w.Code != 200 || w.Header().Get("Content-Type") != "text/event-stream" || w.Body.Len() > 0 {
		t.Errorf("got %d with %v", w.Code, w.Header())
	}
}

func TestTooManyClients(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		r := newRig(t)
		for i := range 70 {
			resp, end, err := r.pipes.get(t.Context(), "/events")
			if err != nil {
				t.Fatal(err)
			}
			defer end()
			want := 200
			if i >= 64 {
				want = 503
			}
			if resp.StatusCode != want {
				t.Fatalf("client %d: got %d, want %d", i+1, resp.StatusCode, want)
			}
		}
		if w := ask(r.server, "GET", "/healthz", ""); w.Code != 503 { // nothing was published yet
			t.Errorf("healthz: got %d", w.Code)
		}
	})
}
