package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"drawbar/internal/recorded"
	"drawbar/internal/store"
	"drawbar/replay"

	"github.com/spf13/cobra"
)

func newSessionsConvertCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "convert IN OUT",
		Short: "Turn a session into capture text, or the other way",
		Long: `convert writes a recorded session (.mcap) as capture text (.capture), or capture text
as a packed session, as the ends of the names say. Every line, its time to the
nanosecond and the order are the same when it is turned back; comments of the text
are not kept. What a session says of itself stands in a comment on the first line.

A damaged input is refused; mend it first. OUT must not be there.`,
		Example: `  drawbar sessions convert data/000017-20260514T130510Z.mcap morning.capture
  drawbar sessions convert morning.capture morning.mcap`,
		Args: usageArgs(cobra.ExactArgs(2), "name what to read and what to write"),
		RunE: func(_ *cobra.Command, args []string) error { return convert(args[0], args[1]) },
	}
}

func convert(in, out string) error {
	from, err := recorded.FormatOf(in)
	if err != nil {
		return err
	}
	to, err := recorded.FormatOf(out)
	if err != nil {
		return err
	}
	var turn func(r io.Reader, name string, w io.Writer) error
	switch {
	case from == recorded.MCAP && to == recorded.Capture:
		turn = toCapture
	case from == recorded.Capture && to == recorded.MCAP:
		turn = toSession
	default:
		return usagef("convert %s to %s: want one name that ends in .mcap and one in .capture", in, out)
	}
	f, err := os.Open(in)
	if err != nil {
		return recorded.ExplainOpen(in, err)
	}
	defer f.Close()
	return store.WriteNew(out, func(w io.Writer) error { return turn(bufio.NewReaderSize(f, 64<<10), in, w) })
}

// headComment begins the comment line that carries the head of a session.
const headComment = "# drawbar session "

func toCapture(r io.Reader, name string, w io.Writer) error {
	m := replay.NewMCAPReader(r, name)
	var text []byte
	started := false
	for {
		e, err := m.Next()
		if err != nil && err != io.EOF {
			return refuseDamage(err)
		}
		if head, ok := m.Head(); ok && !started && head.Session+head.Config != "" {
			b, err := json.Marshal(head)
			if err != nil {
				return fmt.Errorf("write the head of %s: %w", name, err)
			}
			if _, err := fmt.Fprintf(w, "%s%s\n", headComment, b); err != nil {
				return err
			}
		}
		started = true
		if err == io.EOF {
			return nil
		}
		text = replay.AppendCapture(text[:0], e)
		if len(text) > replay.MaxCaptureLine {
			return fmt.Errorf("%s: line %d has %d bytes as text, more than capture text may have (%d)", name, m.Seq(), len(text), replay.MaxCaptureLine)
		}
		if _, err := w.Write(text); err != nil {
			return err
		}
	}
}

func toSession(r io.Reader, name string, w io.Writer) error {
	b := bufio.NewReaderSize(r, 4<<20)
	head, err := headOf(b)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	p, err := replay.NewPacker(w, head)
	if err != nil {
		return err
	}
	var survey replay.Survey
	survey.Head(head)
	c := replay.NewCaptureReader(b, name)
	for seq := max(head.First, 1); ; seq++ {
		e, err := c.Next()
		if err == io.EOF {
			return p.Close(survey.Contents(nil))
		}
		if err != nil {
			return refuseDamage(err)
		}
		survey.Add(e, seq)
		if err := p.Append(e, seq); err != nil {
			return fmt.Errorf("%s, event %d: %w", name, seq, err)
		}
	}
}

// headOf reads the head from a comment on the first line, if that has one.
func headOf(b *bufio.Reader) (h replay.Head, err error) {
	start, _ := b.Peek(len(headComment))
	if string(start) != headComment {
		return h, nil
	}
	rest, _ := b.Peek(b.Size())
	line, _, whole := bytes.Cut(rest, []byte{'\n'})
	if !whole {
		return h, errors.New("the first line, which tells of the session, is too long")
	}
	if err := json.Unmarshal(line[len(headComment):], &h); err != nil {
		return h, fmt.Errorf("the first line, which tells of the session: %w", err)
	}
	return h, nil
}

func refuseDamage(err error) error {
	var corrupt *replay.CorruptError
	if errors.As(err, &corrupt) {
		return fmt.Errorf("%w; nothing was written: mend it, or take the damage out, first", err)
	}
	return err
}
