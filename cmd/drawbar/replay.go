package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"drawbar/internal/config"
	"drawbar/internal/export"
	"drawbar/internal/recorded"
	"drawbar/replay"

	"github.com/spf13/cobra"
)

// replayOptions are the flags of replay.
type replayOptions struct {
	config   string
	format   string
	out      string
	until    string
	speed    string
	pace     float64 // speed as a number
	serve    bool
	listen   string
	json     bool
	alwaysOn bool
}

func newReplayCommand() *cobra.Command {
	var o replayOptions
	cmd := &cobra.Command{
		Use:   "replay [flags] INPUT...",
		Short: "Work out the results of recorded input",
		Long: `replay reads recorded input, one file after the other as one session, and prints
where product went on the ground: areas, amounts, counts and warnings. Receiver and
controller recorded in files of their own are read side by side.

An input is a recorded session (.mcap), capture text (.capture) or a plain NMEA log
(.nmea, .log, .txt), whose times come from its sentences. "-" is standard input; say
its --format. Of a session that has several parts (NAME.2.mcap and so on) the first
one stands for all. Corrections beside an input (NAME.corrections.jsonl) are applied.

Implement, tanks and field come from the configuration and from operator lines in
the input. A session knows the configuration that it was recorded with; --config
takes its place. Without any only counts, positions and distance are worked out. A plain
NMEA log has no controller lines: --always-on paints the whole bar.

A damaged line is left out, named on stderr and in the warnings, and the rest
counts.`,
		Example: `  drawbar replay data/000017-20260514T130510Z.mcap
  drawbar replay --config mill-piece.yaml morning.capture
  drawbar replay --config mill-piece.yaml --json --out results morning.capture afternoon.capture
  drawbar replay --config mill-piece.yaml --always-on tractor.nmea
  drawbar replay --serve --speed 8x data/000017-20260514T130510Z.mcap
  zcat morning.capture.gz | drawbar replay --format capture -`,
		Args: usageArgs(cobra.MinimumNArgs(1), "name the recorded input to replay"),
		RunE: func(cmd *cobra.Command, args []string) error {
			r, err := newReplayRun(cmd, o)
			if err != nil {
				return err
			}
			return r.run(cmd.Context(), args)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.config, "config", "", "configuration `FILE`: implement, tanks, field, line profile, units")
	f.BoolVar(&o.json, "json", false, "print the summary as JSON and nothing else")
	f.StringVar(&o.out, "out", "", "write summary.json and the GeoJSON files into folder `DIR`")
	f.BoolVar(&o.alwaysOn, "always-on", false, "paint the whole bar wherever there is a fix, whatever the controller says")
	f.StringVar(&o.until, "until", "", "stop before the first line that arrived after `TIME`, such as 2026-05-14T13:05:10.200Z")
	f.StringVar(&o.speed, "speed", "", "`N` times as fast as recorded, such as 8x; otherwise as fast as it goes")
	f.BoolVar(&o.serve, "serve", false, "show the session on the page of a live run, with slider and pace, until Ctrl-C; 1x unless --speed says more")
	f.StringVar(&o.listen, "listen", "", "`HOST:PORT` for --serve, such as 0.0.0.0:8080 for other devices too")
	f.StringVar(&o.format, "format", "", "read every input as `FORMAT`, mcap, capture or nmea, whatever its name")
	return cmd
}

// replayRun is one call of replay.
type replayRun struct {
	options        replayOptions
	config         config.File
	until          time.Time // zero: to the end
	stdin          io.Reader
	stdout, stderr io.Writer
	progress       *progress
}

// newReplayRun checks what can be checked before any input is opened.
func newReplayRun(cmd *cobra.Command, o replayOptions) (*replayRun, error) {
	r := &replayRun{options: o, config: config.Default(), stdin: cmd.InOrStdin(), stdout: cmd.OutOrStdout(), stderr: cmd.ErrOrStderr()}
	switch {
	case o.format != "" && !slices.Contains([]recorded.Format{recorded.Capture, recorded.NMEA, recorded.MCAP}, recorded.Format(o.format)):
		return nil, usagef("--format %s: want mcap, capture or nmea", o.format)
	case o.listen != "" && !o.serve:
		return nil, usagef("--listen goes with --serve")
	case o.serve && (o.out != "" || o.json):
		return nil, usagef("--serve shows a session, it gives no results: replay it once more without --serve for --json or --out")
	}
	if o.serve && o.speed == "" {
		o.speed = "1x"
	}
	if o.speed != "" {
		n, err := strconv.ParseFloat(strings.TrimSuffix(o.speed, "x"), 64)
		if err != nil || !(n > 0) || math.IsInf(n, 0) {
			return nil, usagef("--speed %s: want a number above 0, such as 8x", o.speed)
		}
		o.pace = n
	}
	r.options = o
	if o.until != "" {
		var err error
		if r.until, err = time.Parse(time.RFC3339, o.until); err != nil {
			return nil, usagef("--until %s: want a time such as 2026-05-14T13:05:10.200Z", o.until)
		}
	}
	if o.config != "" {
		var err error
		if r.config, err = config.Load(o.config); err != nil {
			return nil, err
		}
	}
	r.progress = newProgress(r.stderr, 0)
	return r, nil
}

func (r *replayRun) run(ctx context.Context, names []string) error {
	in, err := r.open(names)
	if err != nil {
		return err
	}
	defer in.Close()

	setup, err := r.prepare(in)
	if err != nil {
		return err
	}
	var files *export.Files
	if r.options.out != "" {
		if files, err = export.Open(r.options.out); err != nil {
			return err
		}
		defer files.Discard()
		setup.Coverage.OnSwath, setup.Coverage.OnTrack = files.Swath, files.Fix
		setup.Coverage.WatchSkips = true
	}
	if r.options.serve {
		return r.show(ctx, setup, in)
	}
	session, err := replay.NewSession(setup)
	if err != nil {
		return err
	}
	if err := r.play(ctx, session, files, in); err != nil {
		return err
	}
	session.Finish()

	summary := session.Summary()
	summary.Warnings = append(summary.Warnings, in.Warnings()...)
	if r.options.alwaysOn && len(summary.Operations) == 0 {
		summary.Warnings = append(summary.Warnings, "--always-on painted nothing: no implement was stated; name one with --config")
	}
	text, err := summaryJSON(summary)
	if err != nil {
		return err
	}
	if files != nil {
		if err := files.Finish(text, session.Operations(), session.Marks()); err != nil {
			return err
		}
	}
	if !r.options.json {
		text = export.Text{Units: r.config.Units, Zone: r.config.Timezone}.Append(nil, summary)
	}
	if _, err := r.stdout.Write(text); err != nil {
		return fmt.Errorf("print the summary: %w", err)
	}
	return nil
}

// open opens the inputs.
func (r *replayRun) open(names []string) (*recorded.Inputs, error) {
	format := recorded.Format(r.options.format)
	if format == recorded.ByName && slices.Contains(names, recorded.Stdin) {
		return nil, usagef("standard input has no name to go by: say --format mcap, capture or nmea")
	}
	return recorded.Open(names, recorded.Options{
		Format: format, Stdin: r.stdin, Read: r.progress.add, Size: func(n int64) { r.progress.size += n },
	})
}

// prepare is what a session is told at its start. Corrections that do not act are
// told on stderr.
func (r *replayRun) prepare(in *recorded.Inputs) (s replay.Setup, err error) {
	var named *config.File
	if r.options.config != "" {
		named = &r.config
	}
	if r.config, s, err = in.Setup(named); err != nil {
		return s, err
	}
	for _, what := range in.Faults() {
		fmt.Fprintf(r.stderr, "drawbar: %s\n", what)
	}
	s.Coverage.AlwaysOn = r.options.alwaysOn
	return s, nil
}

// checkEvery is after how many events a signal and a full disk are looked for.
const checkEvery = 1024

// play feeds the inputs to the session, and then tells of the damage in them.
func (r *replayRun) play(ctx context.Context, session *replay.Session, files *export.Files, in *recorded.Inputs) error {
	n := 0
	err := in.Play(replay.Player{Pace: r.options.pace, Wait: pacer(ctx)}, func(e replay.Event) error {
		if !r.until.IsZero() && e.At.After(r.until) {
			return replay.ErrStop
		}
		session.Feed(e)
		if n++; n%checkEvery == 0 || r.options.pace > 0 {
			if ctx.Err() != nil {
				return errors.New("interrupted; no results were written")
			}
			if files != nil {
				return files.Err()
			}
		}
		return nil
	})
	r.progress.wipe()
	if err != nil {
		return err
	}
	damage, err := in.Damage()
	for _, line := range damage {
		fmt.Fprintf(r.stderr, "drawbar: %s\n", line)
	}
	return err
}

// pacer waits until the sum of all waits has passed since its first, so that the
// work between them costs no time. It ends early with ctx.
func pacer(ctx context.Context) func(time.Duration) {
	var due time.Time
	return func(d time.Duration) {
		if due.IsZero() {
			due = time.Now()
		}
		due = due.Add(d)
		timer := time.NewTimer(time.Until(due))
		defer timer.Stop()
		select {
		case <-timer.C:
		case <-ctx.Done():
		}
	}
}

// summaryJSON is the text of summary.json, which --json prints.
func summaryJSON(s replay.Summary) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(s); err != nil {
		return nil, fmt.Errorf("write the summary: %w", err)
	}
	return b.Bytes(), nil
}
