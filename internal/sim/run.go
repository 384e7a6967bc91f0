package sim

import (
	"encoding/json"
	"fmt"
	"math"
	"sort"
	"time"
)

// Sink takes one line without its line end: its time of arrival on the
// session's clock, its stream and its bytes, which are valid during the call.
type Sink func(at time.Time, stream string, line []byte) error

// Run drives the scenario and hands every line to the sink in order of arrival.
// It holds a few seconds of work at a time. An error of the sink ends it.
func Run(sc Scenario, sink Sink) (*Truth, error) {
	if err := sc.check(); err != nil {
		return nil, fmt.Errorf("simulate: %w", err)
	}
	pl, err := NewPlan(&sc)
	if err != nil {
		return nil, fmt.Errorf("simulate: %w", err)
	}
	m := newMotion(pl, sc.Drive, sc.maxLagS()+2)
	said, ops, targets, err := schedule(&sc, pl, m)
	if err != nil {
		return nil, fmt.Errorf("simulate: %w", err)
	}
	truth := newTruth(&sc, ops)
	post := newMail()
	ms := newMeters(&sc, m, targets)
	r := &run{
		sc: &sc, m: m, sink: sink, mail: post, said: said,
		steer: newControl(&sc, pl, m),
		rcv:   newReceiver(&sc, m, post, truth),
	}
	r.g = newGround(&sc, ms, ops, truth)
	r.mach = newMachine(&sc, m, ms, r.g, post)
	if err := r.all(); err != nil {
		return nil, fmt.Errorf("simulate: %w", err)
	}
	truth.finish(&sc, pl, m.endS)
	return truth, nil
}

// saying is an operator line with its time.
type saying struct {
	atS  float64
	json string
}

// schedule puts the operator's orders in order of time and finds what they mean
// for the operations and the targets.
func schedule(sc *Scenario, pl *Plan, m *motion) (said []saying, ops []orderedOperation, targets []timedTarget, err error) {
	orders := append([]Order(nil), sc.Orders...)
	for i, o := range orders {
		if o.AfterPass > 0 {
			orders[i].AtS = m.timeAt(pl.passEnd[min(o.AfterPass, len(pl.passEnd))-1])
		}
	}
	sort.SliceStable(orders, func(i, j int) bool { return orders[i].AtS < orders[j].AtS })
	ops = []orderedOperation{{0, sc.Field.Name, sc.Implement.Operation}}
	for _, o := range orders {
		var say struct {
			Field, Operation *string
		}
		if err := json.Unmarshal([]byte(o.JSON), &say); err != nil {
			return nil, nil, nil, fmt.Errorf("operator line %s: %w", o.JSON, err)
		}
		at := math.Round(o.AtS*1e6) / 1e6
		said = append(said, saying{at, o.JSON})
		for _, t := range o.Targets {
			targets = append(targets, timedTarget{at, t.Tank, t.RatePerM2})
		}
		if say.Field == nil && say.Operation == nil {
			continue
		}
		next := ops[len(ops)-1]
		next.atS = at
		if say.Field != nil {
			next.field = *say.Field
		}
		if say.Operation != nil {
			next.operation = *say.Operation
		}
		ops = append(ops, next)
	}
	return said, ops, targets, nil
}

// run merges what the parts say in order of time.
type run struct {
	sc    *Scenario
	m     *motion
	sink  Sink
	mail  *mail
	said  []saying
	steer *control
	g     *ground
	rcv   *receiver
	mach  *machine
	clock clockReader
}

func (r *run) all() error {
	r.clock = clockReader{sc: r.sc}
	for {
		fix, report, say := r.rcv.nextS(), math.Inf(1), math.Inf(1)
		if len(r.sc.Tanks) > 0 {
			r.drive(r.mach.tickS() + r.sc.maxLagS())
			report = r.mach.nextS()
		}
		if len(r.said) > 0 {
			say = r.said[0].atS
		}
		t := min(fix, report, say)
		if err := r.deliver(math.Nextafter(t, math.Inf(-1))); err != nil {
			return err
		}
		if t > r.m.endS {
			break
		}
		switch t {
		case say:
			r.mail.post(t, StreamOperator, []byte(r.said[0].json))
			r.said = r.said[1:]
		case report:
			r.mach.report(t)
		default:
			r.rcv.send(t)
		}
	}
	r.drive(math.Inf(1))
	return r.deliver(math.Inf(1))
}

// drive works the ground out up to a time.
func (r *run) drive(untilS float64) {
	for r.g.t < untilS {
		more := r.steer.next()
		n := 0
		for ; n < len(r.steer.steps) && r.steer.steps[n+1].t <= r.steer.t-r.steer.earlyS; n += 2 {
			r.g.take(r.steer.steps[n], r.steer.steps[n+1], &r.steer.queue)
		}
		r.steer.steps = append(r.steer.steps[:0], r.steer.steps[n:]...)
		if !more {
			return
		}
	}
}

// deliver hands over what has arrived.
func (r *run) deliver(untilS float64) error {
	for {
		l, ok := r.mail.take(untilS)
		if !ok {
			return nil
		}
		if err := r.sink(r.clock.at(l.atS), l.stream, l.line); err != nil {
			return err
		}
	}
}

// clockReader is the session's clock.
type clockReader struct{ sc *Scenario }

func (c clockReader) at(s float64) time.Time {
	off := c.sc.Clock.OffsetS + s*c.sc.Clock.DriftPPM/1e6
	for _, st := range c.sc.Clock.Steps {
		if s >= st.AtS {
			off += st.ByS
		}
	}
	// Years of offset and microseconds do not share one float64.
	return stamp(c.sc.Start, s).Add(time.Duration(math.Round(off*1e6)) * time.Microsecond)
}

// Check says what of the scenario cannot be driven, before anything is written.
func Check(sc Scenario) error {
	if err := sc.check(); err != nil {
		return err
	}
	pl, err := NewPlan(&sc)
	if err != nil {
		return err
	}
	_, _, _, err = schedule(&sc, pl, newMotion(pl, sc.Drive, sc.maxLagS()+2))
	return err
}
