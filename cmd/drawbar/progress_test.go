package main

import (
	"bytes"
	"testing"
	"time"
)

func TestProgress(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	now := time.Unix(0, 0)
	p := &progress{out: &out, now: func() time.Time { return now }, size: 4000}
	for range 4 {
		p.add(1000)
		now = now.Add(progressEvery / 2)
	}
	p.wipe()
	want := "\rreading:  25 % of 0.0 MB\rreading:  75 % of 0.0 MB\r\x1b[K"
	if out.String() != want {
		t.Errorf("printed %q, want %q", out.String(), want)
	}
}

// No terminal, no progress: what is piped or kept in a file stays clean.
func TestProgressOnNoTerminal(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	p := newProgress(&out, 10)
	p.add(10)
	p.wipe()
	if out.Len() > 0 {
		t.Errorf("printed %q, want nothing", out.String())
	}
}
