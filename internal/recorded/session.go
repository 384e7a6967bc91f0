package recorded

import (
	"fmt"
	"io"

	"drawbar/internal/config"
	"drawbar/replay"
)

// openSession opens a recorded session. It is searched for corrections first, as
// they act on the lines before them.
func (in *input) openSession(o Options) error {
	err := in.rewindable(o.Stdin)
	if err != nil {
		return err
	}
	first := replay.NewMCAPReader(counted{in.file, func(int) {}, o.Halt}, in.name)
	if in.ahead, err = replay.LookAhead(first); err != nil {
		return err
	}
	if _, err = in.file.Seek(0, io.SeekStart); err != nil {
		return fmt.Errorf("read %s from its start: %w", in.name, err)
	}
	// The one that was read through knows the head.
	in.session = first
	in.again = func() replay.Source { return replay.NewMCAPReader(in.file, in.name) }
	again := replay.NewMCAPReader(counted{in.file, o.Read, o.Halt}, in.name)
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

// gaps tells of lines that came between two parts of a session while nothing could
// be recorded, as their numbers show.
func (x *Inputs) gaps() (notes []string) {
	var last replay.Head
	var seq uint32
	for _, in := range x.inputs {
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

// Setup is what a session is told at its start: the configuration and all
// corrections of the inputs. file is the configuration that holds; of nil it is the
// one that the first session was recorded with, else the default.
func (x *Inputs) Setup(file *config.File) (held config.File, s replay.Setup, err error) {
	x.notes, x.faults = nil, nil
	if file != nil {
		held = *file
	} else if held, err = x.recordedConfig(); err != nil {
		return held, s, err
	}
	later, err := x.correctionsBeside()
	if err != nil {
		return held, s, err
	}
	x.notes = append(append(x.notes, x.faults...), x.gaps()...)
	s = held.Setup()
	for _, in := range x.inputs {
		s.Coverage.Corrections = append(s.Coverage.Corrections, in.ahead.Corrections...)
	}
	s.Coverage.Corrections = append(s.Coverage.Corrections, later...)
	return held, s, nil
}

// recordedConfig is the configuration that the first session was recorded with.
func (x *Inputs) recordedConfig() (held config.File, err error) {
	held = config.Default()
	var from string
	var text [2]string
	for _, in := range x.inputs {
		if in.session == nil {
			continue
		}
		h, ok := in.session.Head()
		if !ok || h.Config == "" {
			continue
		}
		if from != "" {
			if text != [2]string{h.Config, h.Outline} {
				x.notes = append(x.notes, fmt.Sprintf("%s was recorded with another configuration; that of %s counts", in.name, from))
			}
			continue
		}
		from, text = in.name, [2]string{h.Config, h.Outline}
		held, err = config.ParseRecorded("configuration in "+in.name, []byte(h.Config), h.Outline)
		if err != nil {
			return held, fmt.Errorf("%w\nname another one with --config", err)
		}
	}
	return held, nil
}
