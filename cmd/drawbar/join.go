package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"drawbar/internal/config"
	"drawbar/internal/records"
	"drawbar/internal/store"

	"github.com/spf13/cobra"
)

// joinCommand is what the flags of join say.
type joinCommand struct {
	data, why, by string
	undo          int
}

func newJoinCommand() *cobra.Command {
	var c joinCommand
	cmd := &cobra.Command{
		Use:   "join [flags] [SESSION/NUMBER SESSION/NUMBER...]",
		Short: "Make several recorded operations one, or list and take back such joins",
		Long: `join says that several operations, of one session or of many, of several days or
machines, are one: covered ground and overlap are then those of all of them together.
An operation is named by its session and its number, as totals --by operation has it.

Without operations it lists what was joined. --undo N takes back number N; it is a line
of its own, so the list keeps who said what, when and why. Recordings never change.`,
		Example: `  drawbar join --why "two days, one job" --by "the manager" 000017-20260514T130510Z/1 000018-20260515T061200Z/1
  drawbar join
  drawbar join --undo 1 --why "another crop"`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			return c.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args)
		},
	}
	f := cmd.Flags()
	f.StringVar(&c.data, "data", config.Default().Data, "folder `DIR` of the sessions")
	f.StringVar(&c.why, "why", "", "`TEXT`: the reason, kept with it")
	f.StringVar(&c.by, "by", "", "`NAME` or role of who says so, kept with it")
	f.IntVar(&c.undo, "undo", 0, "take back the join of this `NUMBER`")
	return cmd
}

func (c joinCommand) run(ctx context.Context, stdout, stderr io.Writer, operations []string) error {
	switch {
	case c.undo < 0 || c.undo > 0 && len(operations) > 0:
		return usagef("--undo takes back one join by its number, from 1, and names no operations")
	case c.undo == 0 && len(operations) == 1:
		return usagef("one operation is one already: name two or more, as 000017-20260514T130510Z/1")
	case (c.undo > 0 || len(operations) > 0) && c.why == "":
		return usagef("say --why: the reason is kept with it")
	}
	if _, err := os.Stat(c.data); err != nil {
		return explainDir(c.data, err)
	}
	j := store.Join{Undo: c.undo, Why: c.why, By: c.by, Made: time.Now().UTC().Truncate(time.Second)}
	switch {
	case len(operations) > 0:
		var err error
		if j.Join, err = c.resolve(ctx, stderr, operations, j); err != nil {
			return err
		}
	case c.undo == 0:
		return listJoins(stdout, c.data)
	}
	number, err := store.AddJoin(c.data, j)
	if err != nil {
		return err
	}
	fmt.Fprintf(stdout, "added as number %d; totals and the page count them so\n", number)
	return nil
}

// resolve finds the operations and checks that they can be one.
func (c joinCommand) resolve(ctx context.Context, stderr io.Writer, operations []string, j store.Join) (out []store.JoinedOperation, err error) {
	file := config.Default()
	file.Data = c.data
	x, done, err := openIndex(ctx, file, stderr)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, done()) }()
	for _, text := range operations {
		ref, err := records.ParseRef(text)
		if err != nil {
			return nil, usagef("operation %v", err)
		}
		at, err := startOf(x, ref)
		if err != nil {
			return nil, err
		}
		out = append(out, store.JoinedOperation{Session: ref.Session, At: at})
	}
	j.Join = out
	return out, x.CheckJoin(j)
}

// startOf is when an operation began, which names it also after corrections.
func startOf(x *records.Index, ref records.Ref) (time.Time, error) {
	for _, o := range x.SessionOperations(ref.Session) {
		if o.Number == ref.Number {
			return o.OperationRecord.Start.Truncate(time.Millisecond), nil
		}
	}
	return time.Time{}, fmt.Errorf("there is no operation %s; drawbar totals --by operation lists them", ref)
}

func listJoins(w io.Writer, dir string) error {
	lines, faults, err := store.Joins(dir)
	if err != nil {
		return err
	}
	for _, j := range lines {
		what := fmt.Sprintf("takes back number %d", j.Undo)
		if j.Undo == 0 {
			names := make([]string, len(j.Join))
			for i, o := range j.Join {
				names[i] = o.Session + " at " + o.At.UTC().Format(time.RFC3339)
			}
			what = "joins " + strings.Join(names, ", ")
		}
		by := ""
		if j.By != "" {
			by = " by " + printable(j.By)
		}
		undone := ""
		if j.Undone != 0 {
			undone = fmt.Sprintf("; taken back by number %d", j.Undone)
		}
		fmt.Fprintf(w, "%d  %s: %s (%s%s)%s\n", j.Number, j.Made.UTC().Format(time.RFC3339), what, printable(j.Why), by, undone)
	}
	if len(lines) == 0 {
		fmt.Fprintln(w, "nothing was joined")
	}
	for _, f := range faults {
		fmt.Fprintln(w, printable(f))
	}
	return nil
}
