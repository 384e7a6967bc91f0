package daemon

import (
	"context"

	"drawbar/internal/recent"
)

// openRecent reads what was used last, which outlives the run. Where that fails it is
// learnt anew.
func openRecent(cfg *Config) *recent.Book {
	b, err := recent.Open(cfg.File.Data)
	if err != nil {
		cfg.Log.Warn("what was used last is not known", keyError, err)
	}
	return b
}

// keepRecent learns what is used, until ctx ends.
func (c *core) keepRecent(ctx context.Context) {
	failing := false
	c.recent.Run(ctx, c.board.hub, func(err error) {
		if !failing {
			c.cfg.Log.Warn("what was used last cannot be kept", keyError, err)
		}
		failing = true
	})
}
