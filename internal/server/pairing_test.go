package server

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
)

// From another machine nothing but the page and the pairing is there; a paired
// viewer sees and cannot say anything; a device that is locked out loses its stream.
func TestPairing(t *testing.T) {
	t.Parallel()
	said := &heard{}
	s := serverOf(t, Config{Access: gate(t), Operator: said, Listen: "0.0.0.0:0"})
	const away, home = "192.0.2.7:40000", "127.0.0.1:40000"
	at := func(remote, method, path, body, cookie string) (int, string, string) {
		t.Helper()
		w := ask(s, method, path, body, "Remote", remote, "Cookie", cookie)
		return w.Code, w.Body.String(), w.Header().Get("Set-Cookie")
	}
	for path, want := range map[string]int{"/": 200, "/api/access": 200, "/api/state": 401, "/events": 401, "/tiles/swaths/1/0/0.mvt": 401, "/metrics": 401, "/openapi.json": 401, "/healthz": 401, "/api/access/code": 401, "/api/access/devices": 401} {
		if code, body, _ := at(away, "GET", path, "", ""); code != want {
			t.Errorf("a stranger, %s: got %d %s, want %d", path, code, body, want)
		}
	}
	_, body, _ := at(home, "POST", "/api/access/code", `{"role":"viewer"}`, "")
	code := decode[codeJSON](t, body)
	status, body, cookie := at(away, "POST", "/api/access/pair", fmt.Sprintf(`{"code":%q,"name":"tablet in the cab"}`, code.Code), "")
	if got := decode[accessJSON](t, body); status != 200 || got.Role != "viewer" || got.Local || *got.Device != "tablet in the cab" {
		t.Fatalf("paired: got %d %s", status, body)
	}
	for _, want := range []string{"drawbar_device=", "HttpOnly", "SameSite=Strict", "Path=/"} {
		if !strings.Contains(cookie, want) {
			t.Errorf("the cookie %q lacks %s", cookie, want)
		}
	}
	cookie, _, _ = strings.Cut(cookie, ";")
	if status, _, _ := at(away, "GET", "/api/state", "", cookie); status != 200 {
		t.Errorf("a viewer, state: got %d", status)
	}
	if status, body, _ := at(away, "POST", "/api/operator", `{"note":"x"}`, cookie); status != 403 || len(said.lines) > 0 {
		t.Errorf("a viewer says something: got %d %s", status, body)
	}
	_, body, _ = at(home, "GET", "/api/access/devices", "", "")
	id := decode[devicesJSON](t, body).Devices[0].ID
	if status, body, _ = at(home, "POST", "/api/access/devices/"+id, `{"role":"operator"}`, ""); status != 200 || decode[deviceJSON](t, body).Role != "operator" {
		t.Errorf("made an operator: got %d %s", status, body)
	}
	if status, body, _ = at(away, "POST", "/api/operator", `{"note":"x"}`, cookie); status != 200 || len(said.lines) != 1 {
		t.Errorf("an operator says something: got %d %s", status, body)
	}
	if status, _, _ = at(home, "DELETE", "/api/access/devices/"+id, "", ""); status != 200 {
		t.Errorf("locked out: got %d", status)
	}
	if status, _, _ = at(away, "GET", "/api/state", "", cookie); status != 401 {
		t.Errorf("a device that is locked out: got %d", status)
	}
}

// Over a real socket through a forwarding program, which takes the board's own
// freedom away: a stream ends when its device is locked out.
func TestRevokedStreamEnds(t *testing.T) {
	t.Parallel()
	s := serverOf(t, Config{Access: gate(t)})
	base := start(t, s)
	transport := &http.Transport{}
	defer transport.CloseIdleConnections()
	call := func(method, path, body string, header ...string) *http.Response {
		t.Helper()
		r, err := http.NewRequest(method, base+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/json")
		for i := 0; i < len(header); i += 2 {
			r.Header.Set(header[i], header[i+1])
		}
		resp, err := transport.RoundTrip(r)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { resp.Body.Close() })
		return resp
	}
	text := func(r *http.Response) string {
		t.Helper()
		b, err := io.ReadAll(r.Body)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	code := decode[codeJSON](t, text(call("GET", "/api/access/code", "")))
	paired := call("POST", "/api/access/pair", fmt.Sprintf(`{"code":%q}`, code.Code), "X-Forwarded-For", "192.0.2.7")
	if paired.StatusCode != 200 {
		t.Fatalf("pair: got %d %s", paired.StatusCode, text(paired))
	}
	cookie := paired.Cookies()[0].Name + "=" + paired.Cookies()[0].Value
	stream := call("GET", "/events", "", "X-Forwarded-For", "192.0.2.7", "Cookie", cookie)
	c := newClient(stream)
	c.want(t, "state")
	id := decode[devicesJSON](t, text(call("GET", "/api/access/devices", ""))).Devices[0].ID
	call("DELETE", "/api/access/devices/"+id, "")
	for {
		if _, err := c.next(); err != nil {
			return // ended, else the test would not
		}
	}
}
