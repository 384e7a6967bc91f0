package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"

	"drawbar/internal/daemon"
	"drawbar/internal/recorded"
	"drawbar/replay"
)

// show serves the inputs as one session until ctx ends.
func (r *replayRun) show(ctx context.Context, setup replay.Setup, in *recorded.Inputs) error {
	rec := daemon.Recorded{Setup: setup, Speed: r.options.pace, Open: in.Rewound}
	if err := r.survey(&rec); err != nil {
		return err
	}
	r.progress.wipe()
	if !r.until.IsZero() && r.until.Before(rec.End) {
		rec.End = r.until
	}
	file := r.config
	if r.options.listen != "" {
		file.Listen = r.options.listen
	}
	show, err := daemon.OpenShow(ctx, daemon.Config{File: file, Version: version(), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	defer show.Close()
	tellPage(r.stderr, "drawbar: ", show.Address(), " to watch; Ctrl-C ends it")
	return show.Play(ctx, rec)
}

// survey reads a session through for its first and its last moment, and tells of
// damage in it.
func (r *replayRun) survey(rec *daemon.Recorded) error {
	source, err := rec.Open()
	if err != nil {
		return err
	}
	damaged := 0
	for {
		e, err := source.Next()
		var corrupt *replay.CorruptError
		switch {
		case errors.As(err, &corrupt):
			if damaged++; damaged == 1 {
				fmt.Fprintf(r.stderr, "drawbar: %v; damaged places are left out\n", corrupt)
			}
		case errors.Is(err, io.EOF) && rec.Start.IsZero():
			return errors.New("no line of it can be read: nothing to show")
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		case rec.Start.IsZero():
			rec.Start, rec.End = e.At, e.At
		case e.At.After(rec.End):
			rec.End = e.At
		}
	}
}
