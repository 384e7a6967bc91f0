package main

import (
	"context"
	"fmt"
	"log/slog"

	"drawbar/internal/daemon"
	"drawbar/replay"
)

// openShow starts showing the session where that was asked for; nil otherwise.
func (r *replayRun) openShow(ctx context.Context) (*daemon.Show, error) {
	if !r.options.serve {
		return nil, nil
	}
	file := r.config
	if r.options.listen != "" {
		file.Listen = r.options.listen
	}
	show, err := daemon.OpenShow(ctx, daemon.Config{File: file, Version: version(), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(r.stderr, "drawbar: open http://%s/ to watch; Ctrl-C ends it\n", show.Address())
	return show, nil
}

// keepShown shows the end of the session until ctx ends.
func (r *replayRun) keepShown(ctx context.Context, show *daemon.Show, session *replay.Session) {
	show.Keep(ctx, session, r.last)
}
