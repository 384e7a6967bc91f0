package daemon

import (
	"log/slog"
	"time"

	"drawbar/coverage"
	"drawbar/internal/config"
	"drawbar/replay"
)

// Config is what a daemon is made of.
type Config struct {
	File    config.File
	Name    string // of the configuration file, empty = none; for messages and reloading
	Text    []byte // of the configuration file, kept in every recording
	Version string
	Log     *slog.Logger
	// Now is the session's clock; nil: time.Now. A demonstration lets it run
	// faster than the wall's.
	Now func() time.Time
	// Announce shows a line to whoever sees the board: a pairing code. It must not
	// block; nil: nothing is shown.
	Announce func(text string)
	// Ready is called once everything runs, with the address that the server
	// listens on; nil: nothing is called.
	Ready func(address string)
	// OnSwath is given each swath as it is closed, by the core's goroutine, which
	// it must not hold up; nil: none are built.
	OnSwath func(coverage.Swath)
	// Ended is given the final figures once the last line was processed; nil:
	// nothing is called.
	Ended func(replay.Summary)
}

// now is the session's clock in UTC, without Go's monotonic reading: what is
// worked out live must not know more of a moment than the recording does.
func (c *Config) now() time.Time {
	if c.Now != nil {
		return c.Now().UTC().Round(0)
	}
	return time.Now().UTC().Round(0)
}
