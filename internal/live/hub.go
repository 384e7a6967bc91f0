package live

import (
	"errors"
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

// Bounds of what a Hub keeps.
const (
	keepNotices    = 256 // for those who come back
	noticeBuffer   = 64  // that wait for one reader
	maxSubscribers = 64
)

// ErrFull is given to a reader for whom there is no place.
var ErrFull = errors.New("too many readers of the live events: close one and try again")

// ErrClosed is given once nothing will be published any more.
var ErrClosed = errors.New("the live events have ended: the daemon is stopping")

// Hub publishes to any number of readers and waits for none. The zero value is
// ready. All methods may be called from any goroutine; notices keep the order in
// which one goroutine tells them.
type Hub struct {
	current atomic.Pointer[published]

	mu      sync.Mutex
	closed  bool
	seq     uint64
	kept    []Notice // the latest, in order
	readers []*Subscription
	work    work
}

type published struct {
	state *State
	at    time.Time // with the monotonic clock: no setting of the clock touches an age
}

// Publish makes s the state that readers see from now on. s must not be changed
// any more. The age that Read tells is that of the latest call, so call it at
// least once a second also where nothing comes in.
func (h *Hub) Publish(s *State) {
	h.current.Store(&published{s, time.Now()})
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, r := range h.readers {
		select {
		case r.fresh <- struct{}{}:
		default: // it has not looked at the one before: it will see this one
		}
	}
}

// Read is the state published last and how long ago that was; nil before the
// first.
func (h *Hub) Read() (*State, time.Duration) {
	p := h.current.Load()
	if p == nil {
		return nil, 0
	}
	return p.state, time.Since(p.at)
}

// Tell gives the notice its number and hands it to every reader. A reader whose
// buffer is full is cut.
func (h *Hub) Tell(n Notice) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		return
	}
	h.seq++
	n.Seq = h.seq
	if len(h.kept) == keepNotices {
		h.kept = slices.Delete(h.kept, 0, 1)
	}
	h.kept = append(h.kept, n)
	h.readers = slices.DeleteFunc(h.readers, func(r *Subscription) bool {
		select {
		case r.notices <- n:
			return false
		default:
			close(r.notices)
			return true
		}
	})
}

// Close ends every subscription. Read goes on telling the last state.
func (h *Hub) Close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for _, r := range h.readers {
		close(r.notices)
	}
	h.readers = nil
}

// Subscription is one reader's end. Close it when done.
type Subscription struct {
	// Seen is the notice after which this begins.
	Seen uint64
	// Missed are the notices told after the one asked for that are kept no more.
	Missed uint64
	// Backlog are the notices told after the one asked for, in order.
	Backlog []Notice

	hub     *Hub
	fresh   chan struct{}
	notices chan Notice
}

// Subscribe begins a subscription with the notices after number after. A number
// beyond the latest counts as the latest. Readers that want only what happens
// from now on give LatestNotice.
func (h *Hub) Subscribe(after uint64) (*Subscription, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		return nil, ErrClosed
	}
	if len(h.readers) >= maxSubscribers {
		return nil, ErrFull
	}
	s := &Subscription{hub: h, fresh: make(chan struct{}, 1), notices: make(chan Notice, noticeBuffer)}
	after = min(after, h.seq)
	s.Seen = after
	for _, n := range h.kept {
		if n.Seq > after {
			s.Backlog = append(s.Backlog, n)
		}
	}
	s.Missed = h.seq - after - uint64(len(s.Backlog))
	if h.current.Load() != nil {
		s.fresh <- struct{}{}
	}
	h.readers = append(h.readers, s)
	return s, nil
}

// LatestNotice stands for the notice told last, whichever that is.
const LatestNotice = ^uint64(0)

// Fresh receives when there is a state that was not looked at yet.
func (s *Subscription) Fresh() <-chan struct{} { return s.fresh }

// Notices receives what is told. It is closed when the reader was cut off or the
// hub was closed.
func (s *Subscription) Notices() <-chan Notice { return s.notices }

// Close ends the subscription. A second call does nothing.
func (s *Subscription) Close() {
	s.hub.mu.Lock()
	defer s.hub.mu.Unlock()
	i := slices.Index(s.hub.readers, s)
	if i < 0 {
		return
	}
	s.hub.readers = slices.Delete(s.hub.readers, i, i+1)
	close(s.notices)
}

// Closed tells whether nothing will be published any more.
func (h *Hub) Closed() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.closed
}
