package daemon

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"drawbar/internal/arrivals"
	"drawbar/internal/live"
	"drawbar/internal/marks"
	"drawbar/internal/mend"
	"drawbar/internal/metrics"
	"drawbar/internal/recent"
	"drawbar/internal/records"
	"drawbar/internal/server"
	"drawbar/internal/source"
	"drawbar/replay"
)

// Bounds of the core's work.
const (
	batchSize    = 128                    // events that are recorded with one write
	publishEvery = 50 * time.Millisecond  // at most so often
	publishLeast = 500 * time.Millisecond // at least so often
	sayQueue     = 8
)

// ErrNotRecorded is wrapped by the error of Say when the line could not be
// written; it was then not acted on either.
var ErrNotRecorded = errors.New("not recorded")

// ErrStopping is returned by Say once the daemon is going down.
var ErrStopping = errors.New("the daemon is stopping")

// core is the one goroutine that owns the session.
type core struct {
	cfg     *Config
	session *replay.Session
	record  *recording
	board   board
	metrics *metrics.Collector
	sources []*source.Source
	lately  *arrivals.Log
	known   *known
	marks   *marks.Keeper // nil without a catalogue
	showing sync.Mutex    // held while marks are read to be shown
	recent  *recent.Book
	past    *pasts
	records *records.Index // nil: there is none
	mend    *mend.Mender

	events  chan replay.Event
	saying  chan said
	asking  chan func()
	done    chan struct{} // closed when run has returned
	batch   []replay.Event
	changed bool
	drive   drive
}

// said is one operator line and where its answer goes.
type said struct {
	line   []byte
	answer chan answer
}

// answer is what came of it.
type answer struct {
	server.Said
	err error
}

// Say records one operator line, brings it to the disk and acts on it. The line
// must have been checked: what is at fault in it does not act.
func (c *core) Say(ctx context.Context, line []byte) (server.Said, error) {
	s := said{line: append([]byte(nil), line...), answer: make(chan answer, 1)}
	select {
	case c.saying <- s:
	case <-c.done:
		return server.Said{}, ErrStopping
	case <-ctx.Done():
		return server.Said{}, ctx.Err()
	}
	select {
	case a := <-s.answer:
		return a.Said, a.err
	case <-c.done:
		select {
		case a := <-s.answer:
			return a.Said, a.err
		default:
			return server.Said{}, ErrStopping
		}
	}
}

// Do runs work on the goroutine that owns the session, between two lines; it must
// be quick.
func (c *core) Do(ctx context.Context, work func()) error {
	did := make(chan struct{})
	asked := func() { work(); close(did) }
	select {
	case c.asking <- asked:
	case <-c.done:
		return ErrStopping
	case <-ctx.Done():
		return ctx.Err()
	}
	select {
	case <-did:
		return nil
	case <-c.done:
		return ErrStopping
	}
}

// run takes events until the channel is closed, which is after the last source
// has ended.
func (c *core) run() {
	defer close(c.done)
	tick := time.NewTicker(publishEvery)
	defer tick.Stop()
	for {
		select {
		case e, open := <-c.events:
			if !open {
				c.session.Finish()
				c.publish()
				if c.cfg.Ended != nil {
					c.cfg.Ended(c.session.Summary())
				}
				return
			}
			c.take(e)
		case s := <-c.saying:
			s.answer <- c.say(s.line)
		case work := <-c.asking:
			work()
			c.changed = true
		case <-tick.C:
			if c.changed || c.board.age() >= publishLeast {
				c.publish()
			}
		}
	}
}

// take records and processes an event and those that wait behind it.
func (c *core) take(e replay.Event) {
	c.batch = append(c.batch[:0], e)
	for len(c.batch) < batchSize {
		select {
		case next, open := <-c.events:
			if !open {
				c.process()
				return
			}
			c.batch = append(c.batch, next)
			continue
		default:
		}
		break
	}
	c.process()
}

// process records the batch, then feeds it.
func (c *core) process() {
	held := c.batch[:0]
	for _, e := range c.batch {
		e.At = e.At.UTC().Round(0)
		if c.record.append(e) {
			held = append(held, e)
		}
	}
	c.record.Flush()
	for _, e := range held {
		c.feed(e)
	}
	c.changed = true
}

func (c *core) feed(e replay.Event) {
	c.lately.Take(e)
	before := c.session.FixCount()
	c.session.Feed(e)
	if c.session.FixCount() > before {
		c.metrics.ObserveFixToCoverage(max(0, c.cfg.now().Sub(e.At)))
	}
}

// say handles one operator line: on the disk first.
func (c *core) say(line []byte) (a answer) {
	e := replay.Event{At: c.cfg.now(), Stream: replay.StreamOperator, Line: line}
	if err := c.record.Commit(e); err != nil {
		return answer{err: fmt.Errorf("%w: %w", ErrNotRecorded, err)}
	}
	a.At = e.At
	before := c.session.Marked()
	c.feed(e)
	c.settles(e)
	c.publish()
	if n := c.session.Marked(); n > before {
		a.Mark = n
	}
	return a
}

// publish makes the state seen.
func (c *core) publish() {
	ports := make([]live.SourceState, len(c.sources))
	for i, s := range c.sources {
		ports[i] = sourceState(s.Status())
	}
	c.board.publish(c.cfg.now(), c.session, c.record.state(), ports)
	c.changed = false
}

func sourceState(s source.Status) live.SourceState {
	stream := "gnss"
	if s.Name == replay.StreamController.String() {
		stream = s.Name
	}
	return live.SourceState{
		Name: s.Name, Stream: stream, Address: s.Address, Up: s.Up, Since: s.Since,
		Reconnects: s.Reconnects, Bytes: s.Bytes, Lines: s.Lines, LastError: s.LastError, Baud: s.Baud,
	}
}
