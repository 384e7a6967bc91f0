package daemon

import (
	"context"
	"time"

	"drawbar/internal/alarm"
	"drawbar/internal/live"
	"drawbar/internal/metrics"
	"drawbar/replay"
)

// Show serves a session that is replayed, at the addresses of a live run. Nothing
// can be said to it, and it records nothing. Its methods are for the goroutine that
// feeds the session.
type Show struct {
	cfg     Config
	board   board
	serving *serving
	stop    context.CancelFunc
}

// OpenShow starts serving; Close ends it.
func OpenShow(ctx context.Context, cfg Config) (*Show, error) {
	hub := &live.Hub{}
	s := &Show{cfg: cfg}
	s.board = board{hub: hub, watch: alarm.New(limits(&cfg, false)), version: cfg.Version, log: cfg.Log}
	ctx, s.stop = context.WithCancel(ctx)
	var err error
	if s.serving, err = serve(ctx, &s.cfg, hub, metrics.New(hub, cfg.Version), nil, nil); err != nil {
		s.stop()
		return nil, err
	}
	return s, nil
}

// Address is where it is served.
func (s *Show) Address() string { return s.serving.address }

// Fed shows the session after an event that arrived at the moment at, as often as
// a live run would.
func (s *Show) Fed(session *replay.Session, at time.Time) {
	if s.board.started.IsZero() {
		s.board.started = at
	}
	if s.board.age() >= publishEvery {
		s.board.publish(at, session, live.RecordingState{}, nil)
	}
}

// Keep shows the session as it stands, at the moment at, until ctx ends.
func (s *Show) Keep(ctx context.Context, session *replay.Session, at time.Time) {
	tick := time.NewTicker(publishLeast)
	defer tick.Stop()
	for {
		s.board.publish(at, session, live.RecordingState{}, nil)
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// Close ends the serving and waits for it.
func (s *Show) Close() error {
	s.board.hub.Close()
	s.stop()
	return s.serving.wait()
}
