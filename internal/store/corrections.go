package store

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"drawbar/replay"
	"drawbar/replay/statement"
)

// CorrectionsFile is where the corrections of a session are, by the name of any of
// its files: one operator line with from, to and why on each line, or one that takes an
// earlier line back. It is only ever appended to. It may lie beside capture text and
// plain logs too.
func CorrectionsFile(file string) string {
	if session, _, ok := splitName(file); ok {
		return filepath.Join(filepath.Dir(file), session+corrections)
	}
	return file[:len(file)-len(filepath.Ext(file))] + corrections
}

// Correct is AddLater without the number.
func Correct(file string, line []byte) error {
	_, err := AddLater(file, line)
	return err
}

// AddLater appends a correction, or that one is taken back, to those of the session
// that file belongs to and brings it to the disk. number is that of the line, from 1,
// however many add lines at the same time. A line that is none, or takes back what is
// not there or has been taken back, is refused and nothing is written; the error wraps
// ErrRefused.
func AddLater(file string, line []byte) (number int, err error) {
	if _, err := os.Stat(file); err != nil {
		return 0, fmt.Errorf("correct %s: %w", file, err)
	}
	later, faults := statement.ParseLater(line)
	if len(faults) > 0 {
		return 0, fmt.Errorf("correct %s: %w: %w", file, ErrRefused, faults[0].Problem)
	}
	if len(line) > replay.MaxCaptureLine {
		return 0, fmt.Errorf("correct %s: %w: %d bytes, more than a line may have (%d)", file, ErrRefused, len(line), replay.MaxCaptureLine)
	}
	number, err = appendLine(CorrectionsFile(file), line, func(before io.Reader) error {
		lines, _, err := readLater(before, CorrectionsFile(file))
		if err != nil {
			return err
		}
		return CheckUndo(lines, later.Undo)
	})
	if err != nil {
		return 0, fmt.Errorf("correct %s: %w", file, err)
	}
	return number, nil
}

// ErrRefused is wrapped where a line is refused for what it says.
var ErrRefused = errors.New("refused")

// CheckUndo tells why line number undo of those cannot be taken back; nil where it can,
// and of 0, which takes nothing back.
func CheckUndo(lines []statement.Later, undo int) error {
	if undo == 0 {
		return nil
	}
	by := statement.TakenBack(lines)
	for i, l := range lines {
		switch {
		case l.Number != undo:
		case !l.Correction() && l.Undo == 0:
			return fmt.Errorf("%w: line %d says nothing that acts, so there is nothing to take back", ErrRefused, undo)
		case by[i] != 0:
			return fmt.Errorf("%w: number %d was taken back already, by number %d", ErrRefused, undo, by[i])
		default:
			return nil
		}
	}
	return fmt.Errorf("%w: there is no number %d to take back", ErrRefused, undo)
}

// Later reads what was said later about the session that file belongs to, each line
// with its number in the file. One that says nothing that acts is there with its number
// alone, and faults tells why. No file: nothing was said.
func Later(file string) (lines []statement.Later, faults []string, err error) {
	path := CorrectionsFile(file)
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, fmt.Errorf("read the corrections: %w", err)
	}
	defer f.Close()
	return readLater(f, path)
}

func readLater(r io.Reader, name string) (lines []statement.Later, faults []string, err error) {
	b := bufio.NewReader(r)
	for n := 1; ; n++ {
		text, err := b.ReadBytes('\n')
		if err != nil && err != io.EOF {
			return nil, nil, fmt.Errorf("read %s: %w", name, err)
		}
		if len(text) == 0 {
			return lines, faults, nil
		}
		if text = bytes.TrimSpace(text); len(text) == 0 {
			continue // a blank line has a number and says nothing
		}
		var l statement.Later
		corrupt := &replay.CorruptError{File: name, Line: n}
		switch {
		case len(text) > replay.MaxCaptureLine:
			corrupt.Why = fmt.Sprintf("longer than %d bytes", replay.MaxCaptureLine)
		case text[0] != '{' || !json.Valid(text):
			corrupt.Why = "want one JSON object on the line"
		default:
			corrupt = nil
			var wrong []statement.Fault
			if l, wrong = statement.ParseLater(text); len(wrong) > 0 {
				faults = append(faults, fmt.Sprintf("%s, correction %d: %v; that does not act", name, n, wrong[0].Problem))
			}
		}
		if corrupt != nil {
			faults = append(faults, corrupt.Error()+"; the line was left out")
		}
		l.Number = n
		lines = append(lines, l)
	}
}
