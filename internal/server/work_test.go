package server

import (
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"golang.org/x/sys/unix"

	"drawbar/coverage"
	"drawbar/internal/live"
)

// pieces are n pieces of a bar of 12 m with one tank.
func pieces(n int) []live.Piece {
	out := make([]live.Piece, n)
	for i := range out {
		at := 53.35 + float64(i)*1e-6
		out[i] = live.Piece{
			Operation: 1, Corners: [4][2]float64{{-0.0121, at}, {-0.0119, at}, {-0.0119, at + 1e-6}, {-0.0121, at + 1e-6}},
			Tanks: []coverage.SwathTank{{Tank: 1, Product: "Spring oats", Unit: "kg", RatePerM2: 0.0112, TargetPerM2: 0.0112, HasRate: true, HasTarget: i%2 == 0}},
		}
	}
	return out
}

// drawn publishes a state whose tiles carry the pieces up to one.
func (r *rig) drawn(work uint64) {
	s := atWork()
	s.Tiles = live.TilesState{Revision: work, Work: work}
	r.hub.Publish(s)
}

// worked is the first and the last piece of an event of work.
func (c *client) worked(t *testing.T, r *rig) (first, last uint64) {
	t.Helper()
	var v workEventJSON
	if err := json.Unmarshal([]byte(c.want(t, "work").data), &v); err != nil {
		t.Fatal(err)
	}
	if uint64(len(v.Pieces)) != v.Last-v.First+1 {
		t.Errorf("%d pieces from %d to %d", len(v.Pieces), v.First, v.Last)
	}
	return v.First - r.server.firstWork, v.Last - r.server.firstWork
}

func (c *client) wantWork(t *testing.T, r *rig, first, last uint64) {
	t.Helper()
	if a, b := c.worked(t, r); a != first || b != last {
		t.Fatalf("got the pieces %d to %d, want %d to %d", a, b, first, last)
	}
}

// redrawn is the piece after which a redraw goes on.
func (c *client) wantRedraw(t *testing.T, r *rig, after uint64) {
	t.Helper()
	e := c.want(t, "redraw")
	if want := fmt.Sprintf(`{"work":%d}`, r.server.firstWork+after); e.data != want {
		t.Fatalf("got %s, want %s", e.data, want)
	}
}

func (r *rig) work(after uint64) string { return fmt.Sprint("/events?work=", r.server.firstWork+after) }

func TestWorkFitsTheDescription(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		d, r := description(t), newRig(t)
		fit := func(e event, schema string) {
			t.Helper()
			var v any
			if err := json.Unmarshal([]byte(e.data), &v); err != nil {
				t.Fatal(err)
			}
			for _, fault := range d.check(d.schemas[schema].(map[string]any), v, schema) {
				t.Error(fault)
			}
		}
		c := r.open(t, "")
		synctest.Wait()
		r.hub.AddWork(pieces(3))
		r.drawn(0)
		e := c.want(t, "work")
		fit(e, "WorkEvent")
		for _, want := range []string{`"rate":0.0112,"target":null`, `"rate":0.0112,"target":0.0112`, `[-0.0119,53.35]`} {
			if !strings.Contains(e.data, want) {
				t.Errorf("want %s in %s", want, e.data)
			}
		}
		c = r.openAt(t, "/events?work=0", "")
		fit(c.want(t, "redraw"), "Redraw")
	})
}

// A client gets every piece once, before the state that it came with, from where it
// left off or from now on.
func TestWorkFromWhereOneLeftOff(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		r := newRig(t)
		r.hub.AddWork(pieces(10))
		r.drawn(8)
		fresh, back := r.open(t, ""), r.openAt(t, r.work(6), "")
		s := fresh.want(t, "state")
		if want := fmt.Sprintf(`"tiles":{"revision":8,"work":%d}`, r.server.firstWork+8); !strings.Contains(s.data, want) {
			t.Errorf("the state lacks %s", want)
		}
		back.wantWork(t, r, 7, 10)
		back.want(t, "state")
		synctest.Wait()
		r.hub.AddWork(pieces(2))
		r.drawn(8)
		for _, c := range []*client{fresh, back} {
			c.wantWork(t, r, 11, 12)
			c.want(t, "state")
		}
		same := r.openAt(t, r.work(12), "")
		same.want(t, "state") // nothing new
	})
}

// A client that missed pieces is told to draw anew, from what the tiles carry on;
// where they do not carry it yet, as after a replay went back, a little later.
func TestRedraw(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		r := newRig(t)
		r.hub.AddWork(pieces(5000)) // 4096 are kept
		r.drawn(4990)
		for _, path := range []string{r.work(900), "/events?work=7", "/events?work=18446744073709551615"} {
			c := r.openAt(t, path, "")
			c.wantRedraw(t, r, 4990)
			c.wantWork(t, r, 4991, 5000)
			c.want(t, "state")
			c.cancel()
		}
		many := r.openAt(t, r.work(904), "")
		for first := uint64(905); first <= 5000; first += mostPieces {
			many.wantWork(t, r, first, min(5000, first+mostPieces-1))
		}
		many.want(t, "state")
		r.hub.ClearWork()
		r.drawn(4990) // the tiles are of before
		many.want(t, "state")
		r.hub.AddWork(pieces(3))
		r.drawn(4990)
		many.want(t, "state")
		r.hub.AddWork(pieces(3))
		r.drawn(5004)
		many.wantRedraw(t, r, 5004)
		many.wantWork(t, r, 5005, 5007)
		many.want(t, "state")
	})
}

// Over real sockets: a client that takes nothing is cut once the sockets are full,
// while the others get every piece of work and the core never waits.
func TestStalledClientCostsNobodyElse(t *testing.T) {
	t.Parallel()
	var hub live.Hub
	log := &atomicLog{}
	s := serverOf(t, Config{Hub: &hub, Log: logTo(log)})
	base := start(t, s)
	stalled, err := net.Dial("tcp", strings.TrimPrefix(base, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer stalled.Close()
	_ = stalled.(*net.TCPConn).SetReadBuffer(4096)
	fmt.Fprintf(stalled, "GET /events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
	transport := &http.Transport{}
	defer transport.CloseIdleConnections()
	resp, err := (&http.Client{Transport: transport}).Get(base + "/events")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	got := make(chan uint64)
	go func() {
		defer close(got)
		for c := newClient(resp); ; {
			e, err := c.next()
			if err != nil {
				return
			}
			var v workEventJSON
			if e.name == "work" && json.Unmarshal([]byte(e.data), &v) == nil {
				got <- v.Last - s.firstWork
			}
		}
	}()
	begin := time.Now()
	worked := uint64(0)
	for log.cut.Load() == 0 && time.Since(begin) < 25*time.Second {
		published := time.Now()
		hub.AddWork(pieces(1000)) // some 250 kB an event: the sockets are full soon
		hub.Publish(atWork())
		if waited := time.Since(published); waited > time.Second {
			t.Fatalf("the core waited %v", waited)
		}
		worked += 1000
		for last := uint64(0); last < worked; {
			select {
			case last = <-got:
			case <-time.After(5 * time.Second):
				t.Fatalf("the quick client has %d of %d pieces", last, worked)
			}
		}
	}
	if n := log.cut.Load(); n != 1 {
		t.Errorf("clients cut after %v: got %d, want the stalled one", time.Since(begin), n)
	}
}

// Twelve viewers of a machine at 20 Hz with 40 pieces of work a second: CPU time of
// a second of it is what the benchmark tells as ns/op.
func BenchmarkTwelveViewers(b *testing.B) {
	for _, viewers := range []int{1, 12} {
		b.Run(fmt.Sprint(viewers), func(b *testing.B) {
			var hub live.Hub
			s := serverOf(b, Config{Hub: &hub})
			streams := make([]*stream, viewers)
			for i := range streams {
				streams[i] = &stream{s: s, to: nowhere{}, control: http.NewResponseController(nowhere{})}
			}
			b.ReportAllocs()
			for b.Loop() {
				for i := range 20 {
					hub.AddWork(pieces(2))
					hub.Publish(atWork())
					for v, e := range streams {
						if (i+v)%2 > 0 { // each at most ten times a second, not all at once
							continue
						}
						if err := e.state(); err != nil {
							b.Fatal(err)
						}
						if err := e.flush(); err != nil {
							b.Fatal(err)
						}
					}
				}
			}
		})
	}
}

// The same over sockets, with the work of the twelve readers' sockets.
func BenchmarkTwelveSockets(b *testing.B) {
	var hub live.Hub
	base := start(b, serverOf(b, Config{Hub: &hub}))
	var read [12]net.Conn
	for i := range read {
		c, err := net.Dial("tcp", strings.TrimPrefix(base, "http://"))
		if err != nil {
			b.Fatal(err)
		}
		defer c.Close()
		fmt.Fprintf(c, "GET /events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
		go io.Copy(io.Discard, c)
		read[i] = c
	}
	cpu := func() float64 {
		var u unix.Rusage
		_ = unix.Getrusage(unix.RUSAGE_SELF, &u)
		return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
	}
	begin, before := time.Now(), cpu()
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for b.Loop() {
		<-tick.C
		hub.AddWork(pieces(2))
		hub.Publish(atWork())
	}
	b.ReportMetric(1000*(cpu()-before)/time.Since(begin).Seconds(), "cpu-ms/s")
}

// nowhere is an answer that nobody reads.
type nowhere struct{}

func (nowhere) Header() http.Header              { return http.Header{} }
func (nowhere) Write(b []byte) (int, error)      { return len(b), nil }
func (nowhere) WriteHeader(int)                  {}
func (nowhere) Flush()                           {}
func (nowhere) SetWriteDeadline(time.Time) error { return nil }
