package whole_test

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"drawbar/internal/whole"
)

func TestOldOrNew(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "farm.yaml")
	put := func(text string, mode os.FileMode) error {
		return whole.Write(path, mode, func(w io.Writer) error { _, err := io.WriteString(w, text); return err })
	}
	if err := put("old\n", 0o644); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("no more to write")
	err := whole.Write(path, 0o644, func(w io.Writer) error {
		_, _ = io.WriteString(w, "half of the n")
		return broken
	})
	if err != broken {
		t.Errorf("the error of the writing came back as %v", err)
	}
	check := func(want string, mode os.FileMode) {
		t.Helper()
		got, err := os.ReadFile(path)
		if err != nil || string(got) != want {
			t.Errorf("the file holds %q (%v), want %q", got, err, want)
		}
		info, err := os.Stat(path)
		if err != nil || info.Mode().Perm() != mode {
			t.Errorf("mode %v (%v), want %v", info.Mode(), err, mode)
		}
		if left, _ := filepath.Glob(filepath.Join(dir, whole.Unfinished(path))); len(left) > 0 {
			t.Errorf("left behind: %v", left)
		}
	}
	check("old\n", 0o644)
	if err := put("new\n", 0o600); err != nil {
		t.Fatal(err)
	}
	check("new\n", 0o600)
}

func TestNotWritable(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for _, path := range []string{dir, filepath.Join(dir, "none", "farm.yaml")} {
		if f, err := whole.Create(path, 0o644); err == nil {
			f.Discard()
			t.Errorf("a file was begun at %s", path)
		}
	}
	if err := whole.SyncDir(filepath.Join(dir, "none")); err == nil {
		t.Error("a folder that is not there was synced")
	}
}

// A file that was begun and not committed is no file, also where another goroutine
// reads the folder meanwhile.
func TestNotBeforeCommit(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "devices.json")
	f, err := whole.Create(path, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Discard()
	_, _ = f.WriteString("{}")
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the file is there before it is whole: %v", err)
	}
	if err := f.Commit(); err != nil {
		t.Fatal(err)
	}
	f.Discard() // does nothing then
	if _, err := os.Stat(path); err != nil {
		t.Error(err)
	}
}
