package server

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"
)

// books has one recorded session, which says what was asked of it.
type books struct{ released *int }

func (books) Has(_ context.Context, session string) error {
	switch session {
	case "000001-20260514T092000Z":
		return nil
	case "busy":
		return ErrBusySession
	case "many":
		return fmt.Errorf("open it: %w", ErrManySessions)
	}
	return ErrNoSession
}

func (b books) Show(ctx context.Context, session string) (http.Handler, func(), error) {
	if err := b.Has(ctx, session); err != nil {
		return nil, nil, err
	}
	said := func(w http.ResponseWriter, r *http.Request) { fmt.Fprintf(w, "%s %s", r.Method, r.URL.RequestURI()) }
	return http.HandlerFunc(said), func() { *b.released++ }, nil
}

// What is below the path of a session goes to it, with its method and query and
// without the path.
func TestPastPassesOn(t *testing.T) {
	t.Parallel()
	released := 0
	s := serverOf(t, Config{Past: books{&released}, Operator: &heard{}})
	const at = "/past/000001-20260514T092000Z"
	for _, c := range []struct{ method, path, want string }{
		{"GET", "/api/state", "GET /api/state"},
		{"POST", "/api/replay", "POST /api/replay"},
		{"POST", "/api/operator", "POST /api/operator"},
		{"GET", "/events?work=12", "GET /events?work=12"},
		{"GET", "/tiles/covered/3/1/2.mvt?operation=2", "GET /tiles/covered/3/1/2.mvt?operation=2"},
	} {
		released = 0
		w := ask(s, c.method, at+c.path, "{}")
		if w.Code != http.StatusOK || w.Body.String() != c.want || released != 1 {
			t.Errorf("%s %s: status %d, the session was asked %q, want %q; released %d times", c.method, c.path, w.Code, w.Body, c.want, released)
		}
	}
	for path, want := range map[string]int{
		at + "/api/access":                    http.StatusNotFound,
		at + "/past/x/api/state":              http.StatusNotFound,
		"/past/other/api/state":               http.StatusNotFound,
		"/past/busy/api/state":                http.StatusConflict,
		"/past/many/api/state":                http.StatusServiceUnavailable,
		"/past/%2e%2e%2fapi%2fstate/api/stat": http.StatusNotFound,
		at:                                    http.StatusFound,
	} {
		if w := ask(s, "GET", path, ""); w.Code != want {
			t.Errorf("%s: status %d, want %d: %s", path, w.Code, want, w.Body)
		}
	}
	if w := ask(s, "GET", at+"/", ""); !strings.Contains(w.Body.String(), "<title>") {
		t.Errorf("the page: %s", w.Body)
	}
}

// A server within another answers what is passed on, without a guard of its own.
func TestWithinAnotherServer(t *testing.T) {
	t.Parallel()
	inner, err := New(Config{Within: true, Hub: serverOf(t, Config{}).c.Hub})
	if err != nil {
		t.Fatal(err)
	}
	defer inner.End()
	w := ask(serverOf(t, Config{Past: within{inner}}), "GET", "/past/a/api/state", "", "Host", "localhost:8080")
	if w.Code != http.StatusOK || w.Header().Get("Content-Security-Policy") != pagePolicy {
		t.Errorf("status %d, headers %v", w.Code, w.Header())
	}
	w = ask(serverOf(t, Config{Past: within{inner}}), "GET", "/past/a/api/state", "", "Host", "evil.example")
	if w.Code != http.StatusForbidden {
		t.Errorf("another host: status %d, want that of the outer guard", w.Code)
	}
}

type within struct{ *Server }

func (within) Has(context.Context, string) error { return nil }
func (w within) Show(context.Context, string) (http.Handler, func(), error) {
	return w.Handler(), func() {}, nil
}

// The events of a past session end when it is closed.
func TestPastEventsEnd(t *testing.T) {
	t.Parallel()
	inner, err := New(Config{Within: true, Hub: serverOf(t, Config{}).c.Hub})
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan struct{})
	address := start(t, serverOf(t, Config{Past: within{inner}}))
	go func() {
		defer close(ended)
		r, err := http.Get(address + "/past/a/events")
		if err != nil {
			t.Error(err)
			return
		}
		defer r.Body.Close()
		lines := bufio.NewReader(r.Body)
		line := ""
		for !strings.HasPrefix(line, "event: ") {
			if line, err = lines.ReadString('\n'); err != nil {
				t.Errorf("before the first of the events: %q, %v", line, err)
				return
			}
		}
		inner.End()
		_, _ = io.Copy(io.Discard, lines)
	}()
	select {
	case <-ended:
	case <-time.After(10 * time.Second):
		t.Error("the events go on")
	}
	http.DefaultClient.CloseIdleConnections()
}
