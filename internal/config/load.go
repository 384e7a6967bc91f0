package config

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"drawbar/internal/boundary"
)

// Load reads the configuration at path. Files that it names are relative to
// its folder.
func Load(path string) (File, error) {
	b, err := readFile(path, maxBytes+1)
	if errors.Is(err, fs.ErrNotExist) {
		return File{}, fmt.Errorf("read configuration %s: there is no such file; write one (an empty one will do) or name another", path)
	}
	if err != nil {
		return File{}, fmt.Errorf("read configuration: %w", err)
	}
	dir := filepath.Dir(path)
	f, err := Parse(path, b, func(name string) ([]byte, error) {
		return boundary.OpenFile(within(dir, name))
	})
	var faults *Error
	if errors.As(err, &faults) {
		for i := range faults.Entries {
			if e := &faults.Entries[i]; e.File != path {
				e.File = within(dir, e.File) // a boundary file
			}
		}
	}
	if err != nil {
		return File{}, err
	}
	f.Dir, f.Data = dir, within(dir, f.Data)
	return f, nil
}

// within is name as seen from the configuration's folder.
func within(dir, name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(dir, name)
}

// readFile reads at most limit bytes of a file: one more than is accepted, so
// that what reads them can tell that it is too long.
func readFile(path string, limit int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, limit))
}
