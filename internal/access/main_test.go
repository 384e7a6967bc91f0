package access

import (
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	switch os.Getenv(roleEnv) {
	case "writer":
		fmt.Fprintln(os.Stderr, writeForever(os.Getenv(pathEnv)))
		os.Exit(1)
	case "board":
		os.Exit(boardMain())
	case "tablet":
		os.Exit(tabletMain())
	}
	goleak.VerifyTestMain(m)
}

// roleEnv makes the test program another one.
const (
	roleEnv = "ACCESS_TEST_ROLE"
	pathEnv = "ACCESS_TEST_PATH"
)

// clock is set by hand.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// console keeps the codes that were shown.
type console struct {
	mu    sync.Mutex
	codes []Code
}

func (c *console) show(code Code) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.codes = append(c.codes, code)
}

func (c *console) last(t testing.TB) string {
	t.Helper()
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.codes) == 0 {
		t.Fatal("the console shows no code")
	}
	return c.codes[len(c.codes)-1].Code
}

func (c *console) count() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return len(c.codes)
}

// board is a gate before handlers that tell what came through.
type board struct {
	*Gate
	clock   *clock
	console *console
	handler http.Handler
	file    string
}

func isPage(path string) bool { return path == "/" || strings.HasPrefix(path, "/assets/") }

// forHelper is what a helper may do on this board.
func forHelper(method, path string) bool {
	return path == "/api/marks" && (method == "GET" || method == "HEAD") || path == "/api/marks/7" && method == "POST"
}

func newBoard(t testing.TB, file string) *board {
	t.Helper()
	b := &board{clock: &clock{t: time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)}, console: &console{}, file: file}
	gate, err := New(Config{File: file, Public: isPage, Helper: forHelper, Announce: b.console.show, Now: b.clock.now, Hosts: []string{"board.farm", "203.0.113.9", "2001:db8::9"}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { gate.Close() })
	b.Gate = gate
	b.handler = gate.Wrap(routes(gate))
	return b
}

func fileIn(t testing.TB) string { return filepath.Join(t.TempDir(), "devices.json") }

// routes are as the daemon has them; everything else shows the farm.
func routes(g *Gate) http.Handler {
	mux := http.NewServeMux()
	give := func(w http.ResponseWriter, v any, err error) {
		if err != nil {
			AsError(err).write(w)
			return
		}
		_ = json.NewEncoder(w).Encode(v)
	}
	mux.HandleFunc("GET /api/access", func(w http.ResponseWriter, r *http.Request) { give(w, g.Status(r.Context()), nil) })
	mux.HandleFunc("POST /api/access/pair", func(w http.ResponseWriter, r *http.Request) {
		var in struct{ Code, Name string }
		if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
			give(w, nil, refuse(http.StatusBadRequest, "%v", err))
			return
		}
		p, err := g.Pair(r.Context(), in.Code, in.Name)
		if err == nil {
			http.SetCookie(w, p.Cookie)
		}
		give(w, map[string]any{"role": p.Role}, err)
	})
	mux.HandleFunc("GET /api/access/code", func(w http.ResponseWriter, r *http.Request) {
		v, err := g.Code(r.Context())
		give(w, v, err)
	})
	mux.HandleFunc("GET /api/access/devices", func(w http.ResponseWriter, r *http.Request) {
		v, err := g.Devices(r.Context())
		give(w, v, err)
	})
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		fmt.Fprintf(w, "Mill Piece as seen by %s", From(r.Context()).Role)
	})
	return mux
}

// ask sends a request; set changes it before.
func (b *board) ask(method, target string, set ...func(*http.Request)) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, target, strings.NewReader(`{}`))
	r.Host = "192.0.2.1:8080"
	r.RemoteAddr = "192.0.2.50:40000"
	r = r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, net.Addr(&net.TCPAddr{IP: net.IPv4(192, 0, 2, 1), Port: 8080})))
	for _, f := range set {
		f(r)
	}
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, r)
	return w
}

func from(addr string) func(*http.Request) { return func(r *http.Request) { r.RemoteAddr = addr } }

func host(name string) func(*http.Request) { return func(r *http.Request) { r.Host = name } }

func header(name, value string) func(*http.Request) {
	return func(r *http.Request) { r.Header.Add(name, value) }
}

func body(text string) func(*http.Request) {
	return func(r *http.Request) { r.Body = nopCloser{strings.NewReader(text)} }
}

type nopCloser struct{ *strings.Reader }

func (nopCloser) Close() error { return nil }

// onTheBoard makes a request one of the board itself.
func onTheBoard(r *http.Request) {
	r.Host, r.RemoteAddr = "localhost:8080", "127.0.0.1:40000"
	*r = *r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, net.Addr(&net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 8080})))
}

// as sends a device's token.
func as(c *http.Cookie) func(*http.Request) {
	return func(r *http.Request) { r.AddCookie(&http.Cookie{Name: c.Name, Value: c.Value}) }
}

func local() context.Context {
	return with(context.Background(), Identity{Role: Operator, Local: true})
}

// pair pairs a device with a role.
func (b *board) pair(t testing.TB, role Role, name string) Paired {
	t.Helper()
	code, err := b.NewCode(local(), role)
	if err != nil {
		t.Fatal(err)
	}
	b.clock.add(10 * time.Second)
	p, err := b.Pair(with(context.Background(), Identity{Addr: addrOf(fmt.Sprintf("192.0.2.%d:1", 100+len(b.Gate.devices.Load().list)))}), code.Code, name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// wantStatus fails unless an answer has the status and, being a refusal, the body
// and headers of one and nothing of the farm.
func wantStatus(t testing.TB, what string, w *httptest.ResponseRecorder, status int) {
	t.Helper()
	if w.Code != status {
		t.Errorf("%s: status %d %s, want %d", what, w.Code, w.Body, status)
		return
	}
	if status < 400 {
		return
	}
	var v map[string]any
	if err := json.Unmarshal(w.Body.Bytes(), &v); err != nil || len(v) != 2 || v["error"] == "" || !slices.Equal(v["faults"].([]any), []any{}) {
		t.Errorf("%s: body %q, want {\"error\": words, \"faults\": []}", what, w.Body)
	}
	if strings.Contains(w.Body.String(), "Mill Piece") {
		t.Errorf("%s: a refusal tells of the farm: %s", what, w.Body)
	}
	// RFC 9110, section 15.5.2: a 401 carries a challenge.
	if got := w.Header().Get("WWW-Authenticate") != ""; got != (status == http.StatusUnauthorized) {
		t.Errorf("%s: status %d, WWW-Authenticate %q", what, status, w.Header().Get("WWW-Authenticate"))
	}
}
