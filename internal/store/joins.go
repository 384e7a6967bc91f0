package store

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"time"
)

// joinsFile is where a folder of sessions keeps which operations are one.
const joinsFile = "joins.jsonl"

// Join is one line of it: several operations, of one session or many, are one; or an
// earlier line is taken back.
type Join struct {
	Join []JoinedOperation `json:"join,omitempty"`
	Undo int               `json:"undo,omitempty"` // number of the line taken back, from 1
	Why  string            `json:"why"`
	By   string            `json:"by,omitempty"`
	Made time.Time         `json:"made,omitzero"`

	Number int `json:"-"` // of the line, from 1
	Undone int `json:"-"` // number of the line that took it back; 0: it holds
}

// JoinedOperation names an operation by its session and a moment of receiver time in
// which it was worked: its number may change with a correction, the moment does not.
type JoinedOperation struct {
	Session string    `json:"session"`
	At      time.Time `json:"at"`
}

// Bounds of a join.
const (
	mostJoined = 200
	maxJoin    = 64 << 10 // bytes of a line
	maxWhy     = 200
)

func (j Join) check() error {
	switch {
	case (len(j.Join) > 0) == (j.Undo != 0):
		return errors.New("want either join, a list of operations, or undo, the number of a line")
	case j.Undo < 0:
		return fmt.Errorf("undo %d: want the number of a line, from 1", j.Undo)
	case j.Undo == 0 && (len(j.Join) < 2 || len(j.Join) > mostJoined):
		return fmt.Errorf("%d operations: want 2 to %d to be one", len(j.Join), mostJoined)
	case j.Why == "" || len(j.Why) > maxWhy:
		return fmt.Errorf("why: want the reason, up to %d bytes", maxWhy)
	}
	for i, o := range j.Join {
		if name, part, ok := splitName(o.Session + extension); !ok || part != 1 || name != o.Session {
			return fmt.Errorf("join[%d].session %q: want the name of a session", i, o.Session)
		}
		if o.At.IsZero() {
			return fmt.Errorf("join[%d].at: want a moment in which the operation was worked", i)
		}
	}
	return nil
}

// AddJoin appends a line to the joins of a folder and brings it to the disk. One that
// is at fault is refused; the error wraps ErrRefused.
func AddJoin(dir string, j Join) (number int, err error) {
	if err := j.check(); err != nil {
		return 0, fmt.Errorf("join operations: %w: %w", ErrRefused, err)
	}
	line, err := json.Marshal(j)
	if err != nil {
		return 0, fmt.Errorf("join operations: %w", err)
	}
	path := filepath.Join(dir, joinsFile)
	number, err = appendLine(path, line, func() error {
		if j.Undo == 0 {
			return nil
		}
		lines, _, err := Joins(dir)
		if err != nil {
			return err
		}
		for _, l := range lines {
			switch {
			case l.Number != j.Undo:
			case l.Undone != 0:
				return fmt.Errorf("%w: number %d was taken back already, by number %d", ErrRefused, j.Undo, l.Undone)
			default:
				return nil
			}
		}
		return fmt.Errorf("%w: there is no number %d to take back", ErrRefused, j.Undo)
	})
	if err != nil {
		return 0, fmt.Errorf("join operations: %w", err)
	}
	return number, nil
}

// Joins are the joins of a folder in the order in which they were made, those that were
// taken back and the taking back among them. Lines that say nothing are left out and
// told of in faults.
func Joins(dir string) (lines []Join, faults []string, err error) {
	path := filepath.Join(dir, joinsFile)
	j := joinLines{name: path}
	if err := readLines(path, maxJoin, j.take); err != nil {
		return nil, nil, fmt.Errorf("read the joins: %w", err)
	}
	return j.settled(), j.faults, nil
}

// joinLines gathers the lines of a file of joins.
type joinLines struct {
	name   string
	lines  []Join
	faults []string
}

func (x *joinLines) take(n int, text []byte, long bool) {
	j, err := parseJoin(text)
	if long {
		err = fmt.Errorf("longer than %d bytes", maxJoin)
	}
	if err != nil {
		x.faults = append(x.faults, fmt.Sprintf("%s, line %d: %v; it was left out", x.name, n, err))
		return
	}
	j.Number = n
	x.lines = append(x.lines, j)
}

// settled are the lines, each of them with the number of the one that took it back.
func (x *joinLines) settled() []Join {
	lines := x.lines
	for i := len(lines) - 1; i >= 0; i-- {
		if lines[i].Undo == 0 || lines[i].Undone != 0 {
			continue
		}
		for k := range lines[:i] {
			if lines[k].Number == lines[i].Undo {
				lines[k].Undone = lines[i].Number
			}
		}
	}
	return lines
}

func parseJoin(text []byte) (j Join, err error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&j); err != nil {
		return j, err
	}
	if d.More() {
		return j, errors.New("more than one JSON object on the line")
	}
	return j, j.check()
}
