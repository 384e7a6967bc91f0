package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"drawbar/internal/boundary"
	"drawbar/internal/config"
	"drawbar/internal/server"
	"drawbar/internal/testkit/recordings"
)

// bookshelf is recorded sessions to look at.
func bookshelf(t *testing.T, examples ...string) (p *pasts, names []string) {
	t.Helper()
	dir := t.TempDir()
	for _, example := range examples {
		names = append(names, recordings.Of(t, dir, example))
	}
	cfg := &Config{File: config.Default(), Version: "test", Log: slog.New(slog.DiscardHandler)}
	p = newPasts(cfg, dir, func() string { return "" }, func() []boundary.Field { return nil })
	t.Cleanup(p.close)
	return p, names
}

// shown asks a session that is looked at.
func shown(t *testing.T, p *pasts, session, method, path, body string, into any) int {
	t.Helper()
	handler, release, err := p.Show(t.Context(), session)
	if err != nil {
		t.Fatalf("show %s: %v", session, err)
	}
	defer release()
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	if into != nil {
		if err := json.Unmarshal(w.Body.Bytes(), into); err != nil {
			t.Fatalf("%s %s: %v: %s", method, path, err, w.Body)
		}
	}
	return w.Code
}

type stateOfPast struct {
	Replay *struct {
		Start, End, At time.Time
		Playing        bool
		Speed          float64
	}
	Operation *struct {
		Area struct {
			GrossM2 float64 `json:"gross_m2"`
		}
	}
}

func soon(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for range 4000 {
		if ok() {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatalf("waited in vain for %s", what)
}

// The figures by hand are those of testdata/sessions/two-tanks/about.md.
func TestPastOpensAtItsEndAndIsSteered(t *testing.T) {
	t.Parallel()
	p, names := bookshelf(t, "two-tanks")
	var s stateOfPast
	gross := func() float64 {
		s = stateOfPast{}
		shown(t, p, names[0], "GET", "/api/state", "", &s)
		if s.Operation == nil {
			return 0
		}
		return s.Operation.Area.GrossM2
	}
	const byHand = 647.775
	soon(t, "the whole of it", func() bool { v := gross(); return v > byHand-0.01 && v < byHand+0.01 })
	if s.Replay == nil || s.Replay.Playing || !s.Replay.At.Equal(s.Replay.End) {
		t.Errorf("it does not stand still at its end: %+v", s.Replay)
	}
	// 16 s into it there are the 10 s from 6 s on, 12 m wide at 2.5 m/s: 300 m2
	at := time.Date(2026, 5, 14, 9, 20, 16, 0, time.UTC).Format(time.RFC3339)
	if code := shown(t, p, names[0], "POST", "/api/replay", `{"at":"`+at+`"}`, nil); code != http.StatusOK {
		t.Fatalf("steered: status %d", code)
	}
	soon(t, "the first 10 s of work", func() bool { v := gross(); return v > 290 && v < 310 })
	if code := shown(t, p, names[0], "POST", "/api/operator", `{"note":"x"}`, nil); code != http.StatusConflict {
		t.Errorf("an operator line: status %d, want %d", code, http.StatusConflict)
	}
	tile := func() int { return shown(t, p, names[0], "GET", "/tiles/covered/0/0/0.mvt", "", nil) }
	if code := tile(); code != http.StatusOK && code != http.StatusNoContent {
		t.Errorf("a tile: status %d", code)
	}
}

// Who opens a session finds a state there from the first request on.
func TestPastHasAStateAtOnce(t *testing.T) {
	t.Parallel()
	p, names := bookshelf(t, "two-tanks")
	for range 10 {
		var state stateOfPast
		if code := shown(t, p, names[0], "GET", "/api/state", "", &state); code != http.StatusOK || state.Replay == nil {
			t.Fatalf("status %d, replay %+v", code, state.Replay)
		}
		p.Forget(names[0])
	}
}

func TestPastRefuses(t *testing.T) {
	t.Parallel()
	p, names := bookshelf(t, "two-tanks")
	for _, name := range []string{"", "..", "../x", "000009-20260514T130510Z", names[0] + ".2", ".hidden", names[0] + "/x"} {
		if _, _, err := p.Show(t.Context(), name); !errors.Is(err, server.ErrNoSession) {
			t.Errorf("show %q: %v, want that there is none", name, err)
		}
	}
	p.busy = func() string { return names[0] }
	if _, _, err := p.Show(t.Context(), names[0]); !errors.Is(err, server.ErrBusySession) {
		t.Errorf("the session that is being recorded: %v", err)
	}
}

// Two are open at most. One that nobody looks at makes room, and one that is looked
// at does not.
func TestPastAtMostTwo(t *testing.T) {
	t.Parallel()
	p, names := bookshelf(t, "two-tanks", "pond", "headland")
	_, first, err := p.Show(t.Context(), names[0])
	if err != nil {
		t.Fatal(err)
	}
	_, second, err := p.Show(t.Context(), names[1])
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := p.Show(t.Context(), names[2]); !errors.Is(err, server.ErrManySessions) {
		t.Errorf("a third: %v, want it refused", err)
	}
	second()
	_, third, err := p.Show(t.Context(), names[2])
	if err != nil {
		t.Fatalf("a third when the second is left: %v", err)
	}
	p.mu.Lock()
	_, left := p.open[names[1]]
	n := len(p.open)
	p.mu.Unlock()
	if left || n != 2 {
		t.Errorf("%d are open, the second one of them: %v", n, left)
	}
	first()
	third()
}

// It is closed when nobody has looked for a while, opened again when somebody does,
// and opened anew after it was corrected.
func TestPastIdle(t *testing.T) {
	t.Parallel()
	p, names := bookshelf(t, "two-tanks")
	p.idle = 20 * time.Millisecond
	_, release, err := p.Show(t.Context(), names[0])
	if err != nil {
		t.Fatal(err)
	}
	open := func() *past {
		p.mu.Lock()
		defer p.mu.Unlock()
		return p.open[names[0]]
	}
	was := open()
	time.Sleep(5 * p.idle)
	if open() != was {
		t.Error("it was closed while somebody looked at it")
	}
	release()
	soon(t, "it to be closed", func() bool { return open() == nil })
	p.shows.Wait()
	if code := shown(t, p, names[0], "GET", "/healthz", "", nil); code != http.StatusOK && code != http.StatusServiceUnavailable {
		t.Errorf("opened again: status %d", code)
	}
	p.idle = time.Hour
	_, release, err = p.Show(t.Context(), names[0])
	if err != nil {
		t.Fatal(err)
	}
	was = open()
	p.Forget(names[0])
	release()
	_, release, err = p.Show(context.Background(), names[0])
	if err != nil {
		t.Fatal(err)
	}
	defer release()
	if open() == was {
		t.Error("after a correction the old one is shown")
	}
}
