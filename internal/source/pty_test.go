package source

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"

	"drawbar/replay"
)

// patience is how long a test waits for what must come; it fails then.
const patience = 20 * time.Second

// plugged is a device on a pseudo-terminal, behind a name that stays.
type plugged struct {
	t      testing.TB
	master *os.File
	slave  *os.File
	link   string
}

// plug makes a new pseudo-terminal and lets link name it, as by-id names do.
func plug(t testing.TB, link string) *plugged {
	t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		t.Fatalf("make a pseudo-terminal: %v", err)
	}
	// Raw before anyone opens it, so that what is written first stays as it is.
	fd := int(slave.Fd())
	mode, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		t.Fatalf("read the terminal's mode: %v", err)
	}
	mode.Lflag &^= unix.ICANON | unix.ECHO | unix.ISIG
	mode.Iflag &^= unix.ICRNL | unix.IXON | unix.INLCR | unix.IGNCR
	mode.Oflag &^= unix.OPOST
	if err := unix.IoctlSetTermios(fd, unix.TCSETS, mode); err != nil {
		t.Fatalf("set the terminal's mode: %v", err)
	}
	next := link + ".new"
	if err := os.Symlink(slave.Name(), next); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(next, link); err != nil {
		t.Fatal(err)
	}
	p := &plugged{t: t, master: master, slave: slave, link: link}
	t.Cleanup(p.unplug)
	return p
}

func (p *plugged) write(s string) {
	p.t.Helper()
	if _, err := p.master.WriteString(s); err != nil {
		p.t.Fatalf("write to the pseudo-terminal: %v", err)
	}
}

func (p *plugged) unplug() {
	if p.master == nil {
		return
	}
	os.Remove(p.link)
	p.slave.Close()
	p.master.Close()
	p.master = nil
}

// running is a source at work.
type running struct {
	*Source
	t      testing.TB
	lines  chan replay.Event
	cancel context.CancelFunc
	done   chan error
}

func start(t testing.TB, cfg Config, change ...func(*Source)) *running {
	t.Helper()
	if cfg.Name == "" {
		cfg.Name = cfg.Stream.String()
	}
	if cfg.BackoffMin == 0 {
		cfg.BackoffMin, cfg.BackoffMax = time.Millisecond, 20*time.Millisecond
	}
	s, err := New(cfg)
	if err != nil {
		t.Fatalf("New(%+v): %v", cfg, err)
	}
	for _, c := range change {
		c(s)
	}
	ctx, cancel := context.WithCancel(context.Background())
	r := &running{Source: s, t: t, lines: make(chan replay.Event, QueueSize), cancel: cancel, done: make(chan error, 1)}
	go func() { r.done <- s.Run(ctx, r.lines) }()
	t.Cleanup(r.stop)
	return r
}

// stop ends the source and waits for it.
func (r *running) stop() {
	r.cancel()
	select {
	case err := <-r.done:
		if err != nil {
			r.t.Errorf("Run: %v", err)
		}
		r.done <- nil
	case <-time.After(patience):
		r.t.Fatal("Run did not return")
	}
}

func (r *running) next() replay.Event {
	r.t.Helper()
	select {
	case e := <-r.lines:
		return e
	case <-time.After(patience):
		r.t.Fatalf("no line came; status %+v", r.Status())
		return replay.Event{}
	}
}

// want takes the next lines and compares them.
func (r *running) want(lines ...string) {
	r.t.Helper()
	for _, line := range lines {
		if e := r.next(); string(e.Line) != line || e.Stream != r.cfg.Stream {
			r.t.Fatalf("got %s line %q, want %s line %q", e.Stream, e.Line, r.cfg.Stream, line)
		}
	}
}

// until waits for a state that no line announces.
func (r *running) until(what string, is func(Status) bool) Status {
	r.t.Helper()
	tick := time.NewTicker(time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(patience); time.Now().Before(end); <-tick.C {
		if s := r.Status(); is(s) {
			return s
		}
	}
	r.t.Fatalf("never %s; status %+v", what, r.Status())
	return Status{}
}

// sealed closes a sentence with its checksum (NMEA 0183: XOR between $ and *).
func sealed(body string) string {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X", body, sum)
}

func link(t testing.TB) string { return filepath.Join(t.TempDir(), "usb-receiver-if00") }
