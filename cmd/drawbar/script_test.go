package main

import (
	"context"
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/spf13/cobra"
)

var update = flag.Bool("update-scripts", false, "rewrite the scripts' expected files from what the commands print")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"drawbar": func() { os.Exit(Run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// TestScripts runs the command lines of testdata/script/*.txtar, each in a folder
// of its own that holds a copy of testdata/input as input. Besides the usual
// words of testscript they have
//
//	exits CODE PROGRAM ARG...	runs a program that must end with that code
//	lines stdout|stderr N		the last program printed so many lines
func TestScripts(t *testing.T) {
	t.Parallel()
	if *update && os.Getenv("CI") == "true" {
		t.Fatal("-update-scripts is for a person who then reads the difference, not for CI")
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(env *testscript.Env) error {
			return os.CopyFS(filepath.Join(env.WorkDir, "input"), os.DirFS("testdata/input"))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": exits,
			"lines": lines,
		},
	})
}

func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARG...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("run %s: %v", args[1], err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("%s ended with %d, want %d; stderr: %s", strings.Join(args[1:], " "), got, want, ts.ReadFile("stderr"))
	}
}

func lines(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: lines stdout|stderr N")
	}
	want, err := strconv.Atoi(args[1])
	ts.Check(err)
	text := ts.ReadFile(args[0])
	if got := strings.Count(text, "\n"); got != want || text != "" && !strings.HasSuffix(text, "\n") {
		ts.Fatalf("%s has %d lines, want %d: %q", args[0], got, want, text)
	}
}

// Every command says what it is for and shows how it is used.
func TestCommandsHaveHelp(t *testing.T) {
	t.Parallel()
	var check func(*cobra.Command)
	check = func(c *cobra.Command) {
		if c.Short == "" || c.Example == "" {
			t.Errorf("%s: Short %q, Example %q, want both", c.CommandPath(), c.Short, c.Example)
		}
		if c.HasParent() && c.Args == nil && !c.HasSubCommands() {
			t.Errorf("%s: no Args, so a stray argument would be no usage error", c.CommandPath())
		}
		for _, sub := range c.Commands() {
			check(sub)
		}
	}
	check(newRootCommand())
}
