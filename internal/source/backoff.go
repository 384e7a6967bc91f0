package source

import (
	"math/rand/v2"
	"time"
)

// The bounds of the pause before a port is opened again.
const (
	DefaultBackoffMin = 200 * time.Millisecond
	DefaultBackoffMax = 5 * time.Second
)

// backoff is the pause before the next try: it doubles from min to max, and each
// is shortened by up to half at random, though not below min, so that sources
// which were lost together do not all try at the same moment.
type backoff struct {
	min, max time.Duration
	last     time.Duration
}

func (b *backoff) next() time.Duration {
	b.last = min(max(b.min, 2*b.last), b.max)
	half := b.last / 2
	return max(b.min, b.last-half+rand.N(half+1))
}

func (b *backoff) reset() { b.last = 0 }
