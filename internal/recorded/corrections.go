package recorded

import (
	"strings"

	"drawbar/coverage"
	"drawbar/internal/store"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// Faults are after Setup the lines of the corrections beside the inputs that do not
// act. They are among the warnings too.
func (x *Inputs) Faults() []string { return x.faults }

// maxLaterFaults bounds how many are told of a file.
const maxLaterFaults = 20

// correctionsBeside reads the corrections that were made later and act, once for each
// session.
func (x *Inputs) correctionsBeside() (out []coverage.Correction, err error) {
	seen := map[string]bool{}
	for i, in := range x.inputs {
		path := store.CorrectionsFile(in.name)
		if seen[path] || strings.HasPrefix(in.name, "standard input") {
			continue
		}
		seen[path] = true
		lines, faults, err := store.Later(in.name)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			lines = append(lines, numbered(x.later, lines)...)
		}
		out = append(out, replay.Corrections(statement.Effective(lines))...)
		x.faults = append(x.faults, faults[:min(len(faults), maxLaterFaults)]...)
	}
	return out, nil
}

// numbered gives lines the numbers that follow those before.
func numbered(lines, before []statement.Later) []statement.Later {
	last := 0
	if len(before) > 0 {
		last = before[len(before)-1].Number
	}
	out := make([]statement.Later, len(lines))
	for i, l := range lines {
		l.Number = last + 1 + i
		out[i] = l
	}
	return out
}
