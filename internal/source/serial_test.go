package source

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"drawbar/replay"
)

// 200 times in one run: the receiver is pulled out, and comes back as another
// device behind the same name. Every line that was whole arrives.
func TestUnplugAndReplug(t *testing.T) {
	t.Parallel()
	name := link(t)
	r := start(t, Config{Address: name, Baud: 38400})
	const times = 200
	for i := range times {
		p := plug(t, name)
		first, second := sealed(fmt.Sprintf("GPHDT,%d.0,T", i)), sealed("GPHDT,1.5,T")
		p.write(first + "\r\n" + second + "\r\n" + "$GPHDT,12")
		r.want(first, second)
		p.unplug()
	}
	s := r.until("down", func(s Status) bool { return !s.Up })
	if s.Reconnects != times-1 || s.Lines != 2*times || s.Valid != 2*times {
		t.Errorf("got %d reconnects, %d lines, %d good; want %d, %d, %d", s.Reconnects, s.Lines, s.Valid, times-1, 2*times, 2*times)
	}
	if s.LastError == "" {
		t.Error("a source that is down gives no reason")
	}
	t.Logf("last reason: %s; %d pieces dropped", s.LastError, s.Dropped)
}

func TestOpenedLate(t *testing.T) {
	t.Parallel()
	name := link(t)
	r := start(t, Config{Address: name, Baud: 9600})
	s := r.until("said why", func(s Status) bool { return s.LastError != "" })
	if s.Up || s.Reconnects != 0 {
		t.Errorf("got %+v of a port that is not there", s)
	}
	p := plug(t, name)
	p.write("a\nb\n")
	r.want("a", "b")
	if s := r.Status(); !s.Up || s.Reconnects != 0 || s.LastError != "" || s.Baud != 9600 || s.LastByteAt.IsZero() {
		t.Errorf("got %+v", s)
	}
}

func TestSentencesAndReads(t *testing.T) {
	t.Parallel()
	name := link(t)
	p := plug(t, name)
	r := start(t, Config{Address: name, Baud: 9600})
	a, b := sealed("GPHDT,1.0,T"), sealed("GPHDT,2.0,T")
	p.write(a + "\r\n" + b + "\r\n") // two in one read
	r.want(a, b)
	for i := range a { // one in many reads: each byte has been read before the next is sent
		before := r.Status().Bytes
		p.write(a[i : i+1])
		r.until("read", func(s Status) bool { return s.Bytes > before })
	}
	p.write("\r\n")
	r.want(a)
}

func TestStoppedSoon(t *testing.T) {
	t.Parallel()
	name := link(t)
	p := plug(t, name)
	r := start(t, Config{Address: name, Baud: 9600})
	p.write("a\n")
	r.want("a")
	began := time.Now()
	r.stop()
	// 100 ms is promised; the rest is for a machine that is busy with other tests.
	if took := time.Since(began); took > 300*time.Millisecond {
		t.Errorf("Run took %v to return, want 100 ms", took)
	}
	if s := r.Status(); s.Up {
		t.Errorf("a source that has ended is up: %+v", s)
	}
}

// The first piece of a controller's serial port may be the end of a line that
// began before: it is dropped, unless the port was quiet.
func TestControllerMidLine(t *testing.T) {
	t.Parallel()
	name := link(t)
	p := plug(t, name)
	p.write("2.5kg/ha\nwork=1\n")
	r := start(t, Config{Address: name, Baud: 9600, Stream: replay.StreamController})
	r.want("work=1")
	if s := r.Status(); s.Dropped != 1 {
		t.Errorf("got %d dropped, want 1", s.Dropped)
	}
}

// From the write of a sentence on a pseudo-terminal to the event in hand.
func BenchmarkTerminal(b *testing.B) {
	name := link(b)
	p := plug(b, name)
	r := start(b, Config{Address: name, Baud: 115200})
	line := sealed("GPHDT,1.0,T") + "\r\n"
	p.write(line)
	r.next()
	var waits []time.Duration
	b.ReportAllocs()
	for b.Loop() {
		began := time.Now()
		p.write(line)
		r.next()
		waits = append(waits, time.Since(began))
	}
	slices.Sort(waits)
	b.ReportMetric(float64(waits[len(waits)*99/100].Nanoseconds()), "p99-ns/line")
}
