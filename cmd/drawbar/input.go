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
	file     *os.File // nil: standard input, read as it comes
	warnings func() []string
	read     int // events
	damaged  int
	first    *replay.CorruptError // the first damage
}

// The formats of recorded input.
const (
	formatCapture = "capture"
	formatNMEA    = "nmea"
)

// formatOf is the format of a file by the end of its name.
func formatOf(name string) (string, error) {
	switch ext := strings.ToLower(filepath.Ext(name)); ext {
	case ".capture":
		return formatCapture, nil
	case ".nmea", ".log", ".txt":
		return formatNMEA, nil
	case ".mcap":
		return "", fmt.Errorf("%s: this version reads capture text (.capture) and plain NMEA logs (.nmea, .log, .txt), not recorded .mcap sessions", name)
	default:
		return "", fmt.Errorf("%s: unknown kind of input, want a name that ends in .capture, .nmea, .log or .txt, or say --format", name)
	}
}

// openInputs opens every input before the first is read, so that a wrong name is
// told at once. format is empty where the names decide. "-" is standard input.
func openInputs(names []string, format string, stdin io.Reader, progress *progress) ([]*input, error) {
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
			return nil, usagef("standard input has no name to go by: say --format capture or --format nmea")
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
		var r io.Reader = stdin
		if in.file != nil {
			r = in.file
		}
		capture := replay.NewCaptureReader(countingReader{r, progress}, in.name)
		in.Source = capture
		in.warnings = func() []string { return captureWarnings(in, capture) }
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

// openLog opens a plain NMEA log, which must be read from its start twice.
func (in *input) openLog(stdin io.Reader, progress *progress) error {
	if in.file == nil {
		spool, err := spoolInput(stdin)
		if err != nil {
			return fmt.Errorf("keep standard input to read it twice: %w", err)
		}
		in.file = spool
	}
	r := replay.NewLogReader(&countingFile{in.file, progress, 0}, in.name)
	in.Source = r
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
	f, err := os.CreateTemp("", "drawbar-*.nmea")
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
