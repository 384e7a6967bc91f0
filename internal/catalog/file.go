package catalog

import (
	"fmt"
	"io"
	"os"

	"drawbar/internal/whole"
)

// WriteFile writes a catalogue to a file, in the place of one of that name: a
// reader sees the old file or the new one, never a part.
func WriteFile(path string, d Document, format Format) error {
	return whole.Write(path, 0o644, func(w io.Writer) error { return Encode(w, d, format) })
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
