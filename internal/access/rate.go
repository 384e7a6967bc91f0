package access

import (
	"container/list"
	"net/netip"
	"sync"
	"time"
)

// rate is how often something may happen: burst times at once and then once every.
type rate struct {
	every time.Duration
	burst int
}

// bucket counts what is left. The zero value is full at its first use.
type bucket struct {
	left float64 // times
	at   time.Time
}

// take takes one, or says how long there is none.
func (b *bucket) take(r rate, now time.Time) (wait time.Duration, ok bool) {
	if b.at.IsZero() {
		b.left = float64(r.burst)
	} else if passed := now.Sub(b.at); passed > 0 {
		b.left = min(b.left+float64(passed)/float64(r.every), float64(r.burst))
	}
	b.at = now
	if b.left < 1 {
		return time.Duration((1 - b.left) * float64(r.every)), false
	}
	b.left--
	return 0, true
}

// limiter allows each address a rate, and all of them together another. It knows
// the addresses that were heard last, size of them; an address that was forgotten
// starts anew, which the rate of all bounds.
type limiter struct {
	each, all rate
	size      int

	mu    sync.Mutex
	total bucket
	by    map[netip.Addr]*list.Element // of *counted
	order list.List                    // the last heard first
}

type counted struct {
	addr   netip.Addr
	bucket bucket
}

func newLimiter(each, all rate, size int) *limiter {
	return &limiter{each: each, all: all, size: size, by: make(map[netip.Addr]*list.Element)}
}

// take counts one for an address, or says how long to wait. What an address may
// not do does not count for all.
func (l *limiter) take(addr netip.Addr, now time.Time) (wait time.Duration, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	e := l.by[addr]
	if e == nil {
		if len(l.by) >= l.size {
			last := l.order.Back()
			delete(l.by, last.Value.(*counted).addr)
			l.order.Remove(last)
		}
		e = l.order.PushFront(&counted{addr: addr})
		l.by[addr] = e
	}
	l.order.MoveToFront(e)
	if wait, ok := e.Value.(*counted).bucket.take(l.each, now); !ok {
		return wait, false
	}
	return l.total.take(l.all, now)
}
