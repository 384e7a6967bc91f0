package daemon

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"drawbar/coverage"
	"drawbar/internal/alarm"
	"drawbar/internal/arrivals"
	"drawbar/internal/live"
	"drawbar/internal/metrics"
	"drawbar/internal/server"
	"drawbar/replay"
)

// Recorded is a session to be shown.
type Recorded struct {
	Setup replay.Setup
	// Open reads the session from its start. What it gave before is used no more.
	Open       func() (replay.Source, error)
	Start, End time.Time // arrivals of its first and its last event
	Speed      float64   // times as fast as it was recorded
	Shown      func()    // called once, when there is something to look at; may be nil
}

// Show serves a session that is replayed, at the addresses of a live run. Nothing
// can be said to it, and it records nothing. It can be halted, sped up and sent to
// any moment.
type Show struct {
	cfg     Config
	board   board
	serving *serving       // nil: it stands within the server of a run
	within  *server.Server // that answers for it there
	stop    context.CancelFunc
	lately  *arrivals.Log
	wishes  chan wish
	done    chan struct{}
}

// wish is how the replay shall go on; a nil member stays as it is.
type wish struct {
	at      *time.Time
	speed   *float64
	playing *bool
}

// Bounds of the speed of a replay.
const (
	slowest = 0.1
	fastest = 1000
)

// longestWait bounds the wait for one event: a night is not waited for.
const longestWait = 10 * time.Second

// OpenShow starts serving; Close ends it.
func OpenShow(ctx context.Context, cfg Config) (*Show, error) {
	s, err := newShow(cfg)
	if err != nil {
		return nil, err
	}
	ctx, s.stop = context.WithCancel(ctx)
	if s.serving, err = serve(ctx, &s.cfg, parts{hub: s.board.hub, collector: metrics.New(s.board.hub, cfg.Version), show: s, board: &s.board}); err != nil {
		s.stop()
		return nil, err
	}
	return s, nil
}

// openShowWithin makes a show that listens nowhere: the server of a run passes on what
// is asked of it.
func openShowWithin(cfg Config) (*Show, error) {
	s, err := newShow(cfg)
	if err != nil {
		return nil, err
	}
	s.stop = func() { s.within.End() }
	s.within, err = server.New(server.Config{
		Within: true, Hub: s.board.hub, Units: cfg.File.Units, Timezone: cfg.File.Timezone, Log: cfg.Log,
		Tiles: s.board.maker, Replay: s, Arrivals: s.lately,
	})
	return s, err
}

func newShow(cfg Config) (*Show, error) {
	s := &Show{cfg: cfg, lately: arrivals.New(&cfg.File), wishes: make(chan wish, sayQueue), done: make(chan struct{})}
	s.board = board{hub: &live.Hub{}, watch: alarm.New(limits(&cfg, false)), version: cfg.Version, log: cfg.Log}
	var err error
	if s.board.place, err = newPlace(cfg.File.Fields.Known); err != nil {
		return nil, err
	}
	s.board.draw(new(coverage.Setup)) // so that there is a maker to serve
	return s, nil
}

// Address is where it is served.
func (s *Show) Address() string { return s.serving.address }

// Steer sets how the replay goes on; a nil argument leaves things as they are.
func (s *Show) Steer(ctx context.Context, at *time.Time, speed *float64, playing *bool) error {
	if speed != nil && !(*speed >= slowest && *speed <= fastest) {
		return fmt.Errorf("a speed of %g: want %g to %g times", *speed, slowest, float64(fastest))
	}
	select {
	case s.wishes <- wish{at, speed, playing}:
		return nil
	case <-s.done:
		return errors.New("the replay has ended")
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Play shows the session until ctx ends.
func (s *Show) Play(ctx context.Context, rec Recorded) error {
	defer close(s.done)
	p := playing{show: s, rec: rec, speed: rec.Speed, on: true}
	s.board.started = rec.Start
	if err := p.rewind(); err != nil {
		return err
	}
	return p.run(ctx)
}

// Close ends the serving and waits for it.
func (s *Show) Close() error {
	s.board.hub.Close()
	s.stop()
	if s.serving == nil {
		return nil
	}
	return s.serving.wait()
}

// playing is a session while it is shown.
type playing struct {
	show    *Show
	rec     Recorded
	session *replay.Session
	source  replay.Source
	next    replay.Event // not fed yet, where has is true
	has     bool
	ended   bool // everything was fed and the session finished
	at      time.Time
	speed   float64
	on      bool
	due     time.Time // when next is to be fed, by the wall's clock
}

// rewind begins anew.
func (p *playing) rewind() error {
	setup := p.rec.Setup
	p.show.board.draw(&setup.Coverage)
	session, err := replay.NewSession(setup)
	if err != nil {
		return err
	}
	source, err := p.rec.Open()
	if err != nil {
		return err
	}
	p.show.board.restart()
	p.show.lately.Clear()
	p.session, p.source, p.at, p.ended = session, source, p.rec.Start, false
	return p.load()
}

// load reads the next event.
func (p *playing) load() error {
	for {
		e, err := p.source.Next()
		var corrupt *replay.CorruptError
		switch {
		case errors.As(err, &corrupt):
			continue // told of when the inputs were opened
		case errors.Is(err, io.EOF), err == nil && e.At.After(p.rec.End):
			p.has = false
			return nil
		case err != nil:
			return err
		}
		p.next, p.has = e, true
		return nil
	}
}

// feed feeds the event that is due.
func (p *playing) feed() error {
	if !p.has {
		if !p.ended {
			p.session.Finish()
			p.ended = true
		}
		return nil
	}
	p.show.lately.Take(p.next)
	p.session.Feed(p.next)
	last := p.next.At
	if last.After(p.at) {
		p.at = last
	}
	if err := p.load(); err != nil {
		return err
	}
	if !p.has {
		p.session.Finish()
		p.ended = true
	}
	return nil
}

// wait is how long the next event is after what is shown, at the present speed.
func (p *playing) wait() time.Duration {
	d := float64(p.next.At.Sub(p.at)) / p.speed
	return time.Duration(max(0, min(d, float64(longestWait))))
}

func (p *playing) run(ctx context.Context) error {
	tick := time.NewTicker(publishLeast)
	defer tick.Stop()
	timer := time.NewTimer(0)
	defer timer.Stop()
	p.due = time.Now()
	p.publish()
	if p.rec.Shown != nil {
		p.rec.Shown()
	}
	for {
		timer.Stop()
		var due <-chan time.Time
		if p.on && p.has {
			timer.Reset(time.Until(p.due))
			due = timer.C
		}
		select {
		case <-ctx.Done():
			return nil
		case w := <-p.show.wishes:
			if err := p.grant(ctx, w); err != nil {
				return err
			}
			p.publish()
		case <-tick.C:
			p.publish()
		case <-due:
			if err := p.feed(); err != nil {
				return err
			}
			if p.has {
				p.due = p.due.Add(p.wait())
			}
			if p.show.board.age() >= publishEvery || p.ended {
				p.publish()
			}
		}
	}
}

// grant goes on as wished.
func (p *playing) grant(ctx context.Context, w wish) error {
	if w.speed != nil {
		p.speed = *w.speed
	}
	if w.playing != nil {
		p.on = *w.playing
	}
	if w.at != nil {
		if err := p.goTo(ctx, *w.at); err != nil {
			return err
		}
	}
	if p.on && p.ended && w.at == nil && w.playing != nil { // played again from the start
		if err := p.rewind(); err != nil {
			return err
		}
	}
	p.due = time.Now()
	if p.has {
		p.due = p.due.Add(p.wait())
	}
	return nil
}

// goTo feeds everything up to a moment, from the start where that is behind.
func (p *playing) goTo(ctx context.Context, at time.Time) error {
	if at.Before(p.at) {
		if err := p.rewind(); err != nil {
			return err
		}
	}
	board := &p.show.board
	for n := 1; p.has && !p.next.At.After(at); n++ {
		if err := p.feed(); err != nil {
			return err
		}
		if n%batchSize == 0 {
			if ctx.Err() != nil {
				return nil
			}
			board.pieces = board.pieces[:0] // they are drawn by the tiles
			if board.age() >= publishLeast {
				p.publish()
			}
		}
	}
	if !p.ended && at.After(p.at) && p.has {
		p.at = at
	}
	board.redraw()
	return nil
}

func (p *playing) publish() {
	p.show.board.replay = &live.Replay{Start: p.rec.Start, End: p.rec.End, At: p.at, Speed: p.speed, Playing: p.on && !p.ended}
	p.show.board.publish(p.at, p.session, live.RecordingState{}, nil)
}
