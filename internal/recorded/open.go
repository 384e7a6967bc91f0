package recorded

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"drawbar/internal/store"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// Stdin is the name that stands for standard input, whose format must be said.
const Stdin = "-"

// Options say how input is opened.
type Options struct {
	Format Format      // of every input; ByName: by its name
	Stdin  io.Reader   // what Stdin reads
	Size   func(int64) // told the size of each file in bytes; nil: nobody asks
	Read   func(int)   // told how many bytes were read, negative where they are read once more; nil
	// Later are lines said later about the first input, as if they stood at the end of
	// its file of corrections.
	Later []statement.Later
	// Whole says that the names are all files: no other parts of a session are looked
	// for, which takes a while in a folder of thousands.
	Whole bool
	// Halt is asked before every read of a session; an error of it ends the reading; nil.
	Halt func() error
}

// Inputs is recorded input, opened: one file after the other is one session.
type Inputs struct {
	inputs []*input
	notes  []string // for the warnings, beside those of each input
	faults []string // of the corrections beside them
	later  []statement.Later
}

// Open opens every input before the first is read, so that a wrong name is told at
// once. The first part of a session stands for all of its parts.
func Open(names []string, o Options) (*Inputs, error) {
	if o.Size == nil {
		o.Size = func(int64) {}
	}
	if o.Read == nil {
		o.Read = func(int) {}
	}
	if o.Halt == nil {
		o.Halt = func() error { return nil }
	}
	if !o.Whole {
		var err error
		if names, err = withParts(names); err != nil {
			return nil, err
		}
	}
	x := &Inputs{later: o.Later}
	for _, name := range names {
		in, err := open(name, o)
		if err != nil {
			x.Close()
			return nil, err
		}
		x.inputs = append(x.inputs, in)
	}
	return x, nil
}

// Close closes the files.
func (x *Inputs) Close() {
	for _, in := range x.inputs {
		in.close()
	}
}

// withParts puts behind the first part of a session its other parts, unless they
// are named themselves.
func withParts(names []string) ([]string, error) {
	var out []string
	for _, name := range names {
		out = append(out, name)
		if format, err := FormatOf(name); err != nil || format != MCAP || name == Stdin {
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

// Play hands every event to sink, once; Rewound reads the inputs again. Damaged
// places are passed over unless player says otherwise.
func (x *Inputs) Play(player replay.Player, sink func(replay.Event) error) error {
	if player.Damaged == nil {
		player.Damaged = func(*replay.CorruptError) error { return nil }
	}
	sources := make([]replay.Source, len(x.inputs))
	for i, in := range x.inputs {
		sources[i] = in
	}
	return player.Play(sink, x.one(sources))
}

// Replay feeds every event to a session of the setup, once, and finishes it. looked is
// asked after every so many lines, and its error ends the replay.
func (x *Inputs) Replay(setup replay.Setup, every int, looked func() error) (*replay.Session, error) {
	s, err := replay.NewSession(setup)
	if err != nil {
		return nil, err
	}
	n := 0
	if err := x.Play(replay.Player{}, func(e replay.Event) error {
		s.Feed(e)
		if n++; n%every == 0 {
			return looked()
		}
		return nil
	}); err != nil {
		return nil, err
	}
	s.Finish()
	return s, nil
}

// Rewound reads the inputs once more from their start. What was read before is read
// no more.
func (x *Inputs) Rewound() (replay.Source, error) {
	sources := make([]replay.Source, len(x.inputs))
	for i, in := range x.inputs {
		if _, err := in.file.Seek(0, io.SeekStart); err != nil {
			return nil, fmt.Errorf("read %s from its start: %w", in.name, err)
		}
		sources[i] = in.again()
	}
	return x.one(sources), nil
}

// one is the inputs' sources as one.
func (x *Inputs) one(sources []replay.Source) replay.Source {
	if x.apart() {
		return replay.Merge(sources...)
	}
	return replay.Chain(sources...)
}

// apart tells whether receiver and controller were recorded each in files of their
// own. Such files tell of the same time and are read side by side.
func (x *Inputs) apart() bool {
	var gnssOnly, controllerOnly bool
	for _, in := range x.inputs {
		has := in.ahead.Has
		switch {
		case has[replay.StreamGNSS] && has[replay.StreamController]:
			return false
		case has[replay.StreamGNSS]:
			gnssOnly = true
		case has[replay.StreamController]:
			controllerOnly = true
		}
	}
	return gnssOnly && controllerOnly
}

// Damage is after Play what was damaged, a line an input; the error is that of an
// input of which nothing can be read.
func (x *Inputs) Damage() (lines []string, err error) {
	for _, in := range x.inputs {
		if in.first == nil {
			continue
		}
		if in.read == 0 {
			return lines, fmt.Errorf("%w; %s", in.first, in.nothing())
		}
		lines = append(lines, in.first.Error()+in.left())
	}
	return lines, nil
}

// Warnings are after Play what a person should know of the inputs.
func (x *Inputs) Warnings() (out []string) {
	for _, in := range x.inputs {
		out = append(out, in.warnings()...)
	}
	return append(out, x.notes...)
}

// ExplainOpen says of a file that cannot be opened in plain words that there is none.
func ExplainOpen(name string, err error) error {
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: no such file", name)
	}
	return err
}
