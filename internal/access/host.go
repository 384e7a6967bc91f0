package access

import (
	"net"
	"net/http"
	"net/netip"
	"strings"
)

// hostOf splits the host from a Host header, "name", "name:port", "192.0.2.1:port"
// or "[2001:db8::1]:port", see RFC 9110, section 7.2. Exactly one of name, in lower
// case, and addr is set, or ok is false.
func hostOf(header string) (name string, addr netip.Addr, ok bool) {
	host := header
	if i := strings.LastIndexByte(header, ':'); i >= 0 && !strings.HasSuffix(header, "]") {
		host = header[:i]
		if !digits(header[i+1:], 5) {
			return "", addr, false
		}
	}
	if len(host) > 2 && host[0] == '[' && host[len(host)-1] == ']' {
		a, err := netip.ParseAddr(host[1 : len(host)-1])
		if err != nil || !a.Is6() || a.Zone() != "" { // a client sends no zone: RFC 6874, section 4, from memory
			return "", addr, false
		}
		return "", plain(a), true
	}
	name = strings.ToLower(strings.TrimSuffix(host, "."))
	if a, err := netip.ParseAddr(name); err == nil {
		if !a.Is4() || name != host { // IPv6 needs its brackets, and an address has no dot at its end
			return "", addr, false
		}
		return "", a, true
	}
	if len(name) > 253 || strings.Contains("."+name+".", "..") { // an empty label
		return "", addr, false
	}
	for i := range len(name) {
		c := name[i]
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' && c != '.' && c != '_' {
			return "", addr, false
		}
	}
	return name, addr, true
}

// digits tells whether a text is 1 to n digits.
func digits(s string, n int) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return len(s) > 0 && len(s) <= n
}

// plain is an address as others compare with it: IPv4 where it was mapped into
// IPv6 (RFC 4291, section 2.5.5.2), and without zone.
func plain(a netip.Addr) netip.Addr { return a.Unmap().WithZone("") }

// addrOf is the address of a connection's end; invalid where it has none.
func addrOf(hostport string) netip.Addr {
	ap, err := netip.ParseAddrPort(hostport)
	if err != nil {
		return netip.Addr{}
	}
	return plain(ap.Addr())
}

// localAddr is the board's own end of a request's connection.
func localAddr(r *http.Request) (netip.Addr, bool) {
	a, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if !ok || a == nil {
		return netip.Addr{}, false
	}
	return addrOf(a.String()), true
}

// loopbackHost tells whether a Host header can only mean the machine it is used on.
func loopbackHost(header string) bool {
	name, addr, ok := hostOf(header)
	return ok && (name == "localhost" || addr.IsLoopback())
}

// ourHost tells whether a Host header names this board. A page whose name was made
// to point at the board (DNS rebinding) sends its own name and is refused by this.
func (g *Gate) ourHost(r *http.Request) bool {
	name, addr, ok := hostOf(r.Host)
	if !ok {
		return false
	}
	if name != "" {
		return name == "localhost" || g.names[name]
	}
	if addr.IsLoopback() || g.addrs[addr] {
		return true
	}
	local, ok := localAddr(r)
	return ok && local == addr
}

// onBoard tells whether a request was made on the board itself: over loopback, to
// a loopback name, and not on behalf of somebody else.
func onBoard(r *http.Request) bool {
	if !addrOf(r.RemoteAddr).IsLoopback() || !loopbackHost(r.Host) {
		return false
	}
	if local, ok := localAddr(r); ok && !local.IsLoopback() {
		return false
	}
	for _, passedOn := range []string{"Forwarded", "Via", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Real-Ip"} {
		if len(r.Header[passedOn]) > 0 {
			return false
		}
	}
	return true
}

// fromOwnPage tells whether a request may have been sent by the board's page or by
// a program, as far as it says: Origin (RFC 6454, section 7) and Sec-Fetch-Site
// (W3C Fetch Metadata) are written by the browser, not by the page.
func fromOwnPage(r *http.Request) bool {
	for _, origin := range r.Header["Origin"] {
		if !strings.EqualFold(origin, "http://"+r.Host) && !strings.EqualFold(origin, "https://"+r.Host) {
			return false
		}
	}
	for _, site := range r.Header["Sec-Fetch-Site"] {
		if site != "same-origin" && site != "none" && !followed(r) {
			return false
		}
	}
	return true
}

// followed tells whether somebody followed a link: the browser shows the answer
// and gives it to no page.
func followed(r *http.Request) bool {
	return reads(r) && r.Header.Get("Sec-Fetch-Mode") == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document"
}

// reads tells whether a request changes nothing, see RFC 9110, section 9.2.1.
func reads(r *http.Request) bool { return r.Method == http.MethodGet || r.Method == http.MethodHead }
