package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"

	"drawbar/internal/probe"
)

// talk calls write again and again until it is stopped. A write that waits, for
// nobody reads any more, is ended by to's deadline.
func talk(to interface{ SetWriteDeadline(time.Time) error }, every time.Duration, write func(i int) error) (stop func()) {
	quit, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		tick := time.NewTicker(every)
		defer tick.Stop()
		for i := 0; ; i++ {
			select {
			case <-quit:
				return
			case <-tick.C:
				if write(i) != nil {
					return
				}
			}
		}
	}()
	return func() {
		close(quit)
		to.SetWriteDeadline(time.Now())
		<-done
	}
}

// terminal is a pseudo-terminal that passes bytes as they are.
func terminal(t *testing.T) (master *os.File, name string) {
	t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		t.Fatalf("make a pseudo-terminal: %v", err)
	}
	t.Cleanup(func() { slave.Close() })
	mode, err := unix.IoctlGetTermios(int(slave.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	mode.Lflag &^= unix.ICANON | unix.ECHO
	mode.Iflag &^= unix.ICRNL
	if err := unix.IoctlSetTermios(int(slave.Fd()), unix.TCSETS, mode); err != nil {
		t.Fatal(err)
	}
	// The library leaves the file blocking, so that no deadline would hold.
	fd, err := unix.Dup(int(master.Fd()))
	if err != nil {
		t.Fatal(err)
	}
	master.Close()
	if err := unix.SetNonblock(fd, true); err != nil {
		t.Fatal(err)
	}
	open := os.NewFile(uintptr(fd), "terminal")
	t.Cleanup(func() { open.Close() })
	return open, slave.Name()
}

// probing runs the command and returns what it prints.
func probing(ctx context.Context, t *testing.T, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := Run(ctx, append([]string{"probe"}, args...), nil, &stdout, &stderr); code != exitOK || stderr.Len() > 0 {
		t.Fatalf("probe %q: code %d, stderr %s", args, code, stderr.String())
	}
	return stdout.String()
}

func nmeaSealed(body string) string {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, sum)
}

// receiverEpoch is the i-th fifth of a second of a receiver.
func receiverEpoch(i int) string {
	at := time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC).Add(time.Duration(i) * 200 * time.Millisecond).Format("150405.00")
	return nmeaSealed("GNGGA,"+at+",5322.1234,N,00001.2345,W,4,12,0.7,61.2,M,46.0,M,1.0,0001") +
		nmeaSealed("GNRMC,"+at+",A,5322.1234,N,00001.2345,W,5.40,181.2,140526,,,R")
}

// A receiver on a real pseudo-terminal, its rate not known: it is found, named,
// and not one byte is sent to it.
func TestProbeReceiverOnATerminal(t *testing.T) {
	t.Parallel()
	master, name := terminal(t)
	stop := talk(master, 20*time.Millisecond, func(i int) error {
		_, err := master.WriteString(receiverEpoch(i))
		return err
	})
	text := probing(t.Context(), t, "--for", "500ms", name)
	stop()
	for _, want := range []string{"carries a GNSS receiver at 9600 baud", "GGA    5 a second", "RTK fixed", "gnss:\n  source: " + name + "\n  baud: 9600\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("want %q in:\n%s", want, text)
		}
	}
	if err := master.SetReadDeadline(time.Now().Add(50 * time.Millisecond)); err != nil {
		t.Fatal(err)
	}
	if n, err := master.Read(make([]byte, 1)); n > 0 || !errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("the port was sent %d bytes, %v: a probe must only listen", n, err)
	}
}

func TestProbeController(t *testing.T) {
	t.Parallel()
	master, name := terminal(t)
	stop := talk(master, 10*time.Millisecond, func(i int) error {
		_, err := fmt.Fprintf(master, "work=1 sections=1101 tank.1.rate=%dkg/ha\r\n", 100+i%10)
		return err
	})
	defer stop()
	text := probing(t.Context(), t, "--for", "300ms", "--baud", "19200", "--json", name)
	var found probe.Finding
	if err := json.Unmarshal([]byte(text), &found); err != nil {
		t.Fatalf("%v in:\n%s", err, text)
	}
	if found.Carries != probe.CarriesController || found.Controller.Kind != "keyvalue" || found.Controller.Reports < 5 || *found.Baud != 19200 ||
		!strings.Contains(found.YAML, "controller:\n  source: "+name+"\n  baud: 19200\n  line:\n    kind: keyvalue\n") {
		t.Errorf("got:\n%s", text)
	}
}

// Binary bytes at a given rate, and a port on which nothing comes until the
// person gives up.
func TestProbeNoiseAndSilence(t *testing.T) {
	t.Parallel()
	master, name := terminal(t)
	stop := talk(master, 5*time.Millisecond, func(i int) error {
		_, err := master.Write([]byte{0xb5, 0x62, 0x01, 0x07, byte(i), 0, 0x80, 0xff, 0x9c, '\n'})
		return err
	})
	text := probing(t.Context(), t, "--for", "200ms", "--baud", "9600", name)
	stop()
	if !strings.Contains(text, "bytes that are no text") || !strings.Contains(text, "leave out --baud") {
		t.Errorf("got:\n%s", text)
	}
	_, quiet := terminal(t)
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	if text := probing(ctx, t, quiet); !strings.Contains(text, "is silent") || !strings.Contains(text, "cable") {
		t.Errorf("got:\n%s", text)
	}
}

func TestProbeNetwork(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	served := make(chan error, 1)
	go func() {
		c, err := l.Accept()
		if err != nil {
			served <- err
			return
		}
		defer c.Close()
		for i := range 25 {
			if _, err = c.Write([]byte(receiverEpoch(i))); err != nil {
				break
			}
		}
		served <- err
	}()
	address := "tcp://" + l.Addr().String()
	text := probing(t.Context(), t, "--for", "200ms", address)
	if err := <-served; err != nil {
		t.Fatal(err)
	}
	// The server hangs up after its last line, which the finding says too.
	for _, want := range []string{"carries a GNSS receiver.", "GGA    5 a second", "gnss:\n  source: " + address + "\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("want %q in:\n%s", want, text)
		}
	}

	free, err := net.ListenPacket("udp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	place := free.LocalAddr().String()
	free.Close()
	c, err := net.Dial("udp", place)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	stop := talk(c, 10*time.Millisecond, func(i int) error {
		c.Write([]byte(strings.TrimSpace(receiverEpoch(i)))) // refused until somebody listens
		return nil
	})
	defer stop()
	if text := probing(t.Context(), t, "--for", "300ms", "udp://"+place); !strings.Contains(text, "carries a GNSS receiver.") {
		t.Errorf("got:\n%s", text)
	}
}
