package main

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"syscall"

	"drawbar/internal/config"
	"drawbar/internal/daemon"
	"drawbar/internal/export"
	"drawbar/replay"

	"github.com/spf13/cobra"
)

// runOptions are the flags of run.
type runOptions struct {
	config, gnss, controller, listen, data string
	verbose                                bool
}

func newRunCommand() *cobra.Command {
	var o runOptions
	cmd := &cobra.Command{
		Use:   "run [flags]",
		Short: "Record and show what the machine does, until it is stopped",
		Long: `run reads the receiver and the rate controller, records every line, and works out
coverage as it happens. It listens on its ports and never writes to them.

It always records. Implement, tanks and field may be said later, and corrected
later still; without a configuration name the ports on the command line. A port
that is missing or lost is opened as soon as it is there.

SIGTERM and Ctrl-C close the recording. SIGHUP reads the configuration again: tanks
hold from then on, the log says what needs a restart.

Do not operate a screen while driving.`,
		Example: `  drawbar run --config mill-piece.yaml
  drawbar run --gnss /dev/ttyUSB0 --controller /dev/ttyUSB1 --data recordings
  drawbar run --gnss tcp://127.0.0.1:5001`,
		Args: usageArgs(cobra.NoArgs, "name the ports with flags or in the configuration"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			c, err := o.daemon(cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			c.Ready = func(address string) {
				tellPage(cmd.OutOrStdout(), "running; ", address, "")
			}
			c.Announce = func(text string) { fmt.Fprintln(cmd.ErrOrStderr(), "drawbar:", text) }
			c.Ended = func(s replay.Summary) {
				text := export.Text{Units: c.File.Units, Zone: c.File.Timezone}.Append(nil, s)
				fmt.Fprintf(cmd.OutOrStdout(), "\n%s", text)
			}
			reload := make(chan struct{}, 1)
			defer onHangup(reload)()
			return daemon.Run(cmd.Context(), c, reload)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.config, "config", "", "configuration `FILE`")
	f.StringVar(&o.gnss, "gnss", "", "the receiver's `PORT`: a path, tcp://host:port or udp://:port")
	f.StringVar(&o.controller, "controller", "", "the rate controller's `PORT`, likewise")
	f.StringVar(&o.listen, "listen", "", "`HOST:PORT` of the page and the API, such as 0.0.0.0:8080 for other devices too")
	f.StringVar(&o.data, "data", "", "folder `DIR` of the recordings")
	f.BoolVar(&o.verbose, "verbose", false, "log details too")
	return cmd
}

// daemon is the daemon's configuration: the file's, then the flags'.
func (o *runOptions) daemon(log io.Writer) (daemon.Config, error) {
	c := daemon.Config{File: config.Default(), Name: o.config, Version: version(), Log: newLog(log, o.verbose)}
	if o.config != "" {
		var err error
		if c.File, err = config.Load(o.config); err != nil {
			return c, err
		}
		if c.Text, err = os.ReadFile(o.config); err != nil {
			return c, fmt.Errorf("keep the configuration: %w", err)
		}
	}
	for _, o := range []struct {
		flag string
		to   *string
	}{{o.gnss, &c.File.GNSS.Source}, {o.controller, &c.File.Controller.Source}, {o.listen, &c.File.Listen}, {o.data, &c.File.Data}} {
		if o.flag != "" {
			*o.to = o.flag
		}
	}
	if c.File.GNSS.Source != "" && c.File.GNSS.Source == c.File.Controller.Source {
		return c, errors.New("the receiver and the controller have the same port: give each its own")
	}
	return c, nil
}

// newLog is a log of lines that a person reads.
func newLog(w io.Writer, verbose bool) *slog.Logger {
	level := slog.LevelInfo
	if verbose {
		level = slog.LevelDebug
	}
	return slog.New(slog.NewTextHandler(w, &slog.HandlerOptions{Level: level}))
}

// onHangup turns SIGHUP into requests to reload. What it returns ends that.
func onHangup(reload chan struct{}) (stop func()) {
	hangup := make(chan os.Signal, 1)
	signal.Notify(hangup, syscall.SIGHUP)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		for range hangup {
			select {
			case reload <- struct{}{}:
			default: // one is waiting already
			}
		}
	}()
	return func() {
		signal.Stop(hangup)
		close(hangup)
		<-ended
	}
}
