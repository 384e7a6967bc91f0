package alarm

import (
	"cmp"
	"slices"
	"time"

	"drawbar/internal/live"
)

// Change is an alarm raised or cleared.
type Change = live.AlarmChange

// maxStep is the longest time that one view can count for. A gap between views
// is longer only when the clock was set or nobody looked.
const maxStep = 10 * time.Second

// Watch follows the views of one session. Use New; it is for one goroutine.
type Watch struct {
	limits Limits
	rules  [live.AlarmCount]rule
	last   time.Time
	begun  bool
	now    time.Time
	dt     time.Duration

	fixes, reports counter
	motion         motion
	steps          int // of the clock, seen so far

	alarms  []*instance
	changes []Change
}

// instance is an alarm of one subject, whether it stands or not.
type instance struct {
	latch
	state  live.AlarmState
	key    int  // of the subject
	judged bool // at this view
}

// New returns a watch that has seen nothing.
func New(l Limits) *Watch {
	w := &Watch{rules: rules()}
	w.SetLimits(l)
	return w
}

// SetLimits replaces the limits from the next view on.
func (w *Watch) SetLimits(l Limits) {
	if l.StaleS <= 0 {
		l.StaleS = defaultStaleS
	}
	if l.ReserveBytes == 0 {
		l.ReserveBytes = defaultReserveBytes
	}
	w.limits = l
}

// Step takes the view at now and returns what was raised or cleared by it. A time
// with Go's monotonic reading counts by that, so that a clock that is set moves
// only the stamps. Call it at least once a second: a condition is known only where
// it was looked at.
func (w *Watch) Step(now time.Time, v View) []Change {
	w.now, w.dt = now, 0
	if w.begun {
		if dt := now.Sub(w.last); dt > 0 && dt <= maxStep {
			w.dt = dt
		}
	}
	w.last, w.begun = now, true
	w.fixes.step(v.Fixes, w.dt)
	w.reports.step(v.Reports, w.dt)
	w.motion.step(&v, w.fixes.still < noFixAfter, w.dt)

	w.changes = nil
	for _, a := range w.alarms {
		a.judged = false
	}
	w.sources(&v)
	w.gnss(&v)
	w.silence(&v)
	w.rates(&v)
	w.sections(&v)
	w.levels(&v)
	w.outlook(&v)
	w.disk(&v)
	w.clock(&v)
	w.forget()
	return w.changes
}

// Acknowledge notes that the operator has seen an alarm that stands; it stays seen
// until it is cleared. ok is false where no such alarm stands.
func (w *Watch) Acknowledge(kind live.Alarm, subject string) (ok bool) {
	for _, a := range w.alarms {
		if a.raised && a.state.Alarm == kind && a.state.Subject == subject {
			a.state.Seen, ok = true, true
		}
	}
	return ok
}

// Active are the alarms that stand, worst first, then in the order of their
// kinds. The slice belongs to the caller.
func (w *Watch) Active() []live.AlarmState {
	var standing []*instance
	for _, a := range w.alarms {
		if a.raised {
			standing = append(standing, a)
		}
	}
	slices.SortStableFunc(standing, func(a, b *instance) int {
		return cmp.Or(-cmp.Compare(a.state.Severity, b.state.Severity), cmp.Compare(a.state.Alarm, b.state.Alarm), cmp.Compare(a.key, b.key))
	})
	out := make([]live.AlarmState, len(standing))
	for i, a := range standing {
		out[i] = a.state
	}
	return out
}

// judge steps one alarm. key tells the subjects of one kind apart and sorts them;
// say is asked for subject and text only while the verdict is bad.
func (w *Watch) judge(kind live.Alarm, key int, v verdict, say func() (subject, text string)) {
	a := w.find(kind, key)
	if a == nil {
		if v != bad {
			return
		}
		a = &instance{key: key, state: live.AlarmState{Alarm: kind, Severity: w.rules[kind].severity}}
		w.alarms = append(w.alarms, a)
	}
	a.judged = true
	if v == bad {
		a.state.Subject, a.state.Text = say()
	}
	if a.step(v, w.dt, w.rules[kind].hold) {
		w.changed(a)
	}
}

func (w *Watch) find(kind live.Alarm, key int) *instance {
	for _, a := range w.alarms {
		if a.state.Alarm == kind && a.key == key {
			return a
		}
	}
	return nil
}

func (w *Watch) changed(a *instance) {
	if a.raised {
		a.state.Since = w.now
	} else {
		a.state.Seen = false
	}
	w.changes = append(w.changes, Change{AlarmState: a.state, Raised: a.raised, At: w.now})
}

// forget clears the alarms whose subject is gone and drops what does not stand
// and is not about to.
func (w *Watch) forget() {
	for _, a := range w.alarms {
		if !a.judged && a.raised {
			a.raised = false
			w.changed(a)
		}
	}
	w.alarms = slices.DeleteFunc(w.alarms, func(a *instance) bool {
		return !a.raised && (!a.judged || a.seen != bad)
	})
}
