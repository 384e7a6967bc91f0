package access

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"testing"
	"time"
)

func TestRequestsAreLimited(t *testing.T) {
	t.Parallel()
	b := newBoard(t, "")
	p := b.pair(t, Operator, "tablet")
	allowed := func(n int, set ...func(*http.Request)) (passed int) {
		for range n {
			if w := b.ask("GET", "/assets/page.js", set...); w.Code == 200 {
				passed++
			} else {
				wantStatus(t, "too often", w, 429)
			}
		}
		return passed
	}
	if got := allowed(500); got != 60 {
		t.Errorf("%d requests of a stranger at once, want 60", got)
	}
	b.clock.add(time.Second)
	if got := allowed(500); got != 10 {
		t.Errorf("%d requests of a stranger in the next second, want 10", got)
	}
	if got := allowed(500, from("192.0.2.51:1")); got != 60 {
		t.Errorf("%d requests of another stranger, want 60", got)
	}
	for i := range 300 { // strangers together use up what there is for strangers
		b.ask("GET", "/", from(fmt.Sprintf("192.0.3.%d:1", i%250)))
	}
	if got := allowed(1, from("192.0.2.99:1")); got != 0 {
		t.Errorf("a new stranger gets %d requests in the crowd", got)
	}
	if got := allowed(1000, as(p.Cookie)); got != 400 { // and take nothing from a device
		t.Errorf("%d requests of a device at once, want 400", got)
	}
	b.clock.add(-time.Hour) // a clock that is set back harms nobody for long
	allowed(1, as(p.Cookie))
	b.clock.add(time.Second)
	if got := allowed(1000, as(p.Cookie)); got != 100 {
		t.Errorf("%d requests of a device a second after the clock was set back, want 100", got)
	}
}

func TestLimiterForgets(t *testing.T) {
	t.Parallel()
	l := newLimiter(rate{time.Hour, 1}, rate{time.Nanosecond, 1 << 30}, 100)
	now := time.Unix(1e9, 0)
	addr := netip.MustParseAddr("2001:db8::")
	for range 10_000 {
		addr = addr.Next()
		l.take(addr, now)
	}
	if len(l.by) != 100 || l.order.Len() != 100 {
		t.Errorf("%d and %d addresses are kept, want 100", len(l.by), l.order.Len())
	}
	if _, ok := l.take(addr, now); ok {
		t.Error("the last address was forgotten")
	}
	kept := addr
	for range 1000 { // who goes on asking among others is not forgotten
		addr = addr.Next()
		l.take(addr, now)
		if _, ok := l.take(kept, now); ok {
			t.Fatal("an address that asks all the time was forgotten")
		}
	}
}

func BenchmarkLimiter(b *testing.B) {
	l := newLimiter(rate{time.Hour, 1}, rate{time.Nanosecond, 1 << 30}, rememberAddr)
	now, addr := time.Unix(1e9, 0), netip.MustParseAddr("2001:db8::")
	b.ReportAllocs()
	for b.Loop() {
		addr = addr.Next()
		l.take(addr, now)
	}
}

// line is a listener whose connections come from given addresses.
type line struct {
	from   []string
	closed int
}

type fakeConn struct {
	net.Conn
	addr net.Addr
	line *line
}

func (c *fakeConn) RemoteAddr() net.Addr { return c.addr }
func (c *fakeConn) Close() error         { c.line.closed++; return nil }

func (l *line) Accept() (net.Conn, error) {
	if len(l.from) == 0 {
		return nil, net.ErrClosed
	}
	addr := net.TCPAddrFromAddrPort(netip.MustParseAddrPort(l.from[0]))
	l.from = l.from[1:]
	return &fakeConn{addr: addr, line: l}, nil
}
func (l *line) Close() error   { return nil }
func (l *line) Addr() net.Addr { return nil }

func TestConnectionsAreLimited(t *testing.T) {
	t.Parallel()
	b := newBoard(t, "")
	under := &line{}
	l := b.Limit(under)
	var open []net.Conn
	accept := func(n int, addr func(i int) string) int {
		for i := range n {
			under.from = append(under.from, addr(i))
		}
		before := len(open)
		for {
			c, err := l.Accept()
			if errors.Is(err, net.ErrClosed) {
				return len(open) - before
			}
			open = append(open, c)
		}
	}
	one := func(int) string { return "192.0.2.50:1" }
	if got := accept(100, one); got != maxPerAddr {
		t.Errorf("%d connections of one address, want %d", got, maxPerAddr)
	}
	if under.closed != 100-maxPerAddr {
		t.Errorf("%d connections were closed, want %d", under.closed, 100-maxPerAddr)
	}
	if got := accept(1, func(int) string { return "[::ffff:192.0.2.50]:1" }); got != 0 {
		t.Error("a mapped address counts apart")
	}
	if got := accept(1000, func(i int) string { return fmt.Sprintf("10.0.%d.%d:1", i/250, i%250) }); got != maxOutside-maxPerAddr {
		t.Errorf("%d connections of a crowd, want %d", got, maxOutside-maxPerAddr)
	}
	if got := accept(100, func(int) string { return "127.0.0.1:1" }); got != maxLocal {
		t.Errorf("%d connections on the board in the crowd, want %d", got, maxLocal)
	}
	for _, c := range open {
		c.Close()
		c.Close() // twice gives one place back
	}
	open = nil
	if got := accept(100, one); got != maxPerAddr {
		t.Errorf("%d connections after the others were closed, want %d", got, maxPerAddr)
	}
	inner := l.(*listener)
	for _, c := range open {
		c.Close()
	}
	if inner.outside != 0 || inner.local != 0 || len(inner.open) != 0 {
		t.Errorf("after all were closed: %d, %d, %v are counted", inner.outside, inner.local, inner.open)
	}
}
