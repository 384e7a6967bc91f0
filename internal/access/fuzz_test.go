package access

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

func FuzzHost(f *testing.F) {
	for _, s := range []string{"", "localhost:8080", "[::1]:80", "127.0.0.1", "board.farm.", "[fe80::1%25eth0]", "[::ffff:1.2.3.4]:1", "::1", "a:b:c", "[", "]:1", "xn--a", "a\x00b"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		name, addr, ok := hostOf(s)
		if ok != (name != "" || addr.IsValid()) || name != "" && addr.IsValid() {
			t.Fatalf("host %q: %q %v %v", s, name, addr, ok)
		}
		if name != "" && !strings.HasPrefix(strings.ToLower(s), name) || addr.Is4In6() || addr.Zone() != "" {
			t.Fatalf("host %q: %q %v", s, name, addr)
		}
		if ok && strings.ContainsAny(s, "/@\\?# \r\n\x00") {
			t.Fatalf("host %q is taken", s)
		}
		if name != "" {
			if again, _, ok := hostOf(name); !ok || again != name {
				t.Fatalf("host %q: name %q becomes %q %v", s, name, again, ok)
			}
		}
	})
}

// However the headers look, nobody without the token gets in, and nothing panics.
func FuzzStranger(f *testing.F) {
	f.Add("drawbar_device=x", "Bearer x", "localhost", "127.0.0.1:1", "http://localhost", "/api/access/../state")
	f.Add("drawbar_device=\"", "", "[::1]:8080", "[::1%lo]:1", "null", "/assets/../api/state")
	f.Add("a;;=;drawbar_device", "bearer", "192.0.2.1", "192.0.2.9:99999", "", "//")
	gate, err := New(Config{Public: isPage, Hosts: []string{"board.farm"}, Now: (&clock{t: time.Unix(1e9, 0)}).now})
	if err != nil {
		f.Fatal(err)
	}
	gate.devices.Store(newDevices([]*device{{id: "1", role: Operator, token: digest{1}, presence: newPresence(time.Unix(0, 0))}}))
	gate.requests.each.burst, gate.requests.all.burst = 1<<40, 1<<40
	f.Fuzz(func(t *testing.T, cookie, authorization, host, remote, origin, path string) {
		through := false
		h := gate.Wrap(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
			through = true
			if id := From(r.Context()); id.Role != None && (id.ID != "" || !addrOf(remote).IsLoopback()) {
				t.Fatalf("%+v got in: %v", id, r)
			}
		}))
		r := httptest.NewRequest("GET", "/", nil)
		r.Host, r.RemoteAddr, r.URL.Path = host, remote, path
		r.Header = http.Header{"Cookie": {cookie}, "Authorization": {authorization}, "Origin": {origin}}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if through && !isPage(path) && path != "/api/access" && !addrOf(remote).IsLoopback() {
			t.Fatalf("a stranger from %q got to %q", remote, path)
		}
		if !through && w.Code < 400 {
			t.Fatalf("refused with status %d", w.Code)
		}
	})
}

func FuzzFile(f *testing.F) {
	for _, b := range lists() {
		f.Add(b)
	}
	f.Add([]byte(`{"version":1,"devices":[]}`))
	f.Add([]byte(`{"version":1,"devices":[{}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := parseFile(bytes.NewReader(data))
		if err != nil {
			return
		}
		now := time.Unix(1e9, 0)
		first, err := encodeFile(list, now)
		if err != nil {
			t.Skip("a time that RFC 3339 has no form for")
		}
		again, err := parseFile(bytes.NewReader(first))
		if err != nil {
			t.Fatalf("%s written as %s: %v", data, first, err)
		}
		if second, err := encodeFile(again, now); err != nil || !bytes.Equal(first, second) {
			t.Fatalf("written as %s and then as %s, %v", first, second, err)
		}
	})
}
