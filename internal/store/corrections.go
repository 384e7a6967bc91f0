package store

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"drawbar/internal/whole"
	"drawbar/replay/statement"
)

// CorrectionsFile is where the corrections of a session are, by the name of any of
// its files: one operator line with from, to and why on each line. It is only ever
// appended to. It may lie beside capture text and plain logs too.
func CorrectionsFile(file string) string {
	if session, _, ok := splitName(file); ok {
		return filepath.Join(filepath.Dir(file), session+corrections)
	}
	return file[:len(file)-len(filepath.Ext(file))] + corrections
}

// Correct appends a correction to those of the session that file belongs to and
// brings it to the disk. line is one operator line; one that is no sound correction
// is refused and nothing is written.
func Correct(file string, line []byte) (err error) {
	if _, err := os.Stat(file); err != nil {
		return fmt.Errorf("correct %s: %w", file, err)
	}
	op, faults := statement.ParseLine(line)
	if len(faults) > 0 {
		return fmt.Errorf("correct %s: %w", file, faults[0].Problem)
	}
	if !op.Correction() {
		return fmt.Errorf("correct %s: a correction needs from, to and why", file)
	}
	if bytes.ContainsAny(line, "\r\n") {
		return fmt.Errorf("correct %s: the line has a line end within it", file)
	}
	path := CorrectionsFile(file)
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR|os.O_APPEND, 0o644)
	if err != nil {
		return fmt.Errorf("correct %s: %w", file, err)
	}
	defer func() {
		if closeErr := f.Close(); err == nil && closeErr != nil {
			err = fmt.Errorf("correct %s: %w", file, closeErr)
		}
	}()
	info, err := f.Stat()
	if err != nil {
		return fmt.Errorf("correct %s: %w", file, err)
	}
	text := append(bytes.Clone(line), '\n')
	if size := info.Size(); size > 0 {
		// A line that was cut by a fault must not swallow the next one.
		var last [1]byte
		if _, err := f.ReadAt(last[:], size-1); err != nil {
			return fmt.Errorf("correct %s: %w", file, err)
		}
		if last[0] != '\n' {
			text = append([]byte{'\n'}, text...)
		}
	}
	if _, err := f.Write(text); err != nil {
		return fmt.Errorf("correct %s: %w", file, err)
	}
	if err := f.Sync(); err != nil {
		return fmt.Errorf("correct %s: %w", file, err)
	}
	return whole.SyncDir(filepath.Dir(path))
}
