package config

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"drawbar/replay/statement"
)

// Entry is one fault in a file.
type Entry struct {
	File string
	statement.Fault
}

// Error reads "config.yaml:14:11: tanks[0].target: got 112 l/ha, want …".
func (e Entry) Error() string {
	if e.Line == 0 {
		return e.File + ": " + e.Text()
	}
	return e.File + ":" + e.Fault.Error()
}

// Error is everything wrong with a configuration, in the order of the file;
// what is wrong in its boundary files comes last.
type Error struct {
	Entries []Entry
	More    int // faults beyond those listed
}

// Error has one fault a line.
func (e *Error) Error() string {
	lines := make([]string, len(e.Entries), len(e.Entries)+1)
	for i, entry := range e.Entries {
		lines[i] = entry.Error()
	}
	if e.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", e.More))
	}
	return strings.Join(lines, "\n")
}

// add takes over the faults found in one file.
func (e *Error) add(file string, faults *statement.Faults) {
	list := slices.Clone(faults.List())
	slices.SortStableFunc(list, func(a, b statement.Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col))
	})
	for _, f := range list {
		e.Entries = append(e.Entries, Entry{File: file, Fault: f})
	}
	e.More += faults.More()
}
