package catalog

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// WriteFile writes a catalogue to a file, in the place of one of that name: a
// reader sees the old file or the new one, never a part.
func WriteFile(path string, d Document, format Format) (err error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return fmt.Errorf("write %s: it is a folder; name a file", path)
	}
	tmp, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*.tmp")
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	err = errors.Join(Encode(tmp, d, format), tmp.Chmod(0o644), tmp.Sync())
	if closeErr := tmp.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, errors.Join(err, os.Remove(tmp.Name())))
	}
	return nil
}

// ReadFile reads a file for Import, at most MaxBytes and one more. "-" is stdin.
func ReadFile(path string, stdin io.Reader) ([]byte, error) {
	in := stdin
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("read catalogue: %w", err)
		}
		defer f.Close()
		in = f
	}
	b, err := io.ReadAll(io.LimitReader(in, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read catalogue %s: %w", path, err)
	}
	return b, nil
}
