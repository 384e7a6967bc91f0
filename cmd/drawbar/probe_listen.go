package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"drawbar/controller"
	"drawbar/internal/probe"
	"drawbar/internal/source"
	"drawbar/replay"
)

const (
	// probeSilence is how long a port may be silent at least before it is given
	// up: a controller may send a line every 5 s.
	probeSilence = 6 * time.Second
	// probeLook is how often the state of the port is looked at.
	probeLook = 20 * time.Millisecond
)

// listen reads a port until there is enough to say what it carries, or nothing
// more to hope for: its baud rate is found and o.span has passed, all rates were
// tried in vain, or it is silent. The end of ctx ends it too, with what came
// till then. It completes known.
func listen(ctx context.Context, place string, o probeOptions, known *probe.Options, stderr io.Writer) ([]probe.Line, error) {
	address, err := source.ParseAddress(place)
	if err != nil {
		return nil, usagef("%v, or the name of a file", err)
	}
	src, err := source.New(source.Config{
		Name: "port", Stream: replay.StreamController, Address: place, Baud: o.baud, Valid: readable(known.Profile),
	})
	if err != nil {
		return nil, usageError{err}
	}
	running, stop := context.WithCancel(ctx)
	defer stop()
	queue := make(chan replay.Event, source.QueueSize)
	ended := make(chan error, 1)
	go func() { ended <- src.Run(running, queue) }()

	var lines []probe.Line
	l := listening{span: o.span, serial: address.Kind == source.KindSerial, line: newStatusLine(stderr)}
	look := time.NewTicker(probeLook)
	defer look.Stop()
	for going := true; going; {
		select {
		case e := <-queue:
			lines = keepLine(lines, e)
		case <-look.C:
			going, err = l.goOn(src.Status(), time.Now())
		case <-ctx.Done():
			going = false
		}
	}
	stop()
	err = errors.Join(err, <-ended)
	close(queue)
	for e := range queue {
		lines = keepLine(lines, e)
	}
	l.line.wipe()
	s := src.Status()
	known.Serial = l.serial
	known.Searched = l.serial && o.baud == 0
	known.NotFound = known.Searched && l.status.Searching && s.Bytes > 0
	known.Bytes = s.Bytes
	if !l.up.IsZero() {
		known.Listened = time.Since(l.up)
	}
	if known.Serial && !known.NotFound && s.Bytes > 0 {
		known.Baud = s.Baud
	}
	if !l.status.Up {
		known.PortError = l.status.LastError
	}
	return lines, err
}

// readable is the check of lines for the search of the baud rate: sentences,
// key=value, or what the configured profile reads.
func readable(configured *controller.Profile) func([]byte) bool {
	keyValue, _ := controller.Compile(controller.ProfileSpec{Kind: "keyvalue"}, controller.Defaults{})
	checks := []func([]byte) bool{source.ValidSentence(), source.ValidReport(keyValue)}
	if configured != nil {
		checks = append(checks, source.ValidReport(configured))
	}
	return func(line []byte) bool {
		for _, check := range checks {
			if check(line) {
				return true
			}
		}
		return false
	}
}

// listening decides how long to listen.
type listening struct {
	span   time.Duration
	serial bool
	line   *statusLine
	up     time.Time // when the port was opened
	ready  time.Time // when there were readable lines
	status source.Status
}

// goOn tells whether there is more to hope for. The error is that of a port which
// cannot be opened.
func (l *listening) goOn(s source.Status, now time.Time) (bool, error) {
	l.status = s
	if l.up.IsZero() {
		opened := s.Up || s.Bytes > 0 // a server may have hung up since
		if !opened && s.LastError != "" {
			return false, errors.New(s.LastError)
		}
		if !opened {
			l.line.show("opening the port")
			return true, nil
		}
		l.up = now
	}
	switch {
	case s.Bytes == 0:
		l.line.show("listening: nothing yet")
		return now.Sub(l.up) < max(l.span, probeSilence), nil
	case s.Searching:
		l.line.show(fmt.Sprintf("looking for the baud rate: %d", s.Baud))
		return s.Rounds == 0, nil
	}
	if l.ready.IsZero() {
		l.ready = now
	}
	l.line.show(fmt.Sprintf("listening: %d lines", s.Lines))
	return now.Sub(l.ready) < l.span, nil
}

// statusLine shows on a terminal what is being done.
type statusLine struct {
	out   io.Writer // nil: no terminal
	shown string
}

func newStatusLine(out io.Writer) *statusLine {
	if isTerminal(out) {
		return &statusLine{out: out}
	}
	return &statusLine{}
}

func (l *statusLine) show(text string) {
	if l.out == nil || text == l.shown {
		return
	}
	fmt.Fprintf(l.out, "\r\x1b[K%s", text)
	l.shown = text
}

// wipe clears the line.
func (l *statusLine) wipe() {
	if l.out != nil && l.shown != "" {
		fmt.Fprint(l.out, "\r\x1b[K")
	}
}
