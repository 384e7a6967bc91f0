package records

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"slices"
	"time"

	"drawbar/internal/catalog"
	"drawbar/internal/store"
)

// How often the worker looks around.
const (
	lookEvery    = 5 * time.Second // at the folder and the catalogue, where nobody says that something changed
	filesEvery   = time.Minute     // at every file: what another program appends to one changes no folder
	publishEvery = time.Second     // while there is much to work out, at most so often
	publishShare = 20              // and no more than one part in so many of the time
)

// Run works out what is missing until ctx ends. It is one goroutine, its caller's.
func (x *Index) Run(ctx context.Context) error {
	if x.c.Rest > 0 {
		giveWay()
	}
	w := &worker{x: x, book: x.view.Load().book}
	defer w.end()
	if err := w.load(ctx); err != nil {
		if ctx.Err() != nil {
			return nil
		}
		return err
	}
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for ctx.Err() == nil {
		select {
		case <-x.kick:
			w.look(ctx)
		case <-tick.C:
			w.glance(ctx)
		default:
		}
		if w.work(ctx) {
			continue
		}
		w.idle()
		select {
		case <-ctx.Done():
		case <-x.kick:
			w.look(ctx)
		case <-tick.C:
			w.glance(ctx)
		}
	}
	return nil
}

// worker is the one goroutine that works out figures.
type worker struct {
	x          *Index
	book       *book
	watch      *catalog.Watch
	joins      []Join
	published  time.Time
	publishing time.Duration // what it took
	dirty      bool          // what is known has changed since
	looked     time.Time
	folder     time.Time // its change, as seen then
}

func (w *worker) end() {
	if w.watch != nil {
		if err := w.watch.Close(); err != nil {
			w.x.log.Debug("watching the catalogue ended badly", "error", err)
		}
	}
}

// load takes in what is in the file. A file that cannot be read is made anew.
func (w *worker) load(ctx context.Context) error {
	x := w.x
	found := map[string]*result{}
	err := x.file.all(ctx, func(r *result) { found[r.name] = r })
	if err != nil && ctx.Err() == nil {
		x.log.Warn("the index of records cannot be read and is made anew", "error", err)
		clear(found)
		err = x.file.renew(ctx)
	}
	if err != nil {
		return fmt.Errorf("read the index of records: %w", err)
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	for name, r := range found {
		if digest, join := joinDigest(name); join {
			x.joined[digest] = r
		} else {
			x.entries[name] = &entry{files: store.Files{Session: name}, result: r, ops: r.Operations}
		}
	}
	return nil
}

// glance looks at the files only where the folder has changed or it is time.
func (w *worker) glance(ctx context.Context) {
	info, err := os.Stat(w.x.c.Dir)
	if err != nil || !info.ModTime().Equal(w.folder) || time.Since(w.looked) >= filesEvery {
		w.look(ctx)
		return
	}
	if err := w.lookAtCatalog(ctx); err != nil && ctx.Err() == nil {
		w.x.log.Error("the catalogue cannot be read for the records", "error", err)
	}
	if w.dirty {
		w.publish()
	}
}

// look takes in what has changed in the folder and in the catalogue.
func (w *worker) look(ctx context.Context) {
	w.looked = time.Now()
	if info, err := os.Stat(w.x.c.Dir); err == nil {
		w.folder = info.ModTime()
	}
	if err := errors.Join(w.lookAtFiles(ctx), w.lookAtCatalog(ctx)); err != nil && ctx.Err() == nil {
		w.x.log.Error("the records cannot be brought up to date", "error", err)
	}
	if w.dirty {
		w.publish()
	}
}

func (w *worker) lookAtFiles(ctx context.Context) error {
	x := w.x
	list, err := store.ListFiles(x.c.Dir)
	if err != nil {
		return err
	}
	joins, err := readJoins(x.c.Dir)
	if err != nil {
		return err
	}
	w.joins = joins
	live := x.c.Live()
	var gone []string
	x.mu.Lock()
	there := map[string]bool{}
	for i := range list {
		f := list[i]
		if len(f.Parts) == 0 || f.Session == live {
			continue
		}
		there[f.Session] = true
		e := x.entries[f.Session]
		if e == nil {
			e = &entry{}
			x.entries[f.Session] = e
		}
		if digest := digestOf(&f); e.digest != digest && e.asked == 0 {
			w.dirty = true
			e.digest = digest
		}
		e.files = f
	}
	for name := range x.entries {
		if !there[name] {
			delete(x.entries, name)
			gone = append(gone, name)
			w.dirty = true
		}
	}
	x.mu.Unlock()
	w.dirty = w.dirty || !slices.EqualFunc(joins, x.view.Load().joins, sameLine)
	if len(gone) > 0 {
		return x.file.drop(ctx, gone)
	}
	return nil
}

func sameLine(a, b Join) bool {
	return a.Number == b.Number && a.Undone == b.Undone && a.Why == b.Why
}

// digestOf tells whether anything that figures follow from has changed.
func digestOf(f *store.Files) string {
	h := sha256.New()
	for _, s := range append(slices.Clone(f.Parts), f.Corrections) {
		fmt.Fprintf(h, "%q %d %d\n", s.Path[max(0, len(s.Path)-64):], s.Bytes, s.Time.UnixNano())
	}
	return hex.EncodeToString(h.Sum(nil)[:12])
}

func (w *worker) lookAtCatalog(ctx context.Context) error {
	c := w.x.c.Catalog
	if c == nil {
		return nil
	}
	if w.watch == nil {
		watch, err := c.Watch(ctx)
		if err != nil {
			return err
		}
		w.watch = watch
	} else if changed, err := w.watch.Changed(ctx); err != nil || !changed {
		return err
	}
	d, err := c.Export(ctx)
	if err != nil {
		return err
	}
	w.book, w.dirty = newBook(&d, w.x.c.Timezone), true
	return nil
}

// work works out one session or join and tells whether there was one.
func (w *worker) work(ctx context.Context) bool {
	if e := w.next(); e != nil {
		w.session(ctx, e)
		return true
	}
	if w.dirty {
		w.publish() // with all sessions, for the joins
	}
	if j := w.nextJoin(); j != nil {
		w.join(ctx, j)
		return true
	}
	return false
}

// next is the session that is due: what was asked for last, else the latest.
func (w *worker) next() (due *entry) {
	x := w.x
	x.mu.Lock()
	defer x.mu.Unlock()
	for _, e := range x.entries {
		if !e.stale() || len(e.files.Parts) == 0 {
			continue
		}
		if due == nil || cmp.Or(cmp.Compare(e.asked, due.asked), cmp.Compare(e.files.Session, due.files.Session)) > 0 {
			due = e
		}
	}
	return due
}

// session works one out.
func (w *worker) session(ctx context.Context, e *entry) {
	x := w.x
	if e.files.Busy() {
		x.mu.Lock()
		delete(x.entries, e.files.Session) // looked at again when it is closed
		x.mu.Unlock()
		return
	}
	doing, stop := context.WithCancel(ctx)
	defer stop()
	x.mu.Lock()
	files, digest, asked := e.files, digestOf(&e.files), e.asked
	x.current, x.stop = e, stop
	x.mu.Unlock()
	r := replaySession(doing, &files, w.pace(asked > 0), x.packer, func(share float64) {
		x.mu.Lock()
		e.share = share
		x.mu.Unlock()
	})
	x.mu.Lock()
	x.current, x.stop, e.share = nil, nil, 0
	x.mu.Unlock()
	if doing.Err() != nil {
		return // something else comes first, or it is over
	}
	r.digest = digest
	w.keep(ctx, r)
	r.ground = nil
	x.mu.Lock()
	e.result, e.ops = r, r.Operations
	if e.asked == asked {
		e.asked, e.digest = 0, digest
	}
	x.mu.Unlock()
	w.dirty = true
	if asked > 0 || time.Since(w.published) >= max(publishEvery, publishShare*w.publishing) {
		w.publish()
	}
}

// keep brings a result to the disk. Without a disk it is kept in memory.
func (w *worker) keep(ctx context.Context, r *result) {
	if err := w.x.file.put(ctx, r); err != nil && ctx.Err() == nil {
		w.x.log.Error("figures of a session are not on the disk and will be worked out again", "session", r.name, "error", err)
	}
}

// publish makes what is known now the answer to questions.
func (w *worker) publish() {
	x, begin := w.x, time.Now()
	x.mu.Lock()
	var ops []Operation
	waiting, failed := 0, 0
	for _, e := range x.entries {
		ops = append(ops, e.ops...)
		switch {
		case e.stale():
			waiting++
		case e.result.failed != "":
			failed++
		}
	}
	joins, used := slices.Clone(w.joins), map[Ref]int{}
	for i := range joins {
		w.resolve(&joins[i], used)
		switch joins[i].State {
		case Working:
			waiting++
		case Failed:
			failed++
		}
	}
	x.mu.Unlock()
	v := newView(ops, joins, w.book)
	v.waiting, v.failed = waiting, failed
	x.view.Store(v)
	w.published, w.publishing, w.dirty = time.Now(), time.Since(begin), false
}

// idle tells those who wait that nothing is left to do.
func (w *worker) idle() {
	x := w.x
	x.mu.Lock()
	defer x.mu.Unlock()
	if len(x.kick) > 0 {
		return
	}
	select {
	case <-x.settled:
	default:
		close(x.settled)
	}
}
