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

// serve opens the server's port and serves until ctx ends. say and sessions may be
// nil: then nothing can be said, and there are none.
func serve(ctx context.Context, cfg *Config, hub *live.Hub, collector *metrics.Collector, say server.Sayer, sessions server.Lister) (*serving, error) {
	registry := prometheus.NewRegistry()
	if err := registry.Register(collector); err != nil {
		return nil, fmt.Errorf("register the metrics: %w", err)
	}
	s, err := server.New(server.Config{
		Listen: cfg.File.Listen, Hub: hub, Metrics: registry, Operator: say, Sessions: sessions,
		Units: cfg.File.Units, Timezone: cfg.File.Timezone, Log: cfg.Log,
	})
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
