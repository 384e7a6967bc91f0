package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"drawbar/coverage"
	"drawbar/internal/boundary"
	"drawbar/internal/export"
	"drawbar/internal/units"
	"drawbar/replay"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"
)

func newBoundaryWorkCommand() *cobra.Command {
	var d recordedBoundary
	var operation int
	cmd := &cobra.Command{
		Use:   "work [flags] INPUT...",
		Short: "Make an outline of the ground that recorded work covered",
		Long: `work replays recorded input as replay does and writes the outline of the ground that
an operation covered, as a boundary for the field: gaps that the bar could not enter
are filled, and it is simplified to 0.1 m. It is as good as the work was whole: look
at it before you use it.`,
		Example: `  drawbar boundary work --out mill-piece.geojson data/000017-20260514T130510Z.mcap
  drawbar boundary work --config mill-piece.yaml --operation 2 --out mill-piece.geojson morning.capture`,
		Args: usageArgs(cobra.MinimumNArgs(1), "name the recorded input"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if operation < 0 {
				return usagef("--operation %d: want a number from 1, as replay lists them", operation)
			}
			return d.run(cmd, args, func(*replay.Session) error { return nil }, func(s *replay.Session) (madeBoundary, error) {
				return outlineOfWork(s, operation)
			})
		},
	}
	d.flags(cmd)
	cmd.Flags().IntVar(&operation, "operation", 0, "`NUMBER` of the operation, as replay lists them; needed where there are several")
	return cmd
}

func newBoundaryDrivenCommand() *cobra.Command {
	var d recordedBoundary
	var from, to, edge string
	var offset float64
	cmd := &cobra.Command{
		Use:   "driven [flags] INPUT...",
		Short: "Make an outline of a recorded drive round a field",
		Long: `driven replays recorded input as replay does and makes a boundary of the path that an
edge took from one moment to another: the bar's left or right end, or the antenna.
--offset moves it: outwards of the bar's end, or to the right of the antenna,
negative the other way.

The line closes where it comes back to its start, else a straight line closes it,
and the length of that gap is told. Loops of up to 25 m, or two widths of the bar, as
reversing makes them, are taken out; a larger one is refused with its place. The
outline is simplified to 0.1 m.`,
		Example: `  drawbar boundary driven --from 2026-05-14T13:05:00Z --to 2026-05-14T13:31:00Z --edge left --offset 0.5 \
    --out mill-piece.geojson data/000017-20260514T130510Z.mcap`,
		Args: usageArgs(cobra.MinimumNArgs(1), "name the recorded input"),
		RunE: func(cmd *cobra.Command, args []string) error {
			drive, err := parseDrive(from, to, edge, offset)
			if err != nil {
				return err
			}
			return d.run(cmd, args, drive.start, drive.stop)
		},
	}
	d.flags(cmd)
	f := cmd.Flags()
	f.StringVar(&from, "from", "", "`TIME` of the drive's start by receiver time, such as 2026-05-14T13:05:00Z")
	f.StringVar(&to, "to", "", "`TIME` of its end")
	f.StringVar(&edge, "edge", "", "`EDGE` that follows the border: left, right (of the bar) or antenna")
	f.Float64Var(&offset, "offset", 0, "`METRES` from the edge to the border")
	return cmd
}

// recordedBoundary makes a boundary of recorded input.
type recordedBoundary struct {
	options replayOptions
	out     string
	name    string
}

func (d *recordedBoundary) flags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&d.out, "out", "", "write the outline to this GeoJSON `FILE`; a file of that name is replaced")
	f.StringVar(&d.name, "name", "", "`NAME` of the field in it, if not as recorded")
	f.StringVar(&d.options.config, "config", "", "configuration `FILE`: implement, field, line profile, units")
	f.StringVar(&d.options.format, "format", "", "read every input as `FORMAT`, mcap, capture or nmea, whatever its name")
	f.BoolVar(&d.options.alwaysOn, "always-on", false, "take the whole bar to be on wherever there is a fix")
}

// madeBoundary is what was made of a session.
type madeBoundary struct {
	outline replay.Outline
	name    string   // of the field, as recorded
	notes   []string // what a person should know of it
}

// run replays the inputs and writes what stop makes of them.
func (d *recordedBoundary) run(cmd *cobra.Command, names []string, start func(*replay.Session) error, stop func(*replay.Session) (madeBoundary, error)) error {
	if d.out == "" {
		return usagef("name the file to write with --out, such as --out mill-piece.geojson")
	}
	r, err := newReplayRun(cmd, d.options)
	if err != nil {
		return err
	}
	session, err := r.finished(cmd.Context(), names, start)
	if err != nil {
		return err
	}
	made, err := stop(session)
	if err != nil {
		return err
	}
	name := made.name
	if d.name != "" {
		name = d.name
	}
	shape := orb.MultiPolygon(made.outline)
	m2, ok := boundary.AreaM2(shape)
	if !ok {
		return errors.New("the outline reaches too far to have an area: look at it with drawbar replay --out")
	}
	field := boundary.Field{Name: name, Outline: shape, AreaM2: m2}
	if err := export.Boundaries(d.out, []boundary.Field{field}); err != nil {
		return err
	}
	if name == "" {
		name = "(no name)"
	}
	fmt.Fprintf(r.stdout, "%s: %s, %s, %s\n", printable(name), r.config.Units.Show(units.Area, m2),
		count(len(shape), "part"), count(field.Corners(), "corner"))
	for _, note := range made.notes {
		fmt.Fprintln(r.stdout, note)
	}
	fmt.Fprintf(r.stdout, "written to %s\n", d.out)
	return nil
}

// finished replays the inputs to their end.
func (r *replayRun) finished(ctx context.Context, names []string, start func(*replay.Session) error) (*replay.Session, error) {
	in, err := r.open(names)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	setup, err := r.prepare(in)
	if err != nil {
		return nil, err
	}
	session, err := replay.NewSession(setup)
	if err != nil {
		return nil, err
	}
	if err := start(session); err != nil {
		return nil, err
	}
	if err := r.play(ctx, session, nil, in); err != nil {
		return nil, err
	}
	session.Finish()
	return session, nil
}

// outlineOfWork is that of an operation by its number, 0 = the only one.
func outlineOfWork(s *replay.Session, number int) (m madeBoundary, err error) {
	var worked []string
	var op *coverage.Operation
	for _, o := range s.Operations() {
		if !o.Worked() {
			continue
		}
		worked = append(worked, printable(fmt.Sprintf("%d %s, %s", o.Number, orUnknown(o.Field), orUnknown(o.Name))))
		if number == 0 || o.Number == number {
			op = o
		}
	}
	switch {
	case len(worked) == 0:
		return m, errors.New("no ground was covered: the input needs an implement (--config) and a controller that reports work (or --always-on)")
	case number == 0 && len(worked) > 1:
		return m, fmt.Errorf("there are %d operations: say which with --operation (%s)", len(worked), strings.Join(worked, "; "))
	case op == nil:
		return m, fmt.Errorf("there is no operation %d: the input has %s", number, strings.Join(worked, "; "))
	}
	m.name = op.Field
	m.outline, err = replay.OutlineOfOperation(op)
	return m, err
}

// drive is a drive round a field as the command line states it.
type drive struct {
	from, to time.Time
	edge     coverage.Edge
	offsetM  float64
}

func parseDrive(from, to, edge string, offsetM float64) (d drive, err error) {
	for _, f := range []struct {
		name, text string
		to         *time.Time
	}{{"--from", from, &d.from}, {"--to", to, &d.to}} {
		if *f.to, err = time.Parse(time.RFC3339, f.text); err != nil {
			return d, usagef("%s %s: want a time such as 2026-05-14T13:05:00Z", f.name, f.text)
		}
	}
	if !d.from.Before(d.to) {
		return d, usagef("--from %s is not before --to %s", from, to)
	}
	switch edge {
	case "left":
		d.edge = coverage.EdgeLeft
	case "right":
		d.edge = coverage.EdgeRight
	case "antenna":
		d.edge = coverage.EdgeAntenna
	default:
		return d, usagef("--edge %s: want left, right or antenna", edge)
	}
	if math.IsNaN(offsetM) || math.Abs(offsetM) > coverage.MaxDrivenOffsetM {
		return d, usagef("--offset %g: want metres from %d to %d", offsetM, -coverage.MaxDrivenOffsetM, coverage.MaxDrivenOffsetM)
	}
	d.offsetM = offsetM
	return d, nil
}

func (d drive) start(s *replay.Session) error {
	return s.StartDrivingBetween(d.edge, d.offsetM, d.from, d.to)
}

func (d drive) stop(s *replay.Session) (m madeBoundary, err error) {
	at, _ := s.Driving()
	if at.Points == 0 {
		why := "the bar has no ends without an implement: name one with --config, or take --edge antenna"
		if d.edge == coverage.EdgeAntenna {
			why = "look at the times of the input with drawbar replay"
		}
		return m, fmt.Errorf("no usable fix from %s to %s: %s", d.from.Format(time.RFC3339), d.to.Format(time.RFC3339), why)
	}
	if m.outline, err = s.StopDriving(); err != nil {
		return m, err
	}
	m.notes = append(m.notes, fmt.Sprintf("%.0f m driven, closed over a gap of %.1f m", at.LengthM, at.GapM))
	if at.HoleM > 1 {
		m.notes = append(m.notes, fmt.Sprintf("no usable fix over %.1f m of it: a straight line was taken", at.HoleM))
	}
	for _, op := range s.Operations() {
		if !op.Start.After(d.to) {
			m.name = op.Field
		}
	}
	return m, nil
}
