package daemon_test

import (
	"sync/atomic"
	"time"

	"drawbar/internal/sim"
)

// stepped is a clock that stands at the moment of the line sent last, which is never
// far from what the daemon has taken in: a busy machine changes nothing.
type stepped struct {
	at atomic.Int64 // ns since 1970
}

func newStepped(sc sim.Scenario) *stepped {
	c := &stepped{}
	c.to(sc.Start)
	return c
}

func (c *stepped) now() time.Time  { return time.Unix(0, c.at.Load()) }
func (c *stepped) to(at time.Time) { c.at.Store(at.UnixNano()) }
