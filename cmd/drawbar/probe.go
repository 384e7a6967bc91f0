package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"drawbar/internal/config"
	"drawbar/internal/probe"
	"drawbar/replay"
)

// probeOptions is what a probe was asked for.
type probeOptions struct {
	baud   int
	span   time.Duration
	config string
	asJSON bool
}

func newProbeCommand() *cobra.Command {
	var o probeOptions
	cmd := &cobra.Command{
		Use:   "probe [flags] PORT",
		Short: "Listen to a port and say what it carries",
		Long: `probe listens to a port, finds its baud rate, and says what it carries: a GNSS
receiver with its sentences, rates and quality of fix, or a rate controller with the
line profile that reads its lines, or why nothing does. It prints the lines of
configuration to paste. It only listens: nothing is ever sent to the port.

PORT is a serial port (/dev/ttyUSB0, or better its lasting name in
/dev/serial/by-id), tcp://host:port, udp://:port, or a file with bytes that were
recorded of one. A port that drawbar is reading already cannot be probed.

Whatever the port carries, be it silence, the exit code is 0; it is 1 where the port
could not be listened to.`,
		Example: `  drawbar probe /dev/ttyUSB0
  drawbar probe --baud 38400 --for 20s /dev/serial/by-id/usb-example-if00
  drawbar probe --config mill-piece.yaml tcp://192.168.5.1:10110
  drawbar probe --json udp://:10110`,
		Args: usageArgs(cobra.ExactArgs(1), "name one port: a path, tcp://host:port or udp://:port"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.baud < 0 {
				return usagef("--baud %d: want a rate such as 9600, or 0 to find it out", o.baud)
			}
			if o.span < 100*time.Millisecond || o.span > time.Hour {
				return usagef("--for %v: want a time from 100ms to 1h", o.span)
			}
			return runProbe(cmd.Context(), args[0], o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.Flags().IntVar(&o.baud, "baud", 0, "baud rate of a serial port; 0: find it out")
	cmd.Flags().DurationVar(&o.span, "for", 5*time.Second, "how long to listen once there are readable lines")
	cmd.Flags().StringVar(&o.config, "config", "", "configuration `FILE` whose line profile is tried first")
	cmd.Flags().BoolVar(&o.asJSON, "json", false, "print the finding as JSON")
	return cmd
}

func runProbe(ctx context.Context, place string, o probeOptions, stdout, stderr io.Writer) error {
	known := probe.Options{Address: place}
	if o.config != "" {
		file, err := config.Load(o.config)
		if err != nil {
			return err
		}
		known.Spec, known.Profile = &file.Controller.Line, file.Controller.Profile
	}
	var lines []probe.Line
	var err error
	if info, statErr := os.Stat(place); statErr == nil && info.Mode().IsRegular() {
		known.Recording, known.Bytes = true, uint64(info.Size())
		lines, err = recordedLines(place)
	} else {
		lines, err = listen(ctx, place, o, &known, stderr)
	}
	if err != nil {
		return err
	}
	found := probe.Analyse(lines, known)
	if o.asJSON {
		e := json.NewEncoder(stdout)
		e.SetIndent("", "  ")
		e.SetEscapeHTML(false)
		return e.Encode(found)
	}
	_, err = io.WriteString(stdout, found.Words())
	return err
}

// recordedLines reads the last lines of a file of recorded bytes, with the times
// that its own sentences state.
func recordedLines(path string) ([]probe.Line, error) {
	if ext := strings.ToLower(filepath.Ext(path)); ext == ".capture" || ext == ".mcap" {
		return nil, usagef("%s holds a session, not the bytes of one port: use drawbar replay", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var lines []probe.Line
	for log := replay.NewLogReader(f, path); ; {
		e, err := log.Next()
		if errors.Is(err, io.EOF) {
			return lines, nil
		}
		if err != nil {
			return nil, err
		}
		lines = keepLine(lines, e)
	}
}

// keepLine appends a line, and forgets old ones when there are many.
func keepLine(lines []probe.Line, e replay.Event) []probe.Line {
	if len(lines) >= 2*probe.MostLines {
		lines = lines[:copy(lines, lines[len(lines)-probe.MostLines:])]
	}
	return append(lines, probe.Line{At: e.At, Text: bytes.Clone(e.Line)})
}
