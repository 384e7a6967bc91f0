package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"

	"drawbar/replay"
)

// Options are the policies of a recording. The zero value has the defaults.
type Options struct {
	SyncEvery time.Duration // while there are lines to sync; 1 s
	SyncBytes int64         // sooner, once so many wait; 1 MiB
	LowBytes  int64         // free space below which the disk counts as low; 500 MB
	StopBytes int64         // free space that recording leaves to everything else; 20 MB

	Free   func(dir string) (int64, error) // FreeBytes
	OnSync func(time.Duration)             // told how long each sync took
}

func (o Options) withDefaults() Options {
	if o.SyncEvery == 0 {
		o.SyncEvery = time.Second
	}
	if o.SyncBytes == 0 {
		o.SyncBytes = 1 << 20
	}
	if o.LowBytes == 0 {
		o.LowBytes = 500e6
	}
	if o.StopBytes == 0 {
		o.StopBytes = 20e6
	}
	if o.Free == nil {
		o.Free = FreeBytes
	}
	if o.OnSync == nil {
		o.OnSync = func(time.Duration) {}
	}
	return o
}

// ErrReserve is why recording stopped before the disk was full: the rest of it is
// for everything else.
var ErrReserve = errors.New("the disk is almost full")

// State is how a recording stands.
type State struct {
	Session    string
	File       string // of the part in hand, or the last one
	Recording  bool
	Err        error // why not; nil after Close
	Low        bool  // the disk is low
	FreeBytes  int64 // with HasFree
	HasFree    bool  // the file system could tell
	Bytes      int64 // written in all parts
	Lines      int   // handed to the operating system, in all parts
	Synced     int   // of these, brought to the disk
	Unrecorded int   // lines that came while nothing could be recorded, or were lost by a fault
}

// Recording is a session that is being recorded. Append and Flush are for the one
// goroutine that processes the lines; Run syncs in its own. When the disk is full
// or fails, recording stops, lines are counted, and Run goes on in a new part as
// soon as there is room.
type Recording struct {
	folder  *Folder
	options Options
	kick    chan struct{} // a sync is due by size

	mu       sync.Mutex
	head     replay.Head // of the part in hand, or of the next one
	rec      *replay.Recorder
	file     *os.File
	retired  []*os.File // of stopped parts, to be synced and closed
	state    State
	before   State // bytes and lines of the parts before
	unsynced int64 // bytes written before the latest sync began
	pause    int   // ticks until recording is tried again
	backoff  int   // the latest pause
	closed   bool
}

// Append records a line. Lines that can not be recorded now are counted and no
// error; one that no session can hold is, wrapping replay.ErrRefused.
func (r *Recording) Append(e replay.Event) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.rec == nil {
		r.state.Unrecorded++
		r.head.First++
		return nil
	}
	err := r.rec.Append(e)
	if errors.Is(err, replay.ErrRefused) {
		return err
	}
	if err != nil {
		r.stop(err)
	}
	return nil
}

// Commit records a line and brings it to the disk before it returns. The error says
// why it is not there.
func (r *Recording) Commit(e replay.Event) error {
	if err := r.Append(e); err != nil {
		return err
	}
	r.sync()
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.state.Err != nil {
		return r.state.Err
	}
	return nil
}

// Flush hands what was appended to the operating system: from then on it survives
// the end of the process. Call it before the lines are processed.
func (r *Recording) Flush() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.flush()
}

func (r *Recording) flush() {
	if r.rec == nil {
		return
	}
	if err := r.rec.Flush(); err != nil {
		r.stop(err)
		return
	}
	r.count()
	if r.state.Bytes-r.unsynced >= r.options.SyncBytes {
		select {
		case r.kick <- struct{}{}:
		default:
		}
	}
}

// count brings the state up to the recorder's.
func (r *Recording) count() {
	r.state.Bytes = r.before.Bytes + r.rec.Bytes()
	r.state.Lines = r.before.Lines + r.rec.Lines()
}

// stop ends the part in hand after a fault.
func (r *Recording) stop(cause error) {
	r.count()
	r.before.Bytes, r.before.Lines = r.state.Bytes, r.state.Lines
	lost := 0
	var fault *replay.WriteError
	if errors.As(cause, &fault) {
		lost = fault.Lost
	}
	r.state.Unrecorded += lost
	r.state.Recording, r.state.Err = false, cause
	// The lines that were lost keep their numbers: the gap tells of them.
	r.head.First = r.rec.Next()
	r.head.Part++
	// A disk that fails at once again must not be filled with short parts.
	if r.rec.Lines() > partLines {
		r.backoff = 0
	}
	r.delay()
	r.retired = append(r.retired, r.file)
	r.rec, r.file = nil, nil
}

const (
	partLines  = 1000 // as many show that the disk works
	mostPauses = 60
)

// delay puts the next try off, by twice as long as the last time.
func (r *Recording) delay() {
	r.pause = r.backoff
	r.backoff = min(2*r.backoff+1, mostPauses)
}

// State is how the recording stands.
func (r *Recording) State() State {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state
}

// Run syncs until ctx ends, and then for a last time. It also watches the free
// space and takes recording up again.
func (r *Recording) Run(ctx context.Context) error {
	ticker := time.NewTicker(r.options.SyncEvery)
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			r.sync()
			return nil
		case <-r.kick:
			r.sync()
		case <-ticker.C:
			r.tick()
		}
	}
}

// tick does what is due from time to time.
func (r *Recording) tick() {
	r.sync()
	free, err := r.options.Free(r.folder.dir)
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.closed {
		return
	}
	if r.state.HasFree = err == nil; r.state.HasFree {
		r.state.FreeBytes, r.state.Low = free, free < r.options.LowBytes
	}
	if r.pause > 0 {
		r.pause--
		return
	}
	switch {
	case r.rec != nil && err == nil && free < r.options.StopBytes:
		r.endPart(ErrReserve)
	case r.rec == nil && (err != nil || free >= r.room()):
		r.resume()
	case r.rec == nil && r.state.Err == nil:
		r.state.Err = fmt.Errorf("record in %s: %w", r.folder.dir, ErrReserve)
	}
}

// room is how much must be free for recording to go on: more than where it stops,
// so that it does not do so at once again.
func (r *Recording) room() int64 {
	if r.head.Part == 1 {
		return r.options.StopBytes
	}
	return 2 * r.options.StopBytes
}

// endPart closes the part in hand in good order.
func (r *Recording) endPart(cause error) {
	if err := r.rec.Close(); err != nil {
		cause = err
	}
	r.stop(cause)
	if errors.Is(cause, ErrReserve) {
		r.state.Synced = r.state.Lines
	}
}

// resume begins the next part.
func (r *Recording) resume() {
	file, rec, err := r.folder.create(r.head)
	if err != nil {
		r.state.Err = err
		r.delay()
		return
	}
	r.file, r.rec, r.pause = file, rec, 0
	r.state.Session, r.state.File = r.head.Session, partName(r.head.Session, r.head.Part)
	r.state.Recording, r.state.Err = true, nil
	r.count()
	r.unsynced = r.state.Bytes // its start is on the disk
}

// sync brings what was flushed to the disk, without holding up Append.
func (r *Recording) sync() {
	r.mu.Lock()
	r.flush()
	file, lines, bytes := r.file, r.state.Lines, r.state.Bytes
	due := file != nil && bytes > r.unsynced
	retired := r.retired
	r.retired = nil
	r.mu.Unlock()
	for _, f := range retired {
		// As much as the disk still takes; that it failed is already told.
		_ = f.Sync()
		_ = f.Close()
	}
	if !due {
		return
	}
	begin := time.Now()
	err := file.Sync()
	r.options.OnSync(time.Since(begin))
	r.mu.Lock()
	defer r.mu.Unlock()
	if err == nil {
		r.state.Synced, r.unsynced = max(r.state.Synced, lines), max(r.unsynced, bytes)
		return
	}
	if r.file == file { // not stopped meanwhile
		r.stop(&replay.WriteError{File: file.Name(), Err: err, Whole: bytes, Lines: lines, Sync: true})
	}
}

// Close ends the session after Run has returned: the file gets its end and is
// synced. It does not pack. A second call does nothing.
func (r *Recording) Close() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.closed {
		return nil
	}
	r.closed = true
	var err error
	if r.rec != nil {
		if err = r.rec.Close(); err == nil {
			r.count()
			r.state.Synced = r.state.Lines
			err = r.file.Close()
		} else {
			r.file.Close()
		}
	}
	for _, f := range r.retired {
		err = errors.Join(err, f.Sync(), f.Close())
	}
	r.rec, r.file, r.retired = nil, nil, nil
	r.state.Recording = false
	if err != nil {
		return fmt.Errorf("close session %s: %w", r.head.Session, err)
	}
	return nil
}

// Files are the paths of the session's parts so far.
func (r *Recording) Files() ([]string, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return Parts(r.folder.path(r.head.Session))
}
