package main

import (
	"fmt"
	"io"
	"os"
	"time"
)

// progress shows on a terminal how far long work has come, on one line that is
// wiped at the end. Where its output is no terminal it shows nothing.
type progress struct {
	out        io.Writer // nil: no terminal
	now        func() time.Time
	next       time.Time
	done, size int64 // bytes
	shown      bool
}

const progressEvery = 200 * time.Millisecond

func newProgress(out io.Writer, size int64) *progress {
	p := &progress{now: time.Now, size: size}
	if isTerminal(out) {
		p.out = out
	}
	return p
}

// isTerminal tells whether w is a terminal, or another device of characters.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// add counts bytes that were read; a negative number takes back what is read again.
func (p *progress) add(n int) {
	p.done += int64(n)
	if p.out == nil {
		return
	}
	now := p.now()
	if now.Before(p.next) {
		return
	}
	p.next = now.Add(progressEvery)
	if p.size > 0 {
		fmt.Fprintf(p.out, "\rreading: %3d %% of %.1f MB", min(100, p.done*100/p.size), float64(p.size)/1e6)
	} else {
		fmt.Fprintf(p.out, "\rreading: %.1f MB", float64(p.done)/1e6)
	}
	p.shown = true
}

// wipe clears the line.
func (p *progress) wipe() {
	if p.shown {
		fmt.Fprint(p.out, "\r\x1b[K")
		p.shown = false
	}
}
