package source

import (
	"fmt"
	"net"
	"strings"
	"testing"
	"time"

	"drawbar/replay"
)

// listen is a server on a free port of the loopback, or on the one given.
func listen(t *testing.T, place string) *net.TCPListener {
	t.Helper()
	l, err := net.Listen("tcp", place)
	if err != nil {
		t.Fatalf("listen on %s: %v", place, err)
	}
	return l.(*net.TCPListener)
}

func accept(t *testing.T, l *net.TCPListener) net.Conn {
	t.Helper()
	if err := l.SetDeadline(time.Now().Add(patience)); err != nil {
		t.Fatal(err)
	}
	c, err := l.Accept()
	if err != nil {
		t.Fatalf("nobody connected: %v", err)
	}
	return c
}

func TestServerGoesAndReturns(t *testing.T) {
	t.Parallel()
	l := listen(t, "127.0.0.1:0")
	place := l.Addr().String()
	r := start(t, Config{Address: "tcp://" + place, Stream: replay.StreamController})
	for i := range 5 {
		c := accept(t, l)
		// The first piece of a connection is whole: the server begins with it.
		fmt.Fprintf(c, "work=1\r\nwork=%d\r\nwork=", i)
		r.want("work=1", fmt.Sprintf("work=%d", i))
		c.Close()
		if i == 2 { // the whole server goes
			l.Close()
			s := r.until("refused", func(s Status) bool { return strings.Contains(s.LastError, "nothing answers") })
			if s.Up {
				t.Errorf("up without a server: %+v", s)
			}
			l = listen(t, place)
		}
	}
	defer l.Close()
	s := r.until("down", func(s Status) bool { return s.Lines == 10 && s.Dropped == 5 })
	if s.Reconnects < 4 {
		t.Errorf("got %d reconnects, want 4", s.Reconnects)
	}
}

// A connection that never comes about does not hold up the end.
func TestStoppedWhileConnecting(t *testing.T) {
	t.Parallel()
	// A listener whose queue is never served still completes connections; one
	// that is closed refuses them. Both must end within the stated time.
	l := listen(t, "127.0.0.1:0")
	defer l.Close()
	for _, address := range []string{"tcp://" + l.Addr().String(), "tcp://127.0.0.1:1"} {
		r := start(t, Config{Address: address, BackoffMin: time.Hour})
		r.until("tried", func(s Status) bool { return s.Up || s.LastError != "" })
		began := time.Now()
		r.stop()
		if took := time.Since(began); took > 300*time.Millisecond {
			t.Errorf("%s: Run took %v to return, want 100 ms", address, took)
		}
	}
}

func TestDatagrams(t *testing.T) {
	t.Parallel()
	r := start(t, Config{Address: "udp://" + freeUDP(t)})
	r.until("up", func(s Status) bool { return s.Up })
	c, err := net.Dial("udp", r.address.Place)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	long := strings.Repeat("x", 4000)
	for _, d := range []string{"without an end", "a\r\nb\r\n", "c\nd", "e", long} {
		if _, err := c.Write([]byte(d)); err != nil {
			t.Fatal(err)
		}
	}
	r.want("without an end", "a", "b", "c", "d", "e", long)
}

func TestPortInUse(t *testing.T) {
	t.Parallel()
	place := freeUDP(t)
	first := start(t, Config{Address: "udp://" + place})
	first.until("up", func(s Status) bool { return s.Up })
	second := start(t, Config{Address: "udp://" + place})
	second.until("refused", func(s Status) bool { return strings.Contains(s.LastError, "in use by another program") })
	first.stop()
	second.until("up", func(s Status) bool { return s.Up })
}

func freeUDP(t *testing.T) string {
	t.Helper()
	c, err := net.ListenPacket("udp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	return c.LocalAddr().String()
}
