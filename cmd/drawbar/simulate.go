package main

import (
	"encoding/json"
	"fmt"
	"io"
	"time"

	"drawbar/internal/sim"
	"drawbar/internal/sim/simdir"

	"github.com/spf13/cobra"
)

func newSimulateCommand() *cobra.Command {
	var o simulateOptions
	cmd := &cobra.Command{
		Use:   "simulate --out DIR",
		Short: "Write a made-up session whose true figures are known",
		Long: `simulate plans a field (headland, then back and forth with curved turns), drives it
with a mounted or trailed implement, and writes what a receiver and a controller
would have sent meanwhile, with the true figures beside it:

  input.capture      the lines, as replay reads them
  config.yaml        the machine
  boundary.geojson   the field's outline
  truth.json         area, amounts, times and switchings as they really were

The same options and seed write the same files. A field is one of

  mill-piece    3 ha, 12 m trailed drill, two tanks, covered-ground section
                control, RTK, a few faults on the way
  long-meadow   9 ha, 24 m mounted sprayer against oblique ends, corrected GNSS
  far-reach     196 ha, 18 m trailed drill, twelve hours (180 MB)
  WxH           a rectangle in metres, 12 m mounted drill, perfect GNSS
  random        a random convex field and implement, perfect GNSS

The other options change what the field brings with it.`,
		Example: `  drawbar simulate --out mill --field mill-piece
  drawbar simulate --out two --field 200x60 --sections 4,4,4 --mount towed --correction rtk
  drawbar replay --config mill/config.yaml mill/input.capture`,
		Args: usageArgs(cobra.NoArgs, "simulate takes none but its flags"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			sc, err := o.scenario(cmd.Flags().Changed)
			if err != nil {
				return err
			}
			each := simulateProgress(cmd.ErrOrStderr(), sc.Start)
			truth, err := simdir.Write(o.out, sc, func(at time.Duration) error {
				each(at)
				return cmd.Context().Err()
			})
			each(-1)
			if err != nil {
				return err
			}
			if o.json {
				e := json.NewEncoder(cmd.OutOrStdout())
				e.SetIndent("", "  ")
				return e.Encode(truth)
			}
			printTruth(cmd.OutOrStdout(), o.out, truth)
			return nil
		},
	}
	o.flags(cmd)
	return cmd
}

// simulateProgress shows on a terminal how far the day has come; a negative
// time wipes it.
func simulateProgress(w io.Writer, start time.Time) func(time.Duration) {
	if !isTerminal(w) {
		return func(time.Duration) {}
	}
	shown := time.Duration(-1)
	return func(at time.Duration) {
		at = at.Truncate(10 * time.Minute)
		switch {
		case at < 0 && shown >= 0:
			fmt.Fprint(w, "\r\x1b[K")
		case at > shown:
			fmt.Fprintf(w, "\rsimulating: %s", start.Add(at).Format("15:04"))
		default:
			return
		}
		shown = at
	}
}

// printTruth says in a few lines what was written.
func printTruth(w io.Writer, dir string, tr *sim.Truth) {
	fmt.Fprintf(w, "%s: %s, %s of field work, %d passes\n", dir, tr.Field, tr.End.Sub(tr.Start).Round(time.Second), tr.Passes)
	fmt.Fprintf(w, "gross %.1f m2, working %.0f m in %.0f s\n", tr.GrossM2, tr.WorkingDistanceM, tr.WorkingS)
	for _, t := range tr.Tanks {
		fmt.Fprintf(w, "tank %d %s: %.2f %s\n", t.Tank, t.Name, t.Applied, t.Unit)
	}
	if tr.OverlapM2 != nil {
		fmt.Fprintf(w, "overlap %.2f m2 (%s)\n", *tr.OverlapM2, tr.Closed.Formula)
	}
	fmt.Fprintf(w, "%d GNSS lines, %d controller lines\n", tr.GNSS.Lines, tr.Controller.Lines)
}
