package server

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"drawbar/internal/live"
	"drawbar/internal/units"
)

// fits checks an answer against the description, and returns it as JSON.
func fits(t *testing.T, d described, method, path string, status int, kind string, body []byte) any {
	t.Helper()
	content := d.content(method, path, status)
	kind, _, _ = strings.Cut(kind, ";")
	media, ok := content[kind].(map[string]any)
	if !ok {
		t.Errorf("%s %s: answer %d of type %q is not described (%v): %s", method, path, status, kind, content, body)
		return nil
	}
	var v any = string(body)
	if schema, _ := media["schema"].(map[string]any); kind == "application/json" || strings.HasSuffix(kind, "+json") && schema["type"] == "object" {
		v = nil
		if err := json.Unmarshal(body, &v); err != nil {
			t.Errorf("%s %s: %v in %s", method, path, err, body)
		}
	}
	for _, fault := range d.check(media["schema"].(map[string]any), v, method+" "+path) {
		t.Errorf("%s\nin %s", fault, body)
	}
	return v
}

func TestState(t *testing.T) {
	t.Parallel()
	w := ask(serverOf(t, Config{Units: units.US}), "GET", "/api/state", "")
	var got struct {
		GNSS struct {
			AgeS    float64 `json:"age_s"`
			Quality string
		}
		Operation struct {
			Area struct {
				SkipM2    *float64 `json:"skip_m2"`
				OutsideM2 *float64 `json:"outside_m2"`
			}
		}
		Machine struct{ Sections []string }
		Tanks   []struct {
			RatePerM2 *float64 `json:"rate_per_m2"`
		}
	}
	if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if got.GNSS.AgeS != 0.1 || got.GNSS.Quality != "rtk" || *got.Operation.Area.SkipM2 != 12.5 || got.Operation.Area.OutsideM2 != nil ||
		!slices.Equal(got.Machine.Sections, []string{"on", "off"}) || *got.Tanks[0].RatePerM2 != 0.0113 || got.Tanks[1].RatePerM2 != nil {
		t.Errorf("got %+v", got)
	}
}

// A name that leads here without meaning this machine is refused: the page of
// another site may have pointed it here.
func TestHost(t *testing.T) {
	t.Parallel()
	s := serverOf(t, Config{})
	for host, want := range map[string]int{
		"127.0.0.1:8080": 200, "127.0.0.1": 200, "127.1.2.3:1": 200, "localhost": 200, "localhost:9000": 200, "[::1]:8080": 200, "[::1]": 200,
		"evil.example": 403, "evil.example:8080": 403, "localhost.evil.example": 403, "192.168.1.5:8080": 403, "0.0.0.0:8080": 403,
		"": 403, "127.0.0.1.evil.example": 403, "[::]:8080": 403, "127.0.0.1:8080:1": 403, "2130706433": 403,
	} {
		for _, path := range []string{"/", "/metrics", "/api/state", "/nowhere", "/tiles/swaths/1/0/0.mvt", "/openapi.json"} {
			wantHere := want
			if path == "/nowhere" && want == 200 {
				wantHere = 404
			}
			if path[1:] == "tiles/swaths/1/0/0.mvt" && want == 200 {
				wantHere = 404 // there is no map here
			}
			if w := ask(s, "GET", path, "", "Host", host); w.Code != wantHere {
				t.Errorf("host %q, %s: got %d, want %d", host, path, w.Code, wantHere)
			}
		}
	}
}

func TestOrigin(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		header []string
		want   int
	}{
		{"a program", nil, 200},
		{"our own page", []string{"Origin", "http://127.0.0.1:8080", "Sec-Fetch-Site", "same-origin"}, 200},
		{"our own page in an old browser", []string{"Origin", "http://127.0.0.1:8080"}, 200},
		{"another page", []string{"Origin", "http://evil.example"}, 403},
		{"another page in a new browser", []string{"Origin", "http://evil.example", "Sec-Fetch-Site", "cross-site"}, 403},
		{"another port of this machine", []string{"Origin", "http://127.0.0.1:3000"}, 403},
		{"a file", []string{"Origin", "null"}, 403},
	} {
		h := &heard{}
		w := ask(serverOf(t, Config{Operator: h}), "POST", "/api/operator", `{"note":"x"}`, c.header...)
		if w.Code != c.want || len(h.lines) != (200/w.Code) {
			t.Errorf("%s: got %d with %d recorded, want %d", c.name, w.Code, len(h.lines), c.want)
		}
	}
}

func TestMethods(t *testing.T) {
	t.Parallel()
	s := serverOf(t, Config{Operator: &heard{}})
	for _, c := range []struct {
		method, path string
		want         int
		allow        string
	}{
		{"POST", "/api/state", 405, "GET, HEAD"},
		{"DELETE", "/api/sessions", 405, "GET, HEAD"},
		{"GET", "/api/operator", 405, "POST"},
		{"PUT", "/", 405, "GET, HEAD"},
		{"OPTIONS", "/api/operator", 405, "POST"}, // no other origin is let in
		{"HEAD", "/", 200, ""},
		{"HEAD", "/api/state", 200, ""},
		{"GET", "/api/", 404, ""},
		{"GET", "/index.html", 404, ""},
		{"PUT", "/api/boundary/drive", 405, "GET, HEAD, POST"},
		{"GET", "/api/access/devices/a", 405, "DELETE, POST"},
		{"POST", "/tiles/swaths/0/0/0.mvt", 405, "GET, HEAD"},
	} {
		w := ask(s, c.method, c.path, "")
		if w.Code != c.want || w.Header().Get("Allow") != c.allow || w.Header().Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s %s: got %d with %v, want %d, allowed %q", c.method, c.path, w.Code, w.Header(), c.want, c.allow)
		}
	}
}

// A member that is left out is named.
func TestMissingMember(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ path, body, want string }{
		{"/api/fields/accept", `{}`, "field"},
		{"/api/alarms/seen", `{"subject":"tank 1"}`, "alarm"},
		{"/api/access/devices/a", `{}`, "role"},
	} {
		w := ask(serverOf(t, Config{}), "POST", c.path, c.body)
		var got failureJSON
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
			t.Fatalf("%s: %v in %s", c.path, err, w.Body)
		}
		want := faultJSON{Member: c.want, Got: "nothing", Want: "a value: it cannot be left out"}
		if w.Code != 422 || !slices.Contains(got.Faults, want) {
			t.Errorf("%s %s: got %d %+v, want %+v", c.path, c.body, w.Code, got.Faults, want)
		}
	}
}

func TestOperator(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, body, recorded string
		members              []string
	}{
		{"a mark", "{\n  \"mark\": {\"kind\": \"stone\", \"at\": \"bar\"}\n}\n", `{"mark":{"kind":"stone","at":"bar"}}`, nil},
		{"words beyond ASCII", `{"note":"naß, 12 °C"}`, `{"note":"naß, 12 °C"}`, nil},
		{"not JSON", `{"note"`, "", []string{""}},
		{"two objects", `{"note":"a"}{"note":"b"}`, "", []string{""}},
		{"a list", `[]`, "", []string{""}},
		{"an unknown member", `{"feild":"Mill Piece"}`, "", []string{"feild"}},
		{"one good, two at fault", `{"note":"x","tanks":[{"tank":0}],"weather":{"wind_mps":-1}}`, "", []string{"tanks[0].tank", "weather.wind_mps"}},
		{"a correction", `{"from":"2026-05-14T13:05:10Z","to":"2026-05-14T13:06:10Z","why":"wrong field","field":"Far Reach"}`, "", []string{"from"}},
	} {
		h := &heard{}
		w := ask(serverOf(t, Config{Operator: h}), "POST", "/api/operator", c.body)
		if c.recorded != "" {
			if w.Code != 200 || !slices.Equal(h.lines, []string{c.recorded}) {
				t.Errorf("%s: got %d %s, recorded %q, want %q", c.name, w.Code, w.Body, h.lines, c.recorded)
			}
			continue
		}
		var got failureJSON
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
			t.Fatalf("%s: %v in %s", c.name, err, w.Body)
		}
		var members []string
		for _, f := range got.Faults {
			if f.Want == "" {
				t.Errorf("%s: fault without what was expected: %+v", c.name, f)
			}
			members = append(members, f.Member)
		}
		for _, want := range c.members {
			if !slices.Contains(members, want) {
				t.Errorf("%s: faults at %q, want one at %q", c.name, members, want)
			}
		}
		if w.Code != 422 || len(h.lines) > 0 {
			t.Errorf("%s: got %d with %q recorded, want 422 and nothing", c.name, w.Code, h.lines)
		}
	}
}

func TestListen(t *testing.T) {
	t.Parallel()
	for address, want := range map[string]string{
		"127.0.0.1:8080": "", "127.0.0.1:0": "", "[::1]:8080": "", "localhost:8080": "",
		":8080": "no other machine", "0.0.0.0:8080": "no other machine", "[::]:8080": "no other machine", "192.168.1.5:80": "no other machine",
		"cab.example:8080": "no other machine", "8080": "want host:port", "": "want host:port", "127.0.0.1:http": "want a port", "127.0.0.1:70000": "want a port",
	} {
		_, err := New(Config{Listen: address, Hub: &live.Hub{}})
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("listen on %q: got %v, want %q", address, err, want)
		}
	}
	if _, err := New(Config{Listen: "127.0.0.1:0"}); err == nil {
		t.Error("without a hub: got no error")
	}
}

// On a real port: it answers, a taken port is told, and an open stream does not
// hold up the end.
func TestRun(t *testing.T) {
	t.Parallel()
	s := serverOf(t, Config{})
	ctx, cancel := context.WithCancel(t.Context())
	address, err := s.Listen(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := serverOf(t, Config{Listen: address.String()}).Listen(ctx); err == nil || !strings.Contains(err.Error(), "free port") {
		t.Errorf("a taken port: got %v", err)
	}
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx) }()
	transport := &http.Transport{}
	defer transport.CloseIdleConnections()
	client := &http.Client{Transport: transport}
	resp, err := client.Get(fmt.Sprintf("http://%s/healthz", address))
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != 200 {
		t.Errorf("healthz: got %d", resp.StatusCode)
	}
	stream, err := client.Get(fmt.Sprintf("http://%s/events", address))
	if err != nil {
		t.Fatal(err)
	}
	defer stream.Body.Close()
	begin := time.Now()
	cancel()
	if err := <-done; err != nil {
		t.Errorf("run: got %v, want nil", err)
	}
	if took := time.Since(begin); took > 900*time.Millisecond {
		t.Errorf("the end took %v with a stream open", took)
	}
	if _, err := io.Copy(io.Discard, stream.Body); err != nil {
		t.Errorf("the stream did not end in order: %v", err)
	}
}

// The core that publishes nothing any more is no healthy one.
func TestHealthOfASilentCore(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		var hub live.Hub
		hub.Publish(atWork())
		s := serverOf(t, Config{Hub: &hub})
		time.Sleep(silentAfter)
		if w := ask(s, "GET", "/healthz", ""); w.Code != 200 {
			t.Errorf("after %v: got %d %s", silentAfter, w.Code, w.Body)
		}
		time.Sleep(time.Second)
		if w := ask(s, "GET", "/healthz", ""); w.Code != 503 || !strings.Contains(w.Body.String(), "6 s") {
			t.Errorf("a second later: got %d %s", w.Code, w.Body)
		}
		hub.Publish(atWork())
		if w := ask(s, "GET", "/healthz", ""); w.Code != 200 {
			t.Errorf("published again: got %d %s", w.Code, w.Body)
		}
	})
}

func BenchmarkState(b *testing.B) {
	var hub live.Hub
	s := serverOf(b, Config{Hub: &hub})
	b.ReportAllocs()
	for b.Loop() {
		hub.Publish(atWork())
		if w := ask(s, "GET", "/api/state", ""); w.Code != 200 {
			b.Fatal(w.Code)
		}
	}
}
