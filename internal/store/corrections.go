package store

import (
	"encoding/json"
	"errors"
	"fmt"
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
	number, err = appendLine(CorrectionsFile(file), line, func() error {
		lines, _, err := Later(file)
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
	l := laterLines{name: path}
	if err := readLines(path, replay.MaxCaptureLine, l.take); err != nil {
		return nil, nil, fmt.Errorf("read the corrections: %w", err)
	}
	return l.lines, l.faults, nil
}

// laterLines gathers the lines of a file of corrections.
type laterLines struct {
	name   string
	lines  []statement.Later
	faults []string
}

func (x *laterLines) take(n int, text []byte, long bool) {
	var l statement.Later
	corrupt := &replay.CorruptError{File: x.name, Line: n}
	switch {
	case long:
		corrupt.Why = fmt.Sprintf("longer than %d bytes", replay.MaxCaptureLine)
	case text[0] != '{' || !json.Valid(text):
		corrupt.Why = "want one JSON object on the line"
	default:
		corrupt = nil
		var wrong []statement.Fault
		if l, wrong = statement.ParseLater(text); len(wrong) > 0 {
			x.faults = append(x.faults, fmt.Sprintf("%s, correction %d: %v; that does not act", x.name, n, wrong[0].Problem))
		}
	}
	if corrupt != nil {
		x.faults = append(x.faults, corrupt.Error()+"; the line was left out")
	}
	l.Number = n
	x.lines = append(x.lines, l)
}
