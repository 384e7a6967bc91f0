package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
)

// The exit codes of every command.
const (
	exitOK      = 0
	exitFailure = 1
	exitUsage   = 2
)

// usageError is a command line that is wrong in itself, whatever the files say.
type usageError struct{ error }

func usagef(format string, args ...any) error {
	return usageError{fmt.Errorf(format, args...)}
}

// usageArgs makes what check refuses a usage error that says what to do.
func usageArgs(check cobra.PositionalArgs, do string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if check(cmd, args) != nil {
			return usagef("got %d arguments: %s", len(args), do)
		}
		return nil
	}
}

// Run carries out one command line (without the program's name) and returns its
// exit code. Errors go to stderr, one line each.
func Run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRootCommand()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	cmd, err := root.ExecuteContextC(ctx)
	if err == nil {
		return exitOK
	}
	var usage usageError
	if errors.As(err, &usage) {
		fmt.Fprintf(stderr, "drawbar: %s (see %s --help)\n", oneLine(err), cmd.CommandPath())
		return exitUsage
	}
	// Several errors, such as all the faults of a configuration, are a line each.
	for line := range strings.Lines(err.Error()) {
		if line = strings.TrimSpace(line); line != "" {
			fmt.Fprintf(stderr, "drawbar: %s\n", line)
		}
	}
	return exitFailure
}

func oneLine(err error) string {
	return strings.Join(strings.Fields(err.Error()), " ")
}

func newRootCommand() *cobra.Command {
	root := &cobra.Command{
		Use:   "drawbar",
		Short: "Record what a farm machine put on the ground",
		Long: `drawbar reads the lines of a GNSS receiver and of a rate controller and works out
where product went on the ground: swaths, covered and overlapping area, skips and
amounts, by section and by tank.

It records what the machine reported. What was allowed is for the product label
and local rules to say, and its maps are no survey.`,
		Example: `  drawbar replay --config mill-piece.yaml morning.capture
  drawbar replay --help`,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return nil
		},
		RunE: func(*cobra.Command, []string) error {
			return usagef("say what to do")
		},
	}
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetVersionTemplate("drawbar {{.Version}}\n")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.SuggestionsMinimumDistance = 2
	root.SetHelpCommand(newHelpCommand())
	root.AddCommand(commands()...)
	return root
}

func unknownCommand(root *cobra.Command, name string) error {
	if like := root.SuggestionsFor(name); len(like) > 0 {
		return usagef("unknown command %q, did you mean %s?", name, strings.Join(like, " or "))
	}
	return usagef("unknown command %q", name)
}

func newHelpCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "help [COMMAND]",
		Short:   "Show what a command does and how it is used",
		Example: `  drawbar help replay`,
		Args:    usageArgs(cobra.MaximumNArgs(1), "name one command at most"),
		RunE: func(cmd *cobra.Command, args []string) error {
			root := cmd.Root()
			found, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return unknownCommand(root, args[0])
			}
			return found.Help()
		},
	}
}

// commands are all of drawbar's, one file each.
func commands() []*cobra.Command {
	return []*cobra.Command{
		newRunCommand(),
		newDemoCommand(),
		newReplayCommand(),
		newProbeCommand(),
		newCheckCommand(),
		newBoundaryCommand(),
		newSimulateCommand(),
		newSessionsCommand(),
		newTotalsCommand(),
		newCorrectCommand(),
		newJoinCommand(),
		newCatalogCommand(),
		newMarksCommand(),
	}
}

// version is the module's version as built, else the revision of the source.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			return s.Value[:min(12, len(s.Value))]
		}
	}
	return "unreleased"
}
