package marks

import (
	"context"
	"log/slog"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"drawbar/coverage"
	"drawbar/internal/catalog"
)

// Config is what a Keeper needs.
type Config struct {
	Catalog *catalog.Catalog
	Dir     string // of the recorded sessions
	Session string // the one in hand, which is kept by Stand and Settle
	// Say has an operator line recorded, and tells when that was by the session's
	// clock; an error means that it was not.
	Say func(ctx context.Context, line []byte) (at time.Time, err error)
	Now func() time.Time // the session's clock
	// Changed is called after marks of the catalogue have changed, by one goroutine at
	// a time; nil: nobody is told.
	Changed func(context.Context)
	Log     *slog.Logger
}

// Keeper keeps marks in the catalogue. Its methods may be called from several
// goroutines; Run and Reconcile once each.
type Keeper struct {
	c    Config
	wake chan struct{}

	mu      sync.Mutex // guards waiting
	waiting waiting

	change sync.Mutex  // held over a change of a mark that was asked for
	behind atomic.Bool // recorded sessions may say more of marks than the catalogue has
}

// waiting is what was said and is not in the catalogue yet.
type waiting struct {
	marks   []coverage.Mark // of the session in hand, all that stand
	stand   bool            // marks were said
	settled []catalog.Settlement
}

// NewKeeper makes a Keeper, which keeps nothing until it runs.
func NewKeeper(c Config) *Keeper { return &Keeper{c: c, wake: make(chan struct{}, 1)} }

// Behind says that Reconcile has not run yet. Until it has, a mark is said to be what it
// seems to be already, so that no earlier word which still comes in takes the place of
// this one.
func (k *Keeper) Behind() { k.behind.Store(true) }

// Stand says which marks of the session in hand stand now. It does not wait.
func (k *Keeper) Stand(marks []coverage.Mark) {
	k.say(func(w *waiting) { w.marks, w.stand = slices.Clone(marks), true })
}

// Settle says that the session in hand said a mark to be done or open again. It does
// not wait.
func (k *Keeper) Settle(s catalog.Settlement) {
	k.say(func(w *waiting) { w.settled = append(w.settled, s) })
}

func (k *Keeper) say(what func(*waiting)) {
	k.mu.Lock()
	what(&k.waiting)
	k.mu.Unlock()
	select {
	case k.wake <- struct{}{}:
	default: // it is awake
	}
}

// take gives what waits.
func (k *Keeper) take() waiting {
	k.mu.Lock()
	defer k.mu.Unlock()
	w := k.waiting
	k.waiting = waiting{}
	return w
}

// back puts back what could not be kept, before what was said since.
func (k *Keeper) back(w waiting) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if !k.waiting.stand {
		k.waiting.marks, k.waiting.stand = w.marks, w.stand
	}
	k.waiting.settled = append(w.settled, k.waiting.settled...)
}

// Times of the keeping.
const (
	retryAfter = 5 * time.Second
	lastTime   = time.Second // for what waits when the session has ended
)

// Run keeps what is said until ctx ends, which must be after the session's last line
// was acted on; then it keeps what still waits and returns. What it could not keep is
// in the recording and comes in at the next start.
func (k *Keeper) Run(ctx context.Context) {
	failing := false
	for {
		var again <-chan time.Time
		if failing {
			again = time.After(retryAfter)
		}
		select {
		case <-ctx.Done():
			k.end(context.WithoutCancel(ctx))
			return
		case <-k.wake:
		case <-again:
		}
		w := k.take()
		err := k.keep(ctx, w, false)
		if err != nil && ctx.Err() == nil && !failing {
			k.c.Log.Error("marks are in the recording and could not be brought to the catalogue; it is tried again", "error", err)
		}
		if failing = err != nil; failing {
			k.back(w)
		}
	}
}

func (k *Keeper) end(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, lastTime)
	defer cancel()
	if err := k.keep(ctx, k.take(), true); err != nil {
		k.c.Log.Warn("the last marks are in the recording and come to the catalogue at the next start", "error", err)
	}
}

// keep brings to the catalogue what was said; whole tells that it is all.
func (k *Keeper) keep(ctx context.Context, w waiting, whole bool) (err error) {
	var kept catalog.Kept
	if w.stand {
		kept, err = k.stand(ctx, w.marks)
	}
	did := kept.Any()
	if err == nil { // after the marks, of which some may be meant
		var settled bool
		settled, err = k.settle(ctx, w.settled)
		did = did || settled
	}
	if err == nil && whole {
		err = k.c.Catalog.MarkKept(ctx, k.c.Session, correctionBytes(k.c.Dir, k.c.Session))
	}
	if did && k.c.Changed != nil {
		k.c.Changed(ctx)
	}
	return err
}

func (k *Keeper) settle(ctx context.Context, all []catalog.Settlement) (any bool, err error) {
	for _, s := range all {
		did, err := k.c.Catalog.Settle(ctx, s)
		if err != nil {
			return any, err
		}
		any = any || did
	}
	return any, nil
}

func (k *Keeper) stand(ctx context.Context, marks []coverage.Mark) (catalog.Kept, error) {
	fields, err := k.fields(ctx, len(marks) > 0)
	if err != nil {
		return catalog.Kept{}, err
	}
	return k.c.Catalog.KeepMarks(ctx, catalog.SessionMarks{Session: k.c.Session, Marks: fields.marks(k.c.Session, marks)})
}
