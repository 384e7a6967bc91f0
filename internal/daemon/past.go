package daemon

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"sync"
	"time"

	"drawbar/internal/boundary"
	"drawbar/internal/recorded"
	"drawbar/internal/server"
	"drawbar/internal/store"
	"drawbar/replay"
)

// Bounds of the recorded sessions that are looked at beside the run.
const (
	mostPast  = 2               // open at a time: each holds what a run of its size does
	pastIdle  = 2 * time.Minute // after which one that nobody looks at is closed
	pastSpeed = 8               // times as fast as recorded
)

// pasts are the recorded sessions that are looked at beside the run. Each is replayed
// by a goroutine of its own, which ends when nobody has looked for a while.
type pasts struct {
	cfg    *Config
	dir    string
	busy   func() string           // the session that is being recorded
	fields func() []boundary.Field // that are known now
	idle   time.Duration

	mu     sync.Mutex
	open   map[string]*past
	closed bool
	shows  sync.WaitGroup
}

// past is one of them.
type past struct {
	session string
	stop    context.CancelFunc
	ready   chan struct{} // closed when show or err is known
	show    *Show
	err     error

	// guarded by pasts.mu
	users int       // requests that are being answered
	used  time.Time // when the last one was
	timer *time.Timer
}

func newPasts(cfg *Config, dir string, busy func() string, fields func() []boundary.Field) *pasts {
	return &pasts{cfg: cfg, dir: dir, busy: busy, fields: fields, idle: pastIdle, open: map[string]*past{}}
}

// Has tells whether the session can be shown.
func (p *pasts) Has(_ context.Context, session string) error {
	_, err := p.file(session)
	return err
}

func (p *pasts) file(session string) (string, error) {
	file, ok := store.Find(p.dir, session)
	switch {
	case !ok:
		return "", server.ErrNoSession
	case session == p.busy():
		return "", server.ErrBusySession
	}
	return file, nil
}

// Show opens a session, unless it is open.
func (p *pasts) Show(ctx context.Context, session string) (http.Handler, func(), error) {
	s, err := p.take(session)
	if err != nil {
		return nil, nil, err
	}
	select {
	case <-s.ready:
	case <-ctx.Done():
		p.release(s)
		return nil, nil, ctx.Err()
	}
	if s.err != nil {
		p.release(s)
		return nil, nil, s.err
	}
	return s.show.within.Handler(), func() { p.release(s) }, nil
}

// take finds or opens a session and counts one more user of it.
func (p *pasts) take(session string) (*past, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return nil, ErrStopping
	}
	if s := p.open[session]; s != nil {
		s.users++
		return s, nil
	}
	file, err := p.file(session)
	if err != nil {
		return nil, err
	}
	if len(p.open) >= mostPast && !p.makeRoom() {
		return nil, server.ErrManySessions
	}
	ctx, stop := context.WithCancel(context.Background()) // ended by stop alone: it outlives the request that opened it
	s := &past{session: session, stop: stop, ready: make(chan struct{}), users: 1}
	p.open[session] = s
	p.shows.Go(func() { p.run(ctx, s, file) })
	return s, nil
}

// makeRoom closes the session that nobody has looked at for the longest time.
func (p *pasts) makeRoom() bool {
	var oldest *past
	for _, s := range p.open {
		if s.users == 0 && (oldest == nil || s.used.Before(oldest.used)) {
			oldest = s
		}
	}
	if oldest != nil {
		p.drop(oldest)
	}
	return oldest != nil
}

// release counts one user less; the last one starts the time after which the session
// is closed.
func (p *pasts) release(s *past) {
	p.mu.Lock()
	defer p.mu.Unlock()
	s.users--
	s.used = time.Now()
	if s.users > 0 || p.open[s.session] != s {
		return
	}
	if s.timer != nil {
		s.timer.Stop()
	}
	s.timer = time.AfterFunc(p.idle, func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		if s.users == 0 && time.Since(s.used) >= p.idle {
			p.drop(s)
		}
	})
}

// drop has a session end. Call it with mu held.
func (p *pasts) drop(s *past) {
	if s.timer != nil {
		s.timer.Stop()
	}
	if p.open[s.session] == s {
		delete(p.open, s.session)
	}
	s.stop()
}

// Forget closes a session that is open: it was corrected, and is to be opened anew.
func (p *pasts) Forget(session string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if s := p.open[session]; s != nil {
		p.drop(s)
	}
}

// close ends all of them and waits for that.
func (p *pasts) close() {
	p.mu.Lock()
	p.closed = true
	for _, s := range p.open {
		p.drop(s)
	}
	p.mu.Unlock()
	p.shows.Wait()
}

// run shows a session until ctx ends.
func (p *pasts) run(ctx context.Context, s *past, file string) {
	err := p.play(ctx, s, file)
	if s.show == nil {
		if err == nil {
			err = ErrStopping
		}
		s.err = fmt.Errorf("open session %s: %w", s.session, err)
		close(s.ready)
	} else if err != nil {
		p.cfg.Log.Error("showing a recorded session has stopped", keySession, s.session, keyError, err)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.drop(s)
}

func (p *pasts) play(ctx context.Context, s *past, file string) error {
	in, err := recorded.Open([]string{file}, recorded.Options{})
	if err != nil {
		return err
	}
	defer in.Close()
	held, setup, err := in.Setup(nil)
	if err != nil {
		return err
	}
	held.Units, held.Timezone = p.cfg.File.Units, p.cfg.File.Timezone // it is shown to those who look at the run
	held.Fields.Known = p.fields()
	rec := Recorded{Setup: setup, Speed: pastSpeed, Open: in.Rewound}
	if rec.Start, rec.End, err = span(ctx, in.Rewound); err != nil {
		return err
	}
	show, err := openShowWithin(Config{File: held, Version: p.cfg.Version, Log: p.cfg.Log})
	if err != nil {
		return err
	}
	defer show.Close()
	still := false
	if err := show.Steer(ctx, &rec.End, nil, &still); err != nil { // it opens at its end
		return err
	}
	rec.Shown = func() {
		s.show = show
		close(s.ready)
	}
	return show.Play(ctx, rec)
}

// span is from the first arrival of a session to its last.
func span(ctx context.Context, open func() (replay.Source, error)) (start, end time.Time, err error) {
	source, err := open()
	if err != nil {
		return start, end, err
	}
	for n := 1; ; n++ {
		e, err := source.Next()
		var corrupt *replay.CorruptError
		switch {
		case errors.As(err, &corrupt):
			continue // told of where its figures are
		case errors.Is(err, io.EOF) && start.IsZero():
			return start, end, errors.New("no line of it can be read")
		case errors.Is(err, io.EOF):
			return start, end, nil
		case err != nil:
			return start, end, err
		}
		if start.IsZero() {
			start, end = e.At, e.At
		}
		if e.At.After(end) {
			end = e.At
		}
		if n%batchSize == 0 && ctx.Err() != nil {
			return start, end, ctx.Err()
		}
	}
}
