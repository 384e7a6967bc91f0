package records

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/klauspost/compress/zstd"

	"drawbar/internal/catalog"
	"drawbar/internal/store"
)

// Config is what an Index is made of.
type Config struct {
	Dir      string           // of the sessions; work.db and joins.jsonl lie in it too
	Catalog  *catalog.Catalog // nil: there is none
	Timezone *time.Location   // of days and years; nil: UTC
	Live     func() string    // the session that is being recorded, which is left out; nil: none
	// Rest is how long to rest for each second of work, so that the live run is never
	// held up; 0: no rest. What was asked for is worked out without.
	Rest float64
	Log  *slog.Logger // nil: silent
}

// Index is what all recorded sessions add up to. Every method may be called from any
// goroutine; answers come from memory and never wait for work that is going on.
type Index struct {
	c        Config
	log      *slog.Logger
	file     *file
	view     atomic.Pointer[view]
	kick     chan struct{} // something may have changed
	packer   *zstd.Encoder // of the worker alone
	unpacker *zstd.Decoder

	mu      sync.Mutex
	entries map[string]*entry
	joined  map[string]*result // by digest, of joins that act
	settled chan struct{}      // closed while nothing is left to do
	asks    uint64             // grows with what is asked for
	current *entry             // being worked out
	stop    context.CancelFunc // ends that
}

// entry is a session as far as it is known.
type entry struct {
	files  store.Files
	digest string  // of the files as they are
	result *result // nil: not worked out yet; of another digest: out of date
	asked  uint64  // when somebody asked for it last; 0: nobody
	share  float64 // of what is being worked out
	ops    []Operation
}

func (e *entry) stale() bool { return e.result == nil || e.result.digest != e.digest }

// Open opens the index of a folder of sessions. Run works out what is missing.
func Open(ctx context.Context, c Config) (*Index, error) {
	if c.Timezone == nil {
		c.Timezone = time.UTC
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Live == nil {
		c.Live = func() string { return "" }
	}
	x := &Index{c: c, log: c.Log, kick: make(chan struct{}, 1), entries: map[string]*entry{}, joined: map[string]*result{}, settled: make(chan struct{})}
	var err error
	if x.packer, err = zstd.NewWriter(nil, zstd.WithEncoderConcurrency(1)); err != nil {
		return nil, fmt.Errorf("open the index of records: %w", err)
	}
	if x.unpacker, err = zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxMemory(maxShape)); err != nil {
		return nil, fmt.Errorf("open the index of records: %w", err)
	}
	if x.file, err = openFile(ctx, c.Dir); err != nil {
		return nil, err
	}
	x.view.Store(newView(nil, nil, newBook(&catalog.Document{}, c.Timezone)))
	x.kick <- struct{}{}
	return x, nil
}

// maxShape bounds the drawn ground of an operation, bytes.
const maxShape = 64 << 20

// Close closes the file, after Run has returned.
func (x *Index) Close() error {
	x.unpacker.Close()
	if err := errors.Join(x.packer.Close(), x.file.close()); err != nil {
		return fmt.Errorf("close the index of records: %w", err)
	}
	return nil
}

// Refresh has the index look for what has changed: recordings, corrections, joins,
// the catalogue. It does not wait for it.
func (x *Index) Refresh() {
	x.mu.Lock()
	defer x.mu.Unlock()
	x.refresh()
}

func (x *Index) refresh() {
	select {
	case <-x.settled:
		x.settled = make(chan struct{})
	default:
	}
	select {
	case x.kick <- struct{}{}:
	default: // one is on its way
	}
}

// Recompute has a session worked out before all others and without a rest, as after a
// correction. It does not wait for it; Session tells how it stands.
func (x *Index) Recompute(session string) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if e := x.entries[session]; e != nil {
		x.asks++
		e.asked = x.asks
		e.digest = "asked for" // out of date until it is worked out
		if x.current != nil && (x.current == e || x.current.asked == 0) {
			x.stop()
		}
	}
	x.refresh()
}

// Wait returns when nothing is left to be worked out.
func (x *Index) Wait(ctx context.Context) error {
	x.mu.Lock()
	settled := x.settled
	x.mu.Unlock()
	select {
	case <-settled:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Session is one recorded session by its name.
func (x *Index) Session(name string) (Session, bool) {
	x.mu.Lock()
	defer x.mu.Unlock()
	e := x.entries[name]
	if e == nil {
		return Session{}, false
	}
	return e.session(), true
}

// Sessions are all of them, the latest recording first.
func (x *Index) Sessions() []Session {
	x.mu.Lock()
	defer x.mu.Unlock()
	out := make([]Session, 0, len(x.entries))
	for _, e := range x.entries {
		out = append(out, e.session())
	}
	slices.SortFunc(out, func(a, b Session) int { return strings.Compare(b.Name, a.Name) })
	return out
}

func (e *entry) session() Session {
	s := Session{Name: e.files.Session, State: Working, Bytes: e.files.Bytes(), Share: e.share, Operations: len(e.ops)}
	if e.result != nil {
		s.Warnings, s.Corrected = e.result.Warnings, e.result.Corrected
		if !e.stale() {
			s.State = Current
			if e.result.failed != "" {
				s.State, s.Err = Failed, e.result.failed
			}
		}
	}
	for i := range e.ops {
		o := &e.ops[i].OperationRecord
		if s.Start.IsZero() || o.Start.Before(s.Start) {
			s.Start = o.Start
		}
		if o.End.After(s.End) {
			s.End = o.End
		}
	}
	return s
}

// SessionOperations are the operations of one session, joined or not, in order.
func (x *Index) SessionOperations(name string) []*Operation {
	x.mu.Lock()
	e := x.entries[name]
	var ops []Operation
	if e != nil {
		ops = e.ops
	}
	x.mu.Unlock()
	out := make([]*Operation, 0, len(ops))
	b := x.view.Load().book
	for i := range ops {
		o := ops[i]
		b.place(&o)
		out = append(out, &o)
	}
	return out
}
