package main

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"

	"drawbar/internal/config"
	"drawbar/internal/demo"
	"drawbar/internal/export"
	"drawbar/internal/sim"
	"drawbar/replay"

	"github.com/spf13/cobra"
)

func newDemoCommand() *cobra.Command {
	var (
		o       demo.Options
		seed    uint64
		verbose bool
	)
	cmd := &cobra.Command{
		Use:   "demo [flags]",
		Short: "Run the daemon on a simulated tractor",
		Long: `demo starts a simulated receiver and rate controller that write to real
pseudo-terminals, runs the daemon on them as on serial ports, and prints the address
to open. The field is Mill Piece of Kettle Hollow Farm, 3 ha, seeded by a 12 m
trailed drill in a quarter of an hour; --speed makes that shorter.

It stays until Ctrl-C, or ends with the work where --once is given. The recording
can then be replayed.`,
		Example: `  drawbar demo
  drawbar demo --speed 60 --once --data /tmp/demo`,
		Args: usageArgs(cobra.NoArgs, "give flags only"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !(o.Speed >= 0.1 && o.Speed <= 1000) {
				return usagef("--speed %v: want 0.1 to 1000", o.Speed)
			}
			own := o.Dir == ""
			if own {
				dir, err := os.MkdirTemp("", "drawbar-demo-")
				if err != nil {
					return fmt.Errorf("make a folder for the demonstration: %w", err)
				}
				o.Dir = dir
			}
			o.Scenario, o.Version = sim.Demo(seed), version()
			o.Log = slog.New(slog.DiscardHandler)
			if verbose {
				o.Log = newLog(cmd.ErrOrStderr(), true)
			}
			out := cmd.OutOrStdout()
			o.Ready = func(address string) {
				fmt.Fprintf(out, "a simulated drill seeds Mill Piece, %g times as fast as a real one\n", o.Speed)
				tellPage(out, "", address, " to watch; Ctrl-C ends it")
			}
			o.Ended = func(file config.File, sum replay.Summary) {
				fmt.Fprintf(out, "\n%s\n", export.Text{Units: file.Units, Zone: file.Timezone}.Append(nil, sum))
			}
			if err := demo.Run(cmd.Context(), o); err != nil {
				return err
			}
			data := filepath.Join(o.Dir, "data")
			fmt.Fprintf(out, "recorded in %s; see it again with\n  drawbar replay --config %s %s\n",
				data, filepath.Join(o.Dir, "config.yaml"), filepath.Join(data, "*.mcap"))
			return nil
		},
	}
	f := cmd.Flags()
	f.Float64Var(&o.Speed, "speed", 8, "`N` times as fast as real work, 0.1 to 1000")
	f.Uint64Var(&seed, "seed", 1, "seed of everything that is left to chance")
	f.StringVar(&o.Dir, "data", "", "folder `DIR` for configuration and recording (default: a temporary one)")
	f.StringVar(&o.Listen, "listen", "127.0.0.1:8080", "`HOST:PORT` of the page, such as 0.0.0.0:8080 for other devices too; port 0 takes a free one")
	f.BoolVar(&o.Once, "once", false, "end when the work is done")
	f.BoolVar(&verbose, "verbose", false, "log what the daemon does")
	return cmd
}
