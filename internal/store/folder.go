package store

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"drawbar/internal/whole"
	"drawbar/replay"
)

// Folder is the folder of sessions of a daemon. While it is open no other daemon can
// open it.
type Folder struct {
	dir  string
	lock *os.File
}

// lockName is the file whose lock says that a daemon uses the folder.
const lockName = ".lock"

// Open opens the folder, making it where it is not there. The error wraps ErrInUse
// where another daemon has it.
func Open(dir string) (*Folder, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("open the sessions: %w", err)
	}
	lock, err := os.OpenFile(filepath.Join(dir, lockName), os.O_CREATE|os.O_RDWR, 0o644)
	if err != nil {
		return nil, fmt.Errorf("open the sessions: %w", err)
	}
	if err := lockSoon(lock); err != nil {
		lock.Close()
		return nil, fmt.Errorf("open the sessions in %s: %w", dir, ErrInUse)
	}
	return &Folder{dir: dir, lock: lock}, nil
}

// lockSoon locks the file, giving the one before a moment to let go: a process that
// another goroutine is just starting holds a copy of every open file for an instant.
func lockSoon(f *os.File) (err error) {
	const tries, pause = 20, 10 * time.Millisecond
	for range tries {
		if err = lockFile(f); err == nil {
			return nil
		}
		time.Sleep(pause)
	}
	return err
}

// Dir is the folder's path.
func (f *Folder) Dir() string { return f.dir }

// Close lets another daemon have the folder.
func (f *Folder) Close() error { return f.lock.Close() }

func (f *Folder) path(session string) string { return filepath.Join(f.dir, partName(session, 1)) }

// create makes the file of a session's part, locked, and begins the recording in it.
// The file has its name only when it can be read as a session.
func (f *Folder) create(head replay.Head) (*os.File, *replay.Recorder, error) {
	path := filepath.Join(f.dir, partName(head.Session, head.Part))
	if exists(path) {
		return nil, nil, fmt.Errorf("record %s: a file of that name is there", path)
	}
	early := filepath.Join(f.dir, "."+filepath.Base(path)+".new.tmp")
	file, err := os.OpenFile(early, os.O_CREATE|os.O_TRUNC|os.O_RDWR, 0o644)
	if err != nil {
		return nil, nil, fmt.Errorf("record: %w", err)
	}
	rec, err := f.begin(file, path, head)
	if err != nil {
		file.Close()
		os.Remove(early)
		return nil, nil, err
	}
	return file, rec, nil
}

func (f *Folder) begin(file *os.File, path string, head replay.Head) (*replay.Recorder, error) {
	if err := lockFile(file); err != nil {
		return nil, err
	}
	rec, err := replay.NewRecorder(file, path, head)
	if err != nil {
		return nil, err
	}
	if err := rec.Sync(); err != nil {
		return nil, err
	}
	if err := os.Rename(file.Name(), path); err != nil {
		return nil, fmt.Errorf("record: %w", err)
	}
	return rec, whole.SyncDir(f.dir)
}

// Start begins a session, named by the next number and the clock; of head the name,
// the part and the number of the first line are set here. The recording may be
// stopped from its start, where the disk is full; its state says why.
func (f *Folder) Start(now time.Time, head replay.Head, o Options) (*Recording, error) {
	number, err := nextNumber(f.dir)
	if err != nil {
		return nil, err
	}
	head.Session, head.Part, head.First = sessionName(number, now), 1, 1
	head.Start = now.UTC()
	r := &Recording{folder: f, options: o.withDefaults(), head: head, kick: make(chan struct{}, 1)}
	r.tick()
	return r, nil
}
