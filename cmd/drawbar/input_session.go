package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"

	"drawbar/coverage"
	"drawbar/internal/config"
	"drawbar/internal/store"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// withParts puts behind the first part of a session its other parts, unless they
// are named themselves.
func withParts(names []string) ([]string, error) {
	var out []string
	for _, name := range names {
		out = append(out, name)
		if format, err := formatOf(name); err != nil || format != formatMCAP || name == "-" {
			continue
		}
		if _, err := os.Stat(name); err != nil {
			continue // told when it is opened
		}
		parts, err := store.Parts(name)
		if err != nil {
			return nil, err
		}
		for _, part := range parts[1:] {
			if !slices.Contains(names, part) {
				out = append(out, part)
			}
		}
	}
	return out, nil
}

// openSession opens a recorded session. It is searched for corrections first, as
// they act on the lines before them.
func (in *input) openSession(stdin io.Reader, progress *progress) error {
	err := in.rewindable(stdin)
	if err != nil {
		return err
	}
	first := replay.NewMCAPReader(in.file, in.name)
	if in.ahead, err = replay.LookAhead(first); err != nil {
		return err
	}
	if _, err = in.file.Seek(0, io.SeekStart); err != nil {
		return fmt.Errorf("read %s from its start: %w", in.name, err)
	}
	// The one that was read through knows the head.
	in.session = first
	in.again = func() replay.Source { return replay.NewMCAPReader(in.file, in.name) }
	again := replay.NewMCAPReader(countingReader{in.file, progress}, in.name)
	in.Source = again
	in.warnings = func() []string { return sessionWarnings(in, again) }
	return nil
}

func sessionWarnings(in *input, m *replay.MCAPReader) []string {
	var out []string
	if in.damaged > 0 {
		places := "1 damaged place was"
		if in.damaged > 1 {
			places = fmt.Sprintf("%d damaged places were", in.damaged)
		}
		out = append(out, fmt.Sprintf("%s: %s left out; the first is at byte %d: %s", in.name, places, in.first.Offset, in.first.Why))
	}
	c, known := m.Contents()
	switch {
	case known && c.Cut:
		out = append(out, fmt.Sprintf("%s: the recording was cut off; what was recorded until then counts", in.name))
	case known && c.Damaged > 0:
		out = append(out, fmt.Sprintf("%s: the recording was damaged and has been mended; %d bytes of it were lost", in.name, c.LostBytes))
	case !m.Closed():
		out = append(out, fmt.Sprintf("%s: the recording has no end: it is still being recorded, or was cut off", in.name))
	}
	if known && c.Missing > 0 {
		out = append(out, fmt.Sprintf("%s: %d lines came while nothing could be recorded", in.name, c.Missing))
	}
	return out
}

// gapsBetween tells of lines that came between two parts of a session while nothing
// could be recorded, as their numbers show.
func gapsBetween(inputs []*input) (notes []string) {
	var last replay.Head
	var seq uint32
	for _, in := range inputs {
		if in.session == nil {
			continue
		}
		h, _ := in.session.Head()
		if h.Session != "" && h.Session == last.Session && h.Part == last.Part+1 && h.First > seq+1 {
			notes = append(notes, fmt.Sprintf("%s: %d lines before it came while nothing could be recorded", in.name, h.First-seq-1))
		}
		last, seq = h, max(in.session.Seq(), h.First-1)
	}
	return notes
}

// recordedConfig takes the configuration that the first session was recorded with,
// unless the command line names one. notes are for the warnings.
func (r *replayRun) recordedConfig(inputs []*input) (notes []string, err error) {
	if r.options.config != "" {
		return nil, nil
	}
	var from string
	var text [2]string
	for _, in := range inputs {
		if in.session == nil {
			continue
		}
		h, ok := in.session.Head()
		if !ok || h.Config == "" {
			continue
		}
		if from != "" {
			if text != [2]string{h.Config, h.Outline} {
				notes = append(notes, fmt.Sprintf("%s was recorded with another configuration; that of %s counts", in.name, from))
			}
			continue
		}
		from, text = in.name, [2]string{h.Config, h.Outline}
		r.config, err = config.ParseRecorded("configuration in "+in.name, []byte(h.Config), h.Outline)
		if err != nil {
			return nil, fmt.Errorf("%w\nname another one with --config", err)
		}
	}
	return notes, nil
}

// correctionsBeside reads the corrections that were made later, once for each
// session. Lines that are none are told on stderr and in notes.
func correctionsBeside(inputs []*input, stderr io.Writer) (out []coverage.Correction, notes []string, err error) {
	seen := map[string]bool{}
	for _, in := range inputs {
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
			return nil, nil, err
		}
		lines := &laterLines{Source: replay.NewOperatorReader(f, path), name: path}
		more, err := replay.LookAhead(lines)
		f.Close()
		if err != nil {
			return nil, nil, err
		}
		out = append(out, more.Corrections...)
		for _, what := range lines.faults {
			fmt.Fprintf(stderr, "drawbar: %s\n", what)
			notes = append(notes, what)
		}
	}
	return out, notes, nil
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
