package daemon

import (
	"context"
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
	if p.core != nil {
		c.Operator, c.Sessions = p.core, p.record
	}
	s, err := server.New(c)
	if err != nil {
		return nil, err
	}
	address, err := s.Listen(ctx)
	if err != nil {
		return nil, err
	}
	out := &serving{address: address.String(), ended: make(chan error, 1)}
	go func() {
		if err := s.Run(ctx); err != nil {
			out.ended <- fmt.Errorf("serve: %w", err)
			return
		}
		out.ended <- nil
	}()
	return out, nil
}
