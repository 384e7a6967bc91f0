package access

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"time"
)

// Config is what a Gate needs. Everything may be left out.
type Config struct {
	// File keeps the paired devices; one process may use it at a time. Empty: they
	// are known until the program ends.
	File string
	// Hosts are further names and addresses, without port, by which clients reach
	// this board: a name that the farm's router gives it, or its address behind a
	// port forwarding. Known without: loopback names, the address a connection came
	// in on, and this machine's name with and without ".local".
	Hosts []string
	// Public tells which paths are files of the page, shown to anyone by GET; they
	// must hold nothing of the farm. Nil: none.
	Public func(path string) bool
	// Helper tells which requests a helper may send, beside files of the page and
	// pairing. Nil: none.
	Helper func(method, path string) bool
	// Announce shows a new pairing code to whoever sees the board. It must not block.
	// Nil: codes are shown only on the board, by Code.
	Announce func(Code)
	Now      func() time.Time // nil: time.Now
	Log      *slog.Logger     // nil: silent; no code and no token is ever logged
}

const (
	strangerBody = 4 << 10 // bytes that a stranger may send in a request
	saveSeen     = time.Hour
	rememberAddr = 1024 // addresses of strangers kept in mind
)

// Gate decides who may do what. Its methods may be called by several goroutines.
type Gate struct {
	c        Config
	log      *slog.Logger
	names    map[string]bool
	addrs    map[netip.Addr]bool
	often    rate     // requests of a device
	requests *limiter // of strangers
	tries    *limiter // to pair
	locked   error    // why nobody from elsewhere is let in; nil: they are

	devices atomic.Pointer[devices]
	saved   atomic.Int64 // unix seconds of the last try to write the file
	stale   atomic.Bool  // the file lacks something that the list has

	mu      sync.Mutex
	pairing pairing

	change sync.Mutex // held while the list of devices is changed and written
	closed bool
}

// New reads the paired devices. The error tells of a wrong configuration alone: a
// file of devices that cannot be read leaves the board itself free and locks
// everybody else out, as Locked says.
func New(c Config) (*Gate, error) {
	g := &Gate{
		c: c, log: c.Log, names: make(map[string]bool), addrs: make(map[netip.Addr]bool),
		// A page that opens asks for some twenty files at once, a map that is turned
		// for some hundred tiles.
		often:    rate{time.Second / 100, 400},
		requests: newLimiter(rate{time.Second / 10, 60}, rate{time.Second / 50, 200}, rememberAddr),
		// OWASP ASVS 4.0, 2.2.1: no more than 100 wrong tries an hour.
		tries: newLimiter(rate{2 * time.Minute, 5}, rate{time.Minute, 10}, rememberAddr),
	}
	if g.log == nil {
		g.log = slog.New(slog.DiscardHandler)
	}
	if g.c.Now == nil {
		g.c.Now = time.Now
	}
	for _, host := range c.Hosts {
		name, addr, ok := hostOf(host)
		if a, err := netip.ParseAddr(host); err == nil {
			name, addr, ok = "", plain(a), true
		}
		switch {
		case !ok || strings.ContainsRune(host, ':') && name != "":
			return nil, fmt.Errorf("allow the host %q: want a name or an address without port, such as board.farm or 192.0.2.7", host)
		case name != "":
			g.names[name] = true
		default:
			g.addrs[addr] = true
		}
	}
	if host, err := os.Hostname(); err == nil {
		if name, _, ok := hostOf(host); ok && name != "" {
			first, _, _ := strings.Cut(name, ".")
			g.names[name], g.names[first], g.names[first+".local"] = true, true, true
		}
	}
	var list []*device
	if c.File != "" {
		if err := tidyFile(c.File); err != nil {
			g.log.Warn("tidying up the file of paired devices failed", "error", err)
		}
		var err error
		if list, err = readFile(c.File); err != nil {
			g.locked = fmt.Errorf("%w; nobody but this machine is let in: put the file right, or move it away and pair the devices again, then start the daemon again", err)
			g.log.Error("no paired device is let in", "error", g.locked)
		}
	}
	g.devices.Store(newDevices(list))
	g.saved.Store(g.c.Now().Unix())
	return g, nil
}

// Locked says why nobody from elsewhere is let in, and what to do; nil if they are.
func (g *Gate) Locked() error { return g.locked }

// Close writes when the devices were last seen and ends their requests. Nobody
// from elsewhere is let in after it.
func (g *Gate) Close() error {
	g.change.Lock()
	defer g.change.Unlock()
	list := g.devices.Load().list
	var err error
	if g.stale.Load() {
		err = g.save(list)
	}
	g.devices.Store(newDevices(nil))
	for _, d := range list {
		d.revoke()
	}
	g.closed = true
	return err
}

// Wrap lets through to next what may pass, with From telling who asks, and answers
// everything else with a status and {"error": words, "faults": []}:
// 421 a host that is not this board, 429 too often, 403 from another page or not
// for this role, 401 not paired.
func (g *Gate) Wrap(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		id, d := g.who(r)
		if err := g.may(r, id, d); err != nil {
			err.write(w)
			return
		}
		ctx := with(r.Context(), id)
		if id.Role == None && r.Body != nil {
			r.Body = http.MaxBytesReader(w, r.Body, strangerBody)
		}
		if d == nil {
			next.ServeHTTP(w, r.WithContext(ctx))
			return
		}
		ctx, cancel := context.WithCancel(ctx)
		defer cancel()
		defer context.AfterFunc(d.life, cancel)()
		defer g.see(d)
		d.open.Add(1)
		defer d.open.Add(-1)
		if r.URL.Path == "/api/access" {
			g.renew(w, r)
		}
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

// who finds out who sends a request; the device if it is one.
func (g *Gate) who(r *http.Request) (Identity, *device) {
	id := Identity{Role: None, Addr: addrOf(r.RemoteAddr), secure: r.TLS != nil}
	if onBoard(r) {
		id.Role, id.Local = Operator, true
		return id, nil
	}
	known := g.devices.Load().byToken
	for _, t := range tokens(r) {
		if sum, ok := digestOf(t); ok && known[sum] != nil {
			d := known[sum]
			id.Role, id.Device, id.ID = d.role, d.name, d.id
			return id, d
		}
	}
	return id, nil
}

// may tells why a request may not pass; nil: it may.
func (g *Gate) may(r *http.Request, id Identity, d *device) *Error {
	if wait, ok := g.count(id, d); !ok {
		err := refuse(http.StatusTooManyRequests, "too many requests; wait a little and ask less often")
		err.RetryAfter = wait
		return err
	}
	if !g.ourHost(r) {
		return refuse(http.StatusMisdirectedRequest, "the request names the host %s, which is not a name of this board; use its address, or add the name to server.hosts in the configuration", clip(r.Host))
	}
	public := reads(r) && g.c.Public != nil && g.c.Public(r.URL.Path)
	switch {
	case public:
		return nil
	case !fromOwnPage(r):
		return refuse(http.StatusForbidden, "a page of another origin may not use this board")
	case id.Role == Operator, id.Role == Viewer && reads(r), pairs(r):
		return nil
	case id.Role == Helper:
		if g.c.Helper != nil && g.c.Helper(r.Method, r.URL.Path) {
			return nil
		}
		return refuse(http.StatusForbidden, "this device may look at marks and tick them off, and nothing else; an operator can let it do more under Devices")
	case id.Role == Viewer:
		return refuse(http.StatusForbidden, "this device may look and not change anything; an operator can make it one under Devices")
	}
	return refuse(http.StatusUnauthorized, "this device is not paired with the board; open the board's page and type the code that the board shows")
}

// count counts a request. On the board itself there is no limit.
func (g *Gate) count(id Identity, d *device) (wait time.Duration, ok bool) {
	switch {
	case id.Local:
		return 0, true
	case d != nil:
		return d.take(g.often, g.c.Now())
	}
	return g.requests.take(id.Addr, g.c.Now())
}

// pairs tells whether a request is one that a stranger may send.
func pairs(r *http.Request) bool {
	return reads(r) && r.URL.Path == "/api/access" || r.Method == http.MethodPost && r.URL.Path == "/api/access/pair"
}

// renew lets the cookie of a device live for its full time again.
func (g *Gate) renew(w http.ResponseWriter, r *http.Request) {
	known := g.devices.Load().byToken
	for _, c := range r.CookiesNamed(CookieName) {
		if sum, ok := digestOf(c.Value); ok && known[sum] != nil {
			http.SetCookie(w, cookie(c.Value, r.TLS != nil))
			return
		}
	}
}

// see notes that a device was here, and now and then writes it down.
func (g *Gate) see(d *device) {
	now := g.c.Now()
	if !d.presence.see(now) {
		return
	}
	g.stale.Store(true)
	if age := now.Unix() - g.saved.Load(); age >= 0 && age < int64(saveSeen/time.Second) || !g.change.TryLock() {
		return
	}
	defer g.change.Unlock()
	if err := g.save(g.devices.Load().list); err != nil {
		g.log.Warn("writing down when devices were last seen failed", "error", err)
	}
}

// save writes the list. Call it with change held.
func (g *Gate) save(list []*device) error {
	now := g.c.Now()
	g.saved.Store(now.Unix())
	if g.c.File == "" || g.locked != nil {
		return nil
	}
	g.stale.Store(false)
	body, err := encodeFile(list, now)
	if err == nil {
		err = writeFile(g.c.File, body)
	}
	if err != nil {
		g.stale.Store(true)
	}
	return err
}
