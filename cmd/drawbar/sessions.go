package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"drawbar/internal/recorded"
	"drawbar/internal/store"
	"drawbar/replay"

	"github.com/spf13/cobra"
)

// defaultData is the folder of sessions where none is named.
const defaultData = "./data"

func newSessionsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "sessions",
		Short: "List, show, mend and convert recorded sessions",
		Long: `sessions looks after the recordings in a folder, ./data where none is named.

A session is a file NAME.mcap, with NAME.2.mcap and so on where recording had to stop
and could go on. Other programs that read MCAP can read it. Nothing here deletes one.`,
		Example: `  drawbar sessions list
  drawbar sessions show data/000017-20260514T130510Z.mcap`,
		// A wrong word is no argument.
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return nil
		},
		RunE: func(*cobra.Command, []string) error {
			return usagef("say what to do with the sessions: list, show, mend or convert")
		},
	}
	cmd.SuggestionsMinimumDistance = 2
	cmd.AddCommand(newSessionsListCommand(), newSessionsShowCommand(), newSessionsMendCommand(), newSessionsConvertCommand())
	return cmd
}

func newSessionsListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list [DIR]",
		Short: "List the sessions in a folder",
		Long: `list prints a line for each session of a folder (default ./data): when its first fix
was, by receiver time in UTC, how long it is, its size, whether it is packed, whether
it is complete, and its fields.`,
		Example: `  drawbar sessions list
  drawbar sessions list /var/lib/drawbar`,
		Args: usageArgs(cobra.MaximumNArgs(1), "name one folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := defaultData
			if len(args) > 0 {
				dir = args[0]
			}
			sessions, err := store.List(dir)
			if err != nil {
				return explainDir(dir, err)
			}
			return printSessions(cmd.OutOrStdout(), sessions)
		},
	}
}

func explainDir(dir string, err error) error {
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: no such folder; name the folder of the sessions", dir)
	}
	return err
}

const unknownCell = "-"

func printSessions(w io.Writer, sessions []store.Session) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "NAME\tSTART (UTC)\tLENGTH\tSIZE\tFORM\tSTATE\tFIELDS")
	for _, s := range sessions {
		begin, end := s.Span()
		start, length := unknownCell, unknownCell
		if !begin.IsZero() {
			start = begin.UTC().Format("2006-01-02 15:04:05")
		}
		if !end.IsZero() {
			length = hours(end.Sub(begin))
		}
		form := "raw"
		if s.Packed() {
			form = "packed"
		}
		if len(s.Parts) > 1 {
			form += fmt.Sprintf(", %d parts", len(s.Parts))
		}
		fields := strings.Join(s.Fields(), ", ")
		if fields == "" {
			fields = unknownCell
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", s.Name, start, length, megabytes(s.Bytes()), form, stateOf(s), printable(fields))
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("print the sessions: %w", err)
	}
	return nil
}

// stateOf is one word for how a session stands.
func stateOf(s store.Session) string {
	if s.Busy() {
		return "recording"
	}
	for _, p := range s.Parts {
		switch {
		case p.Err != nil:
			return "unreadable"
		case p.Contents.Damaged > 0 && !p.Contents.Cut:
			return "damaged"
		}
	}
	if !s.Complete() {
		return "cut"
	}
	return "complete"
}

func hours(d time.Duration) string {
	d = max(d, 0).Round(time.Second)
	return fmt.Sprintf("%d:%02d:%02d", int(d.Hours()), int(d.Minutes())%60, int(d.Seconds())%60)
}

func megabytes(n int64) string {
	if n < 1e6 {
		return fmt.Sprintf("%.1f kB", float64(n)/1e3)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}

// printable keeps what came from a file from steering a terminal.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 {
			return '?'
		}
		return r
	}, s)
}

func newSessionsMendCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "mend [FILE|DIR]...",
		Short: "Mend and pack sessions that were cut or damaged",
		Long: `mend reads a session to the last line that can be read, writes these lines to a new,
packed file, compares, and only then lets it take the old one's place. It says what
was lost. Where that is more than a cut end, the old file stays as NAME.mcap.damaged.

Of a folder (default ./data) it mends what has no end; of a file it looks at every
byte. A session that is being recorded is left alone.`,
		Example: `  drawbar sessions mend
  drawbar sessions mend data/000017-20260514T130510Z.mcap`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				args = []string{defaultData}
			}
			var errs []error
			for _, path := range args {
				errs = append(errs, mend(cmd.OutOrStdout(), path))
			}
			return errors.Join(errs...)
		},
	}
}

func mend(w io.Writer, path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return recorded.ExplainOpen(path, err)
	}
	if info.IsDir() {
		done, err := store.Mend(path)
		for _, m := range done {
			printMended(w, m)
		}
		if len(done) == 0 && err == nil {
			fmt.Fprintf(w, "%s: nothing to mend\n", path)
		}
		return err
	}
	m, err := store.Pack(path)
	if err != nil {
		return err
	}
	printMended(w, m)
	return nil
}

func printMended(w io.Writer, m store.Mended) {
	if !m.Packed {
		fmt.Fprintf(w, "%s: whole and packed already\n", m.File)
		return
	}
	fmt.Fprintf(w, "%s: %d lines kept, packed into %s\n", m.File, m.Contents.Total(), megabytes(m.Bytes))
	for _, d := range m.Damage {
		fmt.Fprintf(w, "  lost %d bytes at byte %d: %s\n", d.Bytes, d.Offset, d.Why)
	}
	if more := m.Contents.Damaged - len(m.Damage); more > 0 {
		fmt.Fprintf(w, "  and %d damaged places more\n", more)
	}
	if m.Kept != "" {
		fmt.Fprintf(w, "  the damaged file stays as %s\n", m.Kept)
	}
}

func newSessionsShowCommand() *cobra.Command {
	var withConfig bool
	cmd := &cobra.Command{
		Use:   "show [flags] FILE",
		Short: "Show what a session holds, and any damage",
		Long: `show reads a session from its first byte to its last and prints what it says of
itself, its lines by channel, its times, every damaged place, and what was said later
about it, by number.`,
		Example: `  drawbar sessions show data/000017-20260514T130510Z.mcap
  drawbar sessions show --config data/000017-20260514T130510Z.mcap`,
		Args: usageArgs(cobra.ExactArgs(1), "name one session"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return showSession(cmd.OutOrStdout(), args[0], withConfig)
		},
	}
	cmd.Flags().BoolVar(&withConfig, "config", false, "print the configuration that it was recorded with, and nothing else")
	return cmd
}

func showSession(w io.Writer, file string, onlyConfig bool) error {
	f, err := os.Open(file)
	if err != nil {
		return recorded.ExplainOpen(file, err)
	}
	defer f.Close()
	const most = 20
	var damage []string
	places := 0
	p, err := store.Examine(f, file, func(e *replay.CorruptError) {
		if places++; len(damage) < most {
			damage = append(damage, fmt.Sprintf("  byte %d, %d bytes lost: %s", e.Offset, e.Bytes, e.Why))
		}
	})
	if err != nil {
		return err
	}
	if p.Contents.Total() == 0 && p.Head == (replay.Head{}) && places > 0 {
		return fmt.Errorf("%s: no session that can be read:%s", file, strings.TrimLeft(damage[0], " "))
	}
	if onlyConfig {
		_, err := io.WriteString(w, p.Head.Config)
		return err
	}
	h, c := p.Head, p.Contents
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	row := func(name, format string, args ...any) {
		fmt.Fprintf(t, "%s\t%s\n", name, printable(fmt.Sprintf(format, args...)))
	}
	row("session", "%s, part %d", orUnknown(h.Session), max(h.Part, 1))
	row("recorded by", "drawbar %s", orUnknown(h.Version))
	row("zone", "%s", orUnknown(h.Zone))
	row("configuration", "%d bytes", len(h.Config))
	row("fields", "%s", orUnknown(strings.Join(c.Fields, ", ")))
	row("start", "%s by the session's clock", moment(h.Start))
	row("lines", "%s to %s by the session's clock", moment(c.First), moment(c.Last))
	row("fixes", "%s to %s by receiver time", moment(c.Begin), moment(c.End))
	row("gnss", "%d lines", c.Lines[replay.StreamGNSS])
	row("controller", "%d lines", c.Lines[replay.StreamController])
	row("operator", "%d lines", c.Lines[replay.StreamOperator])
	row("missing", "%d lines", c.Missing)
	form, end := "raw", "closed"
	if p.Packed {
		form = "packed"
	}
	if c.Cut {
		end = "cut: it has no end of its own"
	}
	row("form", "%s", form)
	row("end", "%s", end)
	row("damage", "%d places, %d bytes", c.Damaged, c.LostBytes)
	if err := t.Flush(); err != nil {
		return fmt.Errorf("print the session: %w", err)
	}
	for _, d := range damage {
		fmt.Fprintln(w, d)
	}
	if places > most {
		fmt.Fprintf(w, "  and %d more\n", places-most)
	}
	return showLater(w, file)
}

func orUnknown(s string) string {
	if s == "" {
		return unknownCell
	}
	return s
}

func moment(t time.Time) string {
	if t.IsZero() {
		return unknownCell
	}
	return t.UTC().Format("2006-01-02 15:04:05.000")
}
