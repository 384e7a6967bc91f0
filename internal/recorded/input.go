package recorded

import (
	"errors"
	"fmt"
	"io"
	"os"

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

func (in *input) close() {
	if in.file != nil {
		in.file.Close()
	}
}

func open(name string, o Options) (*input, error) {
	in := &input{name: name}
	format := o.Format
	if name == Stdin {
		in.name = "standard input"
		if format == ByName {
			return nil, errors.New("standard input has no name to go by: say --format mcap, capture or nmea")
		}
	} else {
		if format == ByName {
			var err error
			if format, err = FormatOf(name); err != nil {
				return nil, err
			}
		}
		var err error
		if in.file, err = os.Open(name); err != nil {
			return nil, ExplainOpen(name, err)
		}
		if info, err := in.file.Stat(); err == nil {
			o.Size(info.Size())
		}
	}
	var err error
	switch format {
	case Capture:
		err = in.openCapture(o)
	case MCAP:
		err = in.openSession(o)
	case NMEA:
		err = in.openLog(o)
	}
	if err != nil {
		in.close()
		return nil, err
	}
	return in, nil
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

// openCapture opens capture text. It is searched for corrections first, as they
// act on the lines before them.
func (in *input) openCapture(o Options) error {
	err := in.rewindable(o.Stdin)
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
	capture := replay.NewCaptureReader(counted{in.file, o.Read, o.Halt}, in.name)
	in.Source = capture
	in.warnings = func() []string { return captureWarnings(in, capture) }
	return nil
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

// openLog opens a plain NMEA log, which must be read from its start twice.
func (in *input) openLog(o Options) error {
	if err := in.rewindable(o.Stdin); err != nil {
		return err
	}
	in.again = func() replay.Source { return replay.NewLogReader(in.file, in.name) }
	r := replay.NewLogReader(&countedFile{in.file, o.Read, 0}, in.name)
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

// nothing says that an input had no line that could be read.
func (in *input) nothing() string {
	if in.session != nil {
		return "no line of it can be read"
	}
	return "no line of it is capture text (TIME STREAM LINE)"
}

// left says how much was left out.
func (in *input) left() string {
	what := "line"
	if in.session != nil {
		what = "place"
	}
	if in.damaged == 1 {
		return fmt.Sprintf("; the %s was left out", what)
	}
	return fmt.Sprintf("; %d damaged %ss were left out", in.damaged, what)
}
