package source

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"drawbar/replay"
)

func TestParseAddress(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		in   string
		want Address
		says string // part of the error
	}{
		{"/dev/serial/by-id/usb-example-if00", Address{KindSerial, "/dev/serial/by-id/usb-example-if00"}, ""},
		{"tcp://192.168.5.1:10110", Address{KindTCP, "192.168.5.1:10110"}, ""},
		{"tcp://[::1]:10110", Address{KindTCP, "[::1]:10110"}, ""},
		{"udp://:10110", Address{KindUDP, ":10110"}, ""},
		{"", Address{}, "empty"},
		{" /dev/ttyUSB0", Address{}, "blanks"},
		{"ttyUSB0", Address{}, "/dev/ttyUSB0"},
		{"192.168.5.1:10110", Address{}, "tcp://"},
		{"http://192.168.5.1:80", Address{}, "neither tcp:// nor udp://"},
		{"tcp://:10110", Address{}, "no host"},
		{"tcp://host", Address{}, "host:port"},
		{"udp://10110", Address{}, "host:port"},
		{"tcp://host:0", Address{}, "1 to 65535"},
		{"tcp://host:65536", Address{}, "1 to 65535"},
	} {
		got, err := ParseAddress(tc.in)
		if got != tc.want || (err == nil) != (tc.says == "") || err != nil && !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%q: got %+v, %v; want %+v, an error with %q", tc.in, got, err, tc.want, tc.says)
		}
		if err != nil && !strings.Contains(err.Error(), "udp://:port") {
			t.Errorf("%q: the error does not say what to write: %v", tc.in, err)
		}
	}
}

func TestNewRefuses(t *testing.T) {
	t.Parallel()
	for _, cfg := range []Config{
		{Address: "ttyUSB0"},
		{Address: "/dev/ttyUSB0", Baud: -1},
		{Address: "/dev/ttyUSB0", Stream: replay.StreamOperator},
	} {
		if _, err := New(cfg); err == nil {
			t.Errorf("%+v is taken", cfg)
		}
	}
}

// A second of noise at the full speed of the fastest line: every byte is counted,
// the next good sentence arrives, and memory stays small (pieces of 4096 bytes).
func TestNoiseAtFullSpeed(t *testing.T) {
	t.Parallel()
	name := link(t)
	p := plug(t, name)
	r := start(t, Config{Address: name, Baud: 921600})
	const total = 921600 / 10
	noise := rand.NewChaCha8([32]byte{1})
	block := make([]byte, 1024)
	done := make(chan error, 1)
	good := sealed("GPHDT,1.0,T")
	go func() {
		for range total / len(block) {
			noise.Read(block)
			if _, err := p.master.Write(block); err != nil {
				done <- err
				return
			}
		}
		_, err := p.master.WriteString("\r\n" + good + "\r\n")
		done <- err
	}()
	pieces := 0
	for {
		e := r.next()
		if string(e.Line) == good {
			break
		}
		if pieces++; len(e.Line) > 4096 {
			t.Fatalf("a piece of %d bytes", len(e.Line))
		}
	}
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if s := r.Status(); s.Bytes != total/1024*1024+uint64(len(good))+4 || s.Valid != 1 || !s.Up {
		t.Errorf("got %+v after %d bytes of noise in %d pieces", s, total, pieces)
	}
}

// One lost source never stops another.
func TestSourcesAreApart(t *testing.T) {
	t.Parallel()
	one, two := link(t), link(t)
	p, q := plug(t, one), plug(t, two)
	a := start(t, Config{Address: one, Baud: 9600})
	b := start(t, Config{Address: two, Baud: 9600, Name: "other"})
	p.write("a\n")
	q.write("b\n")
	a.want("a")
	b.want("b")
	p.unplug()
	a.until("down", func(s Status) bool { return !s.Up })
	q.write("c\n")
	b.want("c")
	if s := b.Status(); !s.Up || s.Reconnects != 0 {
		t.Errorf("the other one: %+v", s)
	}
}

// script is a port that gives what it is told, then an error.
type script struct {
	chunks []string
	end    error
}

func (p *script) Read(b []byte) (int, error) {
	if len(p.chunks) == 0 {
		if p.end == nil {
			time.Sleep(readWait)
			return 0, nil
		}
		return 0, p.end
	}
	n := copy(b, p.chunks[0])
	p.chunks = p.chunks[1:]
	return n, nil
}
func (*script) SetBaud(int) error { return nil }
func (*script) Close() error      { return nil }

// A queue that is full blocks the source and is counted; no line is lost.
func TestSlowConsumer(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		const n = 50
		s := newScripted(t, &script{chunks: strings.SplitAfter(strings.Repeat("line\n", n), "\n")})
		out := make(chan replay.Event, 5)
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- s.Run(ctx, out) }()
		synctest.Wait()
		if st := s.Status(); st.Lines != 5 || st.Blocked != 1 || st.Dropped != 0 {
			t.Errorf("with a full queue: got %+v, want 5 lines, blocked once", st)
		}
		time.Sleep(3 * time.Second)
		for range n {
			<-out
			synctest.Wait()
		}
		if st := s.Status(); st.Lines != n || st.Dropped != 0 || st.Blocked != n-5 || st.BlockedFor != 3*time.Second {
			t.Errorf("after all: got %+v, want %d lines, blocked %d times for 3 s", st, n, n-5)
		}
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
}

// A source that is blocked ends with its context; what it could not hand on is
// counted.
func TestStoppedWhileBlocked(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := newScripted(t, &script{chunks: []string{"a\nb\nc\n"}})
		ctx, cancel := context.WithCancel(t.Context())
		out := make(chan replay.Event, 1)
		done := make(chan error, 1)
		go func() { done <- s.Run(ctx, out) }()
		synctest.Wait()
		began := time.Now()
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		if st := s.Status(); st.Lines != 1 || st.Dropped != 2 || time.Since(began) > readWait {
			t.Errorf("got %+v after %v, want 1 line, 2 dropped, at once", st, time.Since(began))
		}
		if err := s.Run(t.Context(), out); err == nil {
			t.Error("Run ran twice")
		}
	})
}

// Every line of one read has the one time of that read.
func TestStampedOnce(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		calls := 0
		s := newScripted(t, &script{chunks: []string{"a\nb\nc", "d\n"}})
		s.cfg.Now = func() time.Time { calls++; return at(calls) }
		out := make(chan replay.Event, 9)
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if err := s.Run(ctx, out); err != nil {
			t.Fatal(err)
		}
		close(out)
		got := ""
		for e := range out {
			got += fmt.Sprintf("%d %s|", e.At.Unix(), e.Line)
		}
		if want := "1 a|1 b|2 cd|"; got != want {
			t.Errorf("got %s, want %s", got, want)
		}
	})
}

func newScripted(t *testing.T, p port) *Source {
	t.Helper()
	s, err := New(Config{Name: "gnss", Address: "/dev/ttyUSB0", Baud: 9600})
	if err != nil {
		t.Fatal(err)
	}
	s.open = func(context.Context, Address, int) (port, error) { return p, nil }
	return s
}

// The pauses grow from 0.2 s to 5 s, never leave these bounds, differ from one
// another, and begin anew once bytes came.
func TestBackoff(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s, err := New(Config{Name: "gnss", Address: "tcp://192.0.2.1:10110"})
		if err != nil {
			t.Fatal(err)
		}
		var tries []time.Time
		const comes = 40
		s.open = func(context.Context, Address, int) (port, error) {
			tries = append(tries, time.Now())
			if len(tries) == comes {
				return &script{chunks: []string{"x"}, end: errors.New("lost")}, nil
			}
			return nil, errors.New("not there")
		}
		ctx, cancel := context.WithTimeout(t.Context(), 4*time.Minute)
		defer cancel()
		if err := s.Run(ctx, make(chan replay.Event)); err != nil {
			t.Fatal(err)
		}
		if len(tries) <= comes+1 {
			t.Fatalf("got %d tries in four minutes", len(tries))
		}
		var pauses []time.Duration
		seen := map[time.Duration]bool{}
		for i := range tries[1:] {
			p := tries[i+1].Sub(tries[i])
			if p < DefaultBackoffMin || p > DefaultBackoffMax {
				t.Errorf("pause %d is %v, want 0.2 to 5 s", i, p)
			}
			pauses = append(pauses, p)
			seen[p] = true
		}
		if p := pauses[0]; p > 2*DefaultBackoffMin {
			t.Errorf("the first pause is %v", p)
		}
		if p := pauses[comes-2]; p < DefaultBackoffMax/2 {
			t.Errorf("after %d tries the pause is %v, want 2.5 to 5 s", comes, p)
		}
		if p := pauses[comes-1]; p > 2*DefaultBackoffMin {
			t.Errorf("after a loss the pause is %v, want 0.2 s", p)
		}
		if len(seen) < len(pauses)/2 {
			t.Errorf("only %d different pauses of %d", len(seen), len(pauses))
		}
	})
}

// A loose plug writes a bounded number of lines to the log, none of them holds a
// line of the port.
func TestLogIsBounded(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		s, err := New(Config{Name: "gnss", Address: "tcp://192.0.2.1:10110", Log: slog.New(slog.NewTextHandler(&log, nil))})
		if err != nil {
			t.Fatal(err)
		}
		s.open = func(context.Context, Address, int) (port, error) {
			return &script{chunks: []string{"$GPGLL,5322.1\n"}, end: errors.New("lost")}, nil
		}
		ctx, cancel := context.WithTimeout(t.Context(), 10*time.Minute)
		defer cancel()
		if err := s.Run(ctx, make(chan replay.Event, 1<<16)); err != nil {
			t.Fatal(err)
		}
		lines := strings.Count(log.String(), "\n")
		if n := s.Status().Reconnects; n < 1000 || lines > journalBurst+11 {
			t.Errorf("%d log lines of %d losses", lines, n)
		}
		if strings.Contains(log.String(), "5322") {
			t.Errorf("the log holds a position:\n%s", log.String())
		}
	})
}

// One epoch of two sentences, read at once, cut, checked and handed on.
func BenchmarkEpoch(b *testing.B) {
	s, err := New(Config{Name: "gnss", Address: "/dev/ttyUSB0", Baud: 115200})
	if err != nil {
		b.Fatal(err)
	}
	out := make(chan replay.Event, 2)
	s.cut = newCutter(false, func(line []byte, at time.Time) { s.take(b.Context(), out, line, at) })
	chunk := []byte(epoch())
	b.ReportAllocs()
	for b.Loop() {
		s.arrived(chunk)
		<-out
		<-out
	}
	if st := s.Status(); st.Valid != st.Lines || st.Lines != 2*uint64(b.N) {
		b.Fatalf("got %+v of %d epochs", st, b.N)
	}
}
