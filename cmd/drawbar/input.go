package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"drawbar/replay"
)

// input is one recorded input, opened.
type input struct {
	replay.Source
	name     string
	file     *os.File
	warnings func() []string
	ahead    replay.Ahead         // what must be known of it before it is replayed
	session  *replay.MCAPReader   // nil: another format
	again    func() replay.Source // reads the file from where it stands
	read     int                  // events
	damaged  int
	first    *replay.CorruptError // the first damage
}

// The formats of recorded input.
const (
	formatCapture = "capture"
	formatNMEA    = "nmea"
	formatMCAP    = "mcap"
)

// formatOf is the format of a file by the end of its name.
func formatOf(name string) (string, error) {
	switch ext := strings.ToLower(filepath.Ext(name)); ext {
	case ".capture":
		return formatCapture, nil
	case ".nmea", ".log", ".txt":
		return formatNMEA, nil
	case ".mcap":
		return formatMCAP, nil
	default:
		return "", fmt.Errorf("%s: unknown kind of input, want a name that ends in .mcap, .capture, .nmea, .log or .txt, or say --format", name)
	}
}

// openInputs opens every input before the first is read, so that a wrong name is
// told at once. format is empty where the names decide. "-" is standard input.
func openInputs(names []string, format string, stdin io.Reader, progress *progress) ([]*input, error) {
	names, err := withParts(names)
	if err != nil {
		return nil, err
	}
	var inputs []*input
	for _, name := range names {
		in, err := openInput(name, format, stdin, progress)
		if err != nil {
			closeInputs(inputs)
			return nil, err
		}
		inputs = append(inputs, in)
	}
	return inputs, nil
}

func closeInputs(inputs []*input) {
	for _, in := range inputs {
		if in.file != nil {
			in.file.Close()
		}
	}
}

func openInput(name, format string, stdin io.Reader, progress *progress) (*input, error) {
	in := &input{name: name}
	if name == "-" {
		in.name = "standard input"
		if format == "" {
			return nil, usagef("standard input has no name to go by: say --format mcap, capture or nmea")
		}
	} else if format == "" {
		var err error
		if format, err = formatOf(name); err != nil {
			return nil, err
		}
	}
	if name != "-" {
		var err error
		if in.file, err = os.Open(name); err != nil {
			return nil, explainOpen(name, err)
		}
		if info, err := in.file.Stat(); err == nil {
			progress.size += info.Size()
		}
	}
	switch format {
	case formatCapture:
		if err := in.openCapture(stdin, progress); err != nil {
			closeInputs([]*input{in})
			return nil, err
		}
	case formatMCAP:
		if err := in.openSession(stdin, progress); err != nil {
			closeInputs([]*input{in})
			return nil, err
		}
	case formatNMEA:
		if err := in.openLog(stdin, progress); err != nil {
			closeInputs([]*input{in})
			return nil, err
		}
	}
	return in, nil
}

func explainOpen(name string, err error) error {
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: no such file", name)
	}
	return err
}

func captureWarnings(in *input, c *replay.CaptureReader) []string {
	var out []string
	if in.damaged > 0 {
		lines := "1 damaged line was"
		if in.damaged > 1 {
			lines = fmt.Sprintf("%d damaged lines were", in.damaged)
		}
		out = append(out, fmt.Sprintf("%s: %s left out; the first is line %d: %s", in.name, lines, in.first.Line, in.first.Why))
	}
	if c.Cut() {
		out = append(out, fmt.Sprintf("%s: the last line has no line end; the file may have been cut there", in.name))
	}
	return out
}

// Next counts what passes.
func (in *input) Next() (replay.Event, error) {
	e, err := in.Source.Next()
	var corrupt *replay.CorruptError
	switch {
	case err == nil:
		in.read++
	case errors.As(err, &corrupt):
		if in.damaged++; in.first == nil {
			in.first = corrupt
		}
	}
	return e, err
}

// rewindable makes sure that the input can be read from its start twice.
func (in *input) rewindable(stdin io.Reader) error {
	r := stdin
	if in.file != nil {
		if _, err := in.file.Seek(0, io.SeekStart); err == nil {
			return nil
		}
		r = in.file
		defer in.file.Close()
	}
	spool, err := spoolInput(r)
	if err != nil {
		in.file = nil
		return fmt.Errorf("keep %s to read it twice: %w", in.name, err)
	}
	in.file = spool
	return nil
}

// openCapture opens capture text. It is searched for corrections first, as they
// act on the lines before them.
func (in *input) openCapture(stdin io.Reader, progress *progress) error {
	err := in.rewindable(stdin)
	if err != nil {
		return err
	}
	if in.ahead, err = replay.LookAhead(replay.NewCaptureReader(in.file, in.name)); err != nil {
		return err
	}
	if _, err = in.file.Seek(0, io.SeekStart); err != nil {
		return fmt.Errorf("read %s from its start: %w", in.name, err)
	}
	in.again = func() replay.Source { return replay.NewCaptureReader(in.file, in.name) }
	capture := replay.NewCaptureReader(countingReader{in.file, progress}, in.name)
	in.Source = capture
	in.warnings = func() []string { return captureWarnings(in, capture) }
	return nil
}

// openLog opens a plain NMEA log, which must be read from its start twice.
func (in *input) openLog(stdin io.Reader, progress *progress) error {
	if err := in.rewindable(stdin); err != nil {
		return err
	}
	in.again = func() replay.Source { return replay.NewLogReader(in.file, in.name) }
	r := replay.NewLogReader(&countingFile{in.file, progress, 0}, in.name)
	in.Source = r
	in.ahead.Has[replay.StreamGNSS] = true
	in.warnings = func() []string {
		if w := r.Warning(); w != "" {
			return []string{w}
		}
		return nil
	}
	return nil
}

// spoolInput keeps what cannot be rewound in a file without a name.
func spoolInput(r io.Reader) (*os.File, error) {
	f, err := os.CreateTemp("", "drawbar-*")
	if err != nil {
		return nil, err
	}
	if err = os.Remove(f.Name()); err == nil {
		_, err = io.Copy(f, r)
	}
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// countingFile tells progress what is read of a file; what is read again after a
// rewind counts once.
type countingFile struct {
	*os.File
	p    *progress
	read int64
}

func (c *countingFile) Read(b []byte) (int, error) {
	n, err := c.File.Read(b)
	c.read += int64(n)
	c.p.add(n)
	return n, err
}

func (c *countingFile) Seek(offset int64, whence int) (int64, error) {
	at, err := c.File.Seek(offset, whence)
	if err == nil {
		c.p.done -= c.read - at
		c.read = at
	}
	return at, err
}
