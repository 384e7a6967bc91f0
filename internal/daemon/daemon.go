package daemon

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"drawbar/internal/alarm"
	"drawbar/internal/arrivals"
	"drawbar/internal/live"
	"drawbar/internal/metrics"
	"drawbar/internal/source"
	"drawbar/replay"
)

// Run runs the daemon until ctx ends, and returns when everything it started has
// ended and the recording is closed. reload is read for requests to read the
// configuration again; it may be nil.
func Run(ctx context.Context, cfg Config, reload <-chan struct{}) error {
	setup := cfg.File.Setup()
	setup.Coverage.OnSwath, setup.Coverage.WatchSkips = cfg.OnSwath, true
	hub := &live.Hub{}
	c := &core{
		cfg:    &cfg,
		board:  board{hub: hub, watch: alarm.New(limits(&cfg, true)), version: cfg.Version, started: cfg.now(), log: cfg.Log},
		events: make(chan replay.Event, source.QueueSize),
		saying: make(chan said, sayQueue),
		asking: make(chan func(), sayQueue),
		lately: arrivals.New(&cfg.File),
		done:   make(chan struct{}),
	}
	var err error
	if c.board.place, err = newPlace(cfg.File.Fields.Known); err != nil {
		return fmt.Errorf("start: %w", err)
	}
	c.board.draw(&setup.Coverage)
	session, err := replay.NewSession(setup)
	if err != nil {
		return fmt.Errorf("start: %w", err)
	}
	collector := metrics.New(hub, cfg.Version)
	record, err := openRecording(&cfg, collector)
	if err != nil {
		return fmt.Errorf("start: %w", err)
	}
	c.session, c.record, c.metrics = session, record, collector
	farm := openCatalog(ctx, &cfg)
	defer closeCatalog(farm, &cfg)
	c.known, c.recent = newKnown(farm, cfg.File.Fields.Known), openRecent(&cfg)
	if c.sources, err = openSources(&cfg); err != nil {
		return errors.Join(fmt.Errorf("start: %w", err), record.close())
	}
	c.keepMarks(farm)
	c.records = openRecords(ctx, &cfg, farm, record)
	defer c.closeRecords()
	c.past = newPasts(&cfg, record.folder.Dir(), record.name, c.known.all)
	c.mend = newMender(record.folder.Dir(), c.past, c.records)
	serving, err := serve(ctx, &cfg, parts{hub: hub, collector: collector, core: c, record: record, board: &c.board})
	if err != nil {
		return errors.Join(fmt.Errorf("start: %w", err), record.close())
	}
	return c.live(ctx, serving, reload)
}

// live runs the parts that wait for each other.
func (c *core) live(ctx context.Context, serving *serving, reload <-chan struct{}) error {
	c.publish()                                                     // so that there is something to see from the first moment
	go c.run()                                                      // ends when events is closed, below; done tells
	working, rest := context.WithCancel(context.WithoutCancel(ctx)) // ends after the last line
	c.knowFields(working, true)
	var beside sync.WaitGroup
	c.record.keepSynced(working, &beside)
	tidied := begin(c.record.tidy)
	beside.Go(func() { c.keepWatchdog(working) })
	beside.Go(func() { c.keepReloading(working, reload) })
	beside.Go(func() { c.mend.Run(working) })
	beside.Go(func() { c.keepFields(working) })
	if c.marks != nil {
		beside.Go(func() { c.marks.Run(working) })
		beside.Go(func() { c.marks.Reconcile(ctx) }) // which a stop does not wait for
	}
	beside.Go(func() { c.keepRecent(working) })
	beside.Go(func() { c.keepRecords(ctx, tidied) })

	var ports sync.WaitGroup
	for _, s := range c.sources {
		ports.Go(func() {
			if err := s.Run(ctx, c.events); err != nil {
				c.cfg.Log.Error("a source has stopped for good", keyError, err)
			}
		})
	}
	c.cfg.Log.Info("running", keyAddress, serving.address, keySession, c.record.name())
	notifyReady()
	if c.cfg.Ready != nil {
		c.cfg.Ready(serving.address)
	}

	<-ctx.Done()
	notifyStopping()
	ports.Wait()
	close(c.events)
	<-c.done
	c.board.hub.Close()
	c.past.close()
	err := serving.wait()
	rest()
	beside.Wait()
	tidied.within(tidyTime)
	return errors.Join(err, c.record.close())
}

// tidyTime is how long a stop waits for the tidying of old sessions, which may be
// broken off: a stop must not take more than two seconds.
const tidyTime = time.Second

// task is work of its own that may be left behind when the process ends.
type task struct{ done chan struct{} }

func begin(work func()) task {
	t := task{make(chan struct{})}
	go func() {
		defer close(t.done)
		work()
	}()
	return t
}

// within waits for the task, but no longer than d.
func (t task) within(d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-t.done:
	case <-timer.C:
	}
}

func limits(cfg *Config, records bool) alarm.Limits {
	return alarm.Limits{MinQuality: cfg.File.GNSS.MinQuality, StaleS: cfg.File.Controller.StaleAfterS, Records: records}
}

// openSources makes the ports that the configuration names.
func openSources(cfg *Config) ([]*source.Source, error) {
	var out []*source.Source
	for _, s := range []source.Config{
		{Name: replay.StreamGNSS.String(), Stream: replay.StreamGNSS, Address: cfg.File.GNSS.Source, Baud: cfg.File.GNSS.Baud, Valid: source.ValidSentence()},
		{Name: replay.StreamController.String(), Stream: replay.StreamController, Address: cfg.File.Controller.Source, Baud: cfg.File.Controller.Baud, Valid: source.ValidReport(cfg.File.Controller.Profile)},
	} {
		if s.Address == "" {
			continue
		}
		s.Now, s.Log = cfg.now, cfg.Log
		made, err := source.New(s)
		if err != nil {
			return nil, err
		}
		out = append(out, made)
	}
	return out, nil
}
