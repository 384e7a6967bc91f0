package daemon

import (
	"context"
	"fmt"

	"drawbar/internal/server"
)

// serving is the server at work.
type serving struct {
	address string
	ended   chan error
}

// wait returns when the server has ended.
func (s *serving) wait() error { return <-s.ended }

// serve opens the server's port and serves until ctx ends.
func (c *core) serve(ctx context.Context) (*serving, error) {
	registry, err := c.registry()
	if err != nil {
		return nil, err
	}
	s, err := server.New(server.Config{
		Listen: c.cfg.File.Listen, Hub: c.hub, Metrics: registry, Operator: c, Sessions: c.record,
		Units: c.cfg.File.Units, Timezone: c.cfg.File.Timezone, Log: c.cfg.Log,
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
