package alarm

import "time"

// verdict is what a rule finds at one moment.
type verdict uint8

const (
	between verdict = iota // neither: whatever is, stays
	good                   // it may be cleared
	bad                    // it may be raised
)

// hold is for how long a verdict must stand before it acts.
type hold struct {
	raise, clear time.Duration
}

// latch is one alarm of one subject.
type latch struct {
	raised bool
	seen   verdict       // at the view before
	stood  time.Duration // for how long it has stood
}

// step takes the verdict at a view dt after the one before and tells whether the
// alarm was raised or cleared by it.
func (l *latch) step(v verdict, dt time.Duration, h hold) (changed bool) {
	if v == l.seen {
		l.stood += dt
	} else {
		l.seen, l.stood = v, 0
	}
	switch {
	case !l.raised && v == bad && l.stood >= h.raise:
		l.raised = true
	case l.raised && v == good && l.stood >= h.clear:
		l.raised = false
	default:
		return false
	}
	return true
}
