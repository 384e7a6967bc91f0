package source

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"runtime"
	"sync"
	"time"

	"drawbar/replay"
)

// QueueSize is a good size of the channel that sources hand lines to: ten
// seconds of everything that two busy ports send.
const QueueSize = 1024

// The most that one read takes: of a stream, and a whole datagram.
const (
	streamRead   = 4 << 10
	datagramRead = 64 << 10
)

// Config is what a source is made of. Name, Stream and Address are needed.
type Config struct {
	Name    string        // for people and metrics: "gnss"
	Stream  replay.Stream // of the events
	Address string        // a serial port's path, tcp://host:port or udp://:port
	Baud    int           // of a serial port; 0: to be found out

	// Valid tells a good line from a bad one: for the search of the rate and for
	// Status. Only Run's goroutine calls it. nil: a good checksum for a receiver,
	// printable text for a controller.
	Valid func(line []byte) bool
	// Now gives the time of arrival; nil: time.Now in UTC.
	Now func() time.Time
	Log *slog.Logger // nil: nothing is logged

	BackoffMin time.Duration // 0: DefaultBackoffMin
	BackoffMax time.Duration // 0: DefaultBackoffMax
}

// Source is one port under supervision. Make it with New and call Run once.
type Source struct {
	cfg     Config
	address Address
	open    opener
	rates   []int // to search in; nil where the rate is given or there is none
	journal journal
	backoff backoff

	// Of Run's goroutine.
	cut     *cutter
	tune    *tuner // nil where nothing is searched
	found   bool   // the first of rates was right when it was last in use
	midLine bool   // the next piece may have begun before we listened
	buf     []byte

	mu     sync.Mutex
	status Status
}

// New checks a configuration. It opens nothing.
func New(cfg Config) (*Source, error) {
	address, err := ParseAddress(cfg.Address)
	if err != nil {
		return nil, fmt.Errorf("source %s: %w", cfg.Name, err)
	}
	if cfg.Baud < 0 {
		return nil, fmt.Errorf("source %s: baud %d: write 0 to find it out, or a rate such as 9600", cfg.Name, cfg.Baud)
	}
	if cfg.Stream > replay.StreamController {
		return nil, fmt.Errorf("source %s: a port carries a receiver or a controller, not %s lines", cfg.Name, cfg.Stream)
	}
	if cfg.Valid == nil {
		cfg.Valid = validFor(cfg.Stream)
	}
	if cfg.Now == nil {
		cfg.Now = func() time.Time { return time.Now().UTC() }
	}
	if cfg.BackoffMin <= 0 {
		cfg.BackoffMin = DefaultBackoffMin
	}
	if cfg.BackoffMax <= 0 {
		cfg.BackoffMax = DefaultBackoffMax
	}
	cfg.BackoffMax = max(cfg.BackoffMin, cfg.BackoffMax)
	s := &Source{
		cfg: cfg, address: address, open: openPort,
		journal: newJournal(cfg.Log, cfg.Name, cfg.Address),
		backoff: backoff{min: cfg.BackoffMin, max: cfg.BackoffMax},
		status:  Status{Name: cfg.Name, Address: cfg.Address, Since: time.Now()},
	}
	if address.Kind == KindSerial && cfg.Baud == 0 {
		s.rates = usualBauds()
	}
	return s, nil
}

// Run reads the port until ctx ends, opens it again whenever it is lost, and
// hands lines to out in the order of their arrival. A full out blocks it. It
// returns nil once ctx has ended; lines that out had no room for by then are
// dropped and counted. It does not close out, which several sources may share.
// Each event owns its line.
func (s *Source) Run(ctx context.Context, out chan<- replay.Event) error {
	if s.buf != nil {
		return fmt.Errorf("source %s: it can run only once", s.cfg.Name)
	}
	s.buf = make([]byte, streamRead)
	if s.address.Kind == KindUDP {
		s.buf = make([]byte, datagramRead)
	}
	s.cut = newCutter(s.cfg.Stream == replay.StreamController, func(line []byte, at time.Time) {
		s.take(ctx, out, line, at)
	})
	for ups := uint64(0); ctx.Err() == nil; {
		p, err := s.open(ctx, s.address, s.firstBaud())
		if err == nil {
			ups++
			s.up(ups)
			err = s.read(ctx, p)
			p.Close() // of a lost port, and nothing was written: its error says nothing
			s.drop()
		}
		if ctx.Err() != nil {
			break
		}
		s.down(err)
		s.pause(ctx)
	}
	s.note(func(t *Status) {
		if t.Up {
			t.Up, t.Since = false, time.Now()
		}
	})
	return nil
}

// firstBaud is the rate to open a port with.
func (s *Source) firstBaud() int {
	if s.rates != nil {
		return s.rates[0]
	}
	return s.cfg.Baud
}

// read takes what a port gives until it is lost or the context ends.
func (s *Source) read(ctx context.Context, p port) error {
	s.midLine = s.address.Kind == KindSerial && s.cfg.Stream == replay.StreamController
	s.tune = nil
	if s.rates != nil {
		s.tune = newTuner(s.rates, time.Now())
		s.tune.settled = s.found // the device that comes back is most likely the same
	}
	for ctx.Err() == nil {
		n, err := p.Read(s.buf)
		s.arrived(s.buf[:n])
		if n > 0 {
			// On a board with one processor the next read, which blocks in the
			// operating system, would hold up whoever waits for these lines for up to
			// 10 ms, until the runtime finds out.
			runtime.Gosched()
		}
		if err != nil {
			return err
		}
		if err := s.retune(p); err != nil {
			return err
		}
	}
	return nil
}

// arrived stamps what was read and cuts it into lines.
func (s *Source) arrived(b []byte) {
	if s.tune != nil {
		s.tune.read(b)
	}
	if len(b) == 0 {
		s.midLine = s.midLine && s.cut.held()
		return
	}
	at := s.cfg.Now()
	s.note(func(t *Status) {
		t.Bytes += uint64(len(b))
		t.LastByteAt = time.Now()
	})
	s.cut.push(b, at)
	if s.address.Kind == KindUDP {
		s.cut.flush() // a datagram ends a line
	}
	s.backoff.reset()
}

// retune follows the search of the baud rate.
func (s *Source) retune(p port) error {
	if s.tune == nil {
		return nil
	}
	was := s.tune.settled
	changed := s.tune.decide(time.Now())
	if !changed && was == s.tune.settled {
		return nil
	}
	baud, settled, rounds := s.tune.baud(), s.tune.settled, s.tune.rounds
	s.note(func(t *Status) {
		t.Baud, t.Searching, t.Rounds = baud, !settled, rounds
	})
	s.found = settled
	if settled {
		s.rates = append([]int{baud}, without(s.rates, baud)...) // after a loss this one comes first
		s.journal.found(baud)
	} else if was {
		s.journal.noise(baud)
	}
	if !changed {
		return nil
	}
	s.drop()
	s.midLine = s.cfg.Stream == replay.StreamController
	return p.SetBaud(baud)
}

// take is called for every line.
func (s *Source) take(ctx context.Context, out chan<- replay.Event, line []byte, at time.Time) {
	if s.midLine {
		s.midLine = false
		s.note(func(t *Status) { t.Dropped++ })
		return
	}
	valid := s.cfg.Valid(line)
	keep := s.tune == nil || s.tune.line(line, valid)
	if valid {
		s.note(func(t *Status) {
			t.Valid++
			t.LastValid = time.Now()
		})
	}
	sent := keep && s.send(ctx, out, replay.Event{At: at, Stream: s.cfg.Stream, Line: bytes.Clone(line)})
	s.note(func(t *Status) {
		if sent {
			t.Lines++
		} else {
			t.Dropped++
		}
	})
}

// send hands a line on and tells whether it could. It waits for room until the
// context ends.
func (s *Source) send(ctx context.Context, out chan<- replay.Event, e replay.Event) bool {
	select {
	case out <- e:
		return true
	default:
	}
	start := time.Now()
	s.note(func(t *Status) { t.Blocked++ })
	sent := true
	select {
	case out <- e:
	case <-ctx.Done():
		sent = false
	}
	s.note(func(t *Status) { t.BlockedFor += time.Since(start) })
	return sent
}

// drop forgets the piece of a line in hand.
func (s *Source) drop() {
	if s.cut.drop() {
		s.note(func(t *Status) { t.Dropped++ })
	}
}

func (s *Source) up(ups uint64) {
	baud := 0
	if s.address.Kind == KindSerial {
		baud = s.firstBaud()
	}
	s.note(func(t *Status) {
		t.Up, t.Since, t.Reconnects, t.LastError = true, time.Now(), ups-1, ""
		t.Baud, t.Searching, t.Rounds = baud, s.rates != nil && !s.found, 0
	})
	s.journal.up(baud, ups-1)
}

func (s *Source) down(err error) {
	err = explain(s.address, err)
	s.note(func(t *Status) {
		if t.Up {
			t.Up, t.Since = false, time.Now()
		}
		t.LastError, t.Searching = err.Error(), false
	})
	s.journal.down(err)
}

// pause waits before the next try. It ends at once when something new stands
// where a serial port was lost.
func (s *Source) pause(ctx context.Context) {
	const look = 100 * time.Millisecond
	left := s.backoff.next()
	before := deviceAt(s.address.Place)
	for left > 0 {
		step := left
		if s.address.Kind == KindSerial {
			step = min(step, look)
		}
		timer := time.NewTimer(step)
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
		left -= step
		if s.address.Kind != KindSerial {
			continue
		}
		if now := deviceAt(s.address.Place); now != nil && !sameDevice(before, now) {
			s.backoff.reset()
			return
		}
	}
}
