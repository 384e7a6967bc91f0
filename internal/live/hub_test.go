package live

import (
	"errors"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func subscribe(t *testing.T, h *Hub, after uint64) *Subscription {
	t.Helper()
	s, err := h.Subscribe(after)
	if err != nil {
		t.Fatalf("subscribe after %d: %v", after, err)
	}
	t.Cleanup(s.Close)
	return s
}

func TestReadIsTheLatest(t *testing.T) {
	t.Parallel()
	var h Hub
	if s, _ := h.Read(); s != nil {
		t.Errorf("before the first: got %v, want nil", s)
	}
	a, b := &State{Version: "a"}, &State{Version: "b"}
	h.Publish(a)
	h.Publish(b)
	if s, age := h.Read(); s != b || age < 0 || age > time.Minute {
		t.Errorf("got %v of age %v, want the second, just now", s, age)
	}
}

// A reader that looks late sees one signal and the latest state, not every one.
func TestStatesAreNotQueued(t *testing.T) {
	t.Parallel()
	var h Hub
	s := subscribe(t, &h, LatestNotice)
	for range 1000 {
		h.Publish(&State{})
	}
	last := &State{Version: "last"}
	h.Publish(last)
	<-s.Fresh()
	if got, _ := h.Read(); got != last {
		t.Errorf("got %v, want the last", got)
	}
	select {
	case <-s.Fresh():
		t.Error("a second signal for states already seen")
	default:
	}
}

func TestNoticesFromWhereOneLeftOff(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		told        int
		after       uint64
		wantSeen    uint64
		wantMissed  uint64
		wantBacklog int
	}{
		{0, 0, 0, 0, 0},
		{0, 7, 0, 0, 0}, // of another life of the hub
		{10, 0, 0, 0, 10},
		{10, 7, 7, 0, 3},
		{10, 10, 10, 0, 0},
		{10, 99, 10, 0, 0},
		{10, LatestNotice, 10, 0, 0},
		{keepNotices + 50, 0, 0, 50, keepNotices},
		{keepNotices + 50, 20, 20, 30, keepNotices},
		{keepNotices + 50, 50, 50, 0, keepNotices},
	} {
		var h Hub
		for range c.told {
			h.Tell(Notice{})
		}
		s := subscribe(t, &h, c.after)
		if s.Seen != c.wantSeen || s.Missed != c.wantMissed || len(s.Backlog) != c.wantBacklog {
			t.Errorf("%d told, after %d: got seen %d, missed %d, %d in hand; want %d, %d, %d",
				c.told, c.after, s.Seen, s.Missed, len(s.Backlog), c.wantSeen, c.wantMissed, c.wantBacklog)
		}
		for i, n := range s.Backlog {
			if want := s.Seen + s.Missed + uint64(i) + 1; n.Seq != want {
				t.Errorf("%d told, after %d: notice %d has number %d, want %d", c.told, c.after, i, n.Seq, want)
			}
		}
		h.Tell(Notice{})
		if n := <-s.Notices(); n.Seq != uint64(c.told)+1 {
			t.Errorf("%d told: the next has number %d", c.told, n.Seq)
		}
	}
}

// A reader that takes nothing is cut; it holds up neither the core nor the others.
func TestSlowReaderIsCut(t *testing.T) {
	t.Parallel()
	var h Hub
	slow, quick := subscribe(t, &h, 0), subscribe(t, &h, 0)
	for i := range noticeBuffer + 1 {
		h.Tell(Notice{})
		if n := <-quick.Notices(); n.Seq != uint64(i)+1 {
			t.Fatalf("the quick reader: got %d, want %d", n.Seq, i+1)
		}
	}
	n := 0
	for range slow.Notices() {
		n++
	}
	if n != noticeBuffer {
		t.Errorf("the slow reader got %d notices before it was cut, want %d", n, noticeBuffer)
	}
	h.Tell(Notice{})
	if n, open := <-quick.Notices(); !open || n.Seq != noticeBuffer+2 {
		t.Errorf("the quick reader: got %d, open %v", n.Seq, open)
	}
	slow.Close() // what is cut may be closed
	slow.Close()
}

func TestFullAndClosed(t *testing.T) {
	t.Parallel()
	var h Hub
	for range maxSubscribers {
		subscribe(t, &h, 0)
	}
	if _, err := h.Subscribe(0); !errors.Is(err, ErrFull) {
		t.Errorf("one too many: got %v, want ErrFull", err)
	}
	h.readers[0].Close()
	last := subscribe(t, &h, 0)
	h.Close()
	h.Close()
	if _, open := <-last.Notices(); open {
		t.Error("a closed hub still tells")
	}
	h.Tell(Notice{})
	h.Publish(&State{})
	if _, err := h.Subscribe(0); !errors.Is(err, ErrClosed) || !h.Closed() {
		t.Errorf("after the end: got %v, want ErrClosed", err)
	}
}

// For the race detector: everybody at once.
func TestManyAtOnce(t *testing.T) {
	t.Parallel()
	var h Hub
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 50 {
				s, err := h.Subscribe(0)
				if err != nil {
					return
				}
				select {
				case <-s.Fresh():
				case <-s.Notices():
				}
				s.Close()
			}
		})
		wg.Go(func() {
			for range 200 {
				h.Publish(&State{})
				h.Tell(Notice{})
				h.Read()
			}
		})
	}
	wg.Wait()
}

func TestNames(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for a := range AlarmCount {
		if name := a.String(); name == "unknown" || name == "" || seen[name] {
			t.Errorf("alarm %d: name %q", a, name)
		}
		seen[a.String()] = true
	}
	if got := (AlarmCount + 5).String(); got != "unknown" {
		t.Errorf("no alarm: got %q, want unknown", got)
	}
}

func BenchmarkPublish(b *testing.B) {
	var h Hub
	s := &State{}
	b.ReportAllocs()
	for b.Loop() {
		h.Publish(s)
	}
}
