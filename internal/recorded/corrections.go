package recorded

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"drawbar/coverage"
	"drawbar/internal/store"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// Faults are after Setup the lines of the corrections beside the inputs that do not
// act. They are among the warnings too.
func (x *Inputs) Faults() []string { return x.faults }

// correctionsBeside reads the corrections that were made later, once for each
// session.
func (x *Inputs) correctionsBeside() (out []coverage.Correction, err error) {
	seen := map[string]bool{}
	for _, in := range x.inputs {
		path := store.CorrectionsFile(in.name)
		if seen[path] || strings.HasPrefix(in.name, "standard input") {
			continue
		}
		seen[path] = true
		f, err := os.Open(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, err
		}
		lines := &laterLines{Source: replay.NewOperatorReader(f, path), name: path}
		more, err := replay.LookAhead(lines)
		f.Close()
		if err != nil {
			return nil, err
		}
		out = append(out, more.Corrections...)
		x.faults = append(x.faults, lines.faults...)
	}
	return out, nil
}

// laterLines notes which lines of a file of corrections do not act.
type laterLines struct {
	replay.Source
	name   string
	n      int
	faults []string
}

// maxLaterFaults bounds how many are told.
const maxLaterFaults = 20

func (l *laterLines) Next() (replay.Event, error) {
	e, err := l.Source.Next()
	if err == io.EOF {
		return e, err
	}
	l.n++
	var corrupt *replay.CorruptError
	why := ""
	if errors.As(err, &corrupt) {
		why = corrupt.Error() + "; the line was left out"
	} else if err == nil {
		op, faults := statement.ParseLine(e.Line)
		switch {
		case len(faults) > 0:
			why = fmt.Sprintf("%s, correction %d: %v; that does not act", l.name, l.n, faults[0].Problem)
		case !op.Correction():
			why = fmt.Sprintf("%s, correction %d: want from, to and why; it was left out", l.name, l.n)
		}
	}
	if why != "" && len(l.faults) < maxLaterFaults {
		l.faults = append(l.faults, why)
	}
	return e, err
}
