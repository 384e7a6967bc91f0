package daemon

import (
	"context"
	"errors"
	"fmt"

	"drawbar/internal/live"
	"drawbar/internal/metrics"
	"drawbar/internal/server"

	"github.com/prometheus/client_golang/prometheus"
)

// serving is the server at work.
type serving struct {
	address string
	ended   chan error
}

// wait returns when the server has ended.
func (s *serving) wait() error { return <-s.ended }

// parts are what is served. core and record are nil while a recorded session is
// shown, show is nil in a live run.
type parts struct {
	hub       *live.Hub
	collector *metrics.Collector
	board     *board
	core      *core
	record    *recording
	show      *Show
}

// serve opens the server's port and serves until ctx ends.
func serve(ctx context.Context, cfg *Config, p parts) (*serving, error) {
	registry := prometheus.NewRegistry()
	if err := registry.Register(p.collector); err != nil {
		return nil, fmt.Errorf("register the metrics: %w", err)
	}
	c := server.Config{
		Listen: cfg.File.Listen, Hub: p.hub, Metrics: registry,
		Units: cfg.File.Units, Timezone: cfg.File.Timezone, Log: cfg.Log,
	}
	gate, err := newGate(cfg, p.core != nil)
	if err != nil {
		return nil, err
	}
	c.Access = gate
	c.Tiles, c.FieldsFile = p.board.maker, cfg.File.Fields.From
	switch {
	case p.core != nil:
		c.Operator, c.Sessions, c.Fields, c.Outline, c.Drive, c.Alarms = p.core, p.record, p.core, p.core, p.core, p.core
		c.Recent, c.MinQuality = p.core.recent, cfg.File.GNSS.MinQuality
		c.Arrivals, c.Past, c.Records = p.core.lately, p.core.past, p.core.records
		c.Mend = p.core.mend
		if farm := p.core.known.catalog; farm != nil {
			c.Catalog, c.CatalogChanged = farm, p.core.CatalogChanged
			c.Marks = p.core.marks
		}
	case p.show != nil:
		c.Replay, c.Arrivals = p.show, p.show.lately
	}
	s, err := server.New(c)
	if err != nil {
		return nil, errors.Join(err, gate.Close())
	}
	address, err := s.Listen(ctx)
	if err != nil {
		return nil, errors.Join(err, gate.Close())
	}
	out := &serving{address: address.String(), ended: make(chan error, 1)}
	go func() {
		err := s.Run(ctx)
		if err != nil {
			err = fmt.Errorf("serve: %w", err)
		}
		out.ended <- errors.Join(err, gate.Close())
	}()
	return out, nil
}
