package testkit

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// recorder is a testing.TB that notes how a helper ended a test.
type recorder struct {
	testing.TB
	ended, text string
}

func (r *recorder) Helper() {}

func (r *recorder) Errorf(format string, a ...any) {
	r.ended, r.text = "error", fmt.Sprintf(format, a...)
}

func (r *recorder) Fatalf(format string, a ...any) { r.end("fatal", format, a) }

func (r *recorder) Skipf(format string, a ...any) { r.end("skip", format, a) }

func (r *recorder) end(how, format string, a []any) {
	r.ended, r.text = how, fmt.Sprintf(format, a...)
	runtime.Goexit()
}

// outcome runs a helper the way the test runner does: ending a test ends its
// goroutine.
func outcome(t *testing.T, helper func(testing.TB)) *recorder {
	r := &recorder{TB: t}
	done := make(chan struct{})
	go func() {
		defer close(done)
		helper(r)
	}()
	<-done
	return r
}

func TestMissingTool(t *testing.T) {
	for ci, want := range map[string]string{"": "skip", "true": "fatal"} {
		t.Setenv("CI", ci)
		t.Setenv("PATH", t.TempDir())
		got := outcome(t, func(tb testing.TB) { Tool(tb, "Planimeter") })
		if got.ended != want || !strings.Contains(got.text, "install geographiclib-tools") {
			t.Errorf("Tool without the program, CI=%q: got %s %q, want %s that names the package", ci, got.ended, got.text, want)
		}
	}
}

func TestSharedDataAbsent(t *testing.T) {
	t.Setenv("DRAWBAR_DATA", filepath.Join(t.TempDir(), "none"))
	got := outcome(t, func(tb testing.TB) { SharedData(tb) })
	if got.ended != "skip" || !strings.Contains(got.text, "DRAWBAR_DATA") {
		t.Errorf("SharedData of an absent folder: got %s %q, want a skip that names DRAWBAR_DATA", got.ended, got.text)
	}
}

func TestModuleRoot(t *testing.T) {
	t.Parallel()
	b, err := os.ReadFile(filepath.Join(ModuleRoot(t), "go.mod"))
	if err != nil || !strings.HasPrefix(string(b), "module drawbar\n") {
		t.Errorf("go.mod of ModuleRoot: got %.20q, %v, want that of drawbar", b, err)
	}
}

func TestGolden(t *testing.T) {
	path := filepath.Join(t.TempDir(), "sub", "x.txt")
	write := func(tb testing.TB, on bool, s string) {
		*update = on
		defer func() { *update = false }()
		Golden(tb, path, []byte(s))
	}
	if got := outcome(t, func(tb testing.TB) { write(tb, false, "a") }); got.ended != "fatal" {
		t.Errorf("Golden without a file: got %q, want fatal", got.ended)
	}
	t.Setenv("CI", "true")
	if got := outcome(t, func(tb testing.TB) { write(tb, true, "a") }); got.ended != "fatal" {
		t.Errorf("Golden with -update where CI=true: got %q, want fatal", got.ended)
	}
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("Golden with -update where CI=true wrote the file")
	}
	t.Setenv("CI", "")
	write(t, true, "a\n")
	write(t, false, "a\n")
	if got := outcome(t, func(tb testing.TB) { write(tb, false, "b\n") }); got.ended != "error" || !strings.Contains(got.text, "x.txt") {
		t.Errorf("Golden of other content: got %s %q, want an error that names the file", got.ended, got.text)
	}
}
