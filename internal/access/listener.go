package access

import (
	"net"
	"net/netip"
	"sync"
	"time"
)

// Connections at once. A browser opens six to a host; the board has its own so
// that no crowd outside can shut it out.
const (
	maxPerAddr = 32
	maxOutside = 192
	maxLocal   = 64
)

// Limit bounds the connections of l: from one address, from elsewhere in all, and
// from the board itself. One too many is closed at once.
func (g *Gate) Limit(l net.Listener) net.Listener {
	return &listener{Listener: l, gate: g, open: make(map[netip.Addr]int)}
}

type listener struct {
	net.Listener
	gate *Gate

	mu      sync.Mutex
	open    map[netip.Addr]int // connections by address
	outside int
	local   int
	refused int // since it was told last
	told    time.Time
}

func (l *listener) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		addr := addrOf(c.RemoteAddr().String())
		if l.enter(addr) {
			return &conn{Conn: c, leave: sync.OnceFunc(func() { l.leave(addr) })}, nil
		}
		c.Close()
		l.tell()
	}
}

func (l *listener) enter(addr netip.Addr) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if addr.IsLoopback() {
		if l.local >= maxLocal {
			return false
		}
		l.local++
		return true
	}
	if l.outside >= maxOutside || l.open[addr] >= maxPerAddr {
		return false
	}
	l.outside++
	l.open[addr]++
	return true
}

func (l *listener) leave(addr netip.Addr) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if addr.IsLoopback() {
		l.local--
		return
	}
	l.outside--
	if l.open[addr]--; l.open[addr] == 0 {
		delete(l.open, addr)
	}
}

// tell logs refused connections, once a minute at most.
func (l *listener) tell() {
	l.mu.Lock()
	l.refused++
	n, now := l.refused, l.gate.c.Now()
	due := now.Sub(l.told) >= time.Minute
	if due {
		l.refused, l.told = 0, now
	}
	l.mu.Unlock()
	if due {
		l.gate.log.Warn("connections were closed: too many at once", "count", n)
	}
}

// conn gives its place back when it is closed.
type conn struct {
	net.Conn
	leave func()
}

func (c *conn) Close() error {
	defer c.leave()
	return c.Conn.Close()
}
