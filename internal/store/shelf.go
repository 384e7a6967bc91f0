package store

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"
)

// Shelf lists the sessions of a folder again and again: what was found in a file is
// kept for as long as the file is the same. Several goroutines may use it.
type Shelf struct {
	dir   string
	mu    sync.Mutex
	parts map[string]kept // by name of the file
	still time.Time       // the folder's time at the last look; zero where that may have been too soon after it
	last  []Session
	open  []place // the parts in last that are not packed
}

// kept is what was found in a file, and which file that was.
type kept struct {
	bytes int64
	at    time.Time
	part  Part
}

type place struct{ session, part int }

// settled is how old a folder's time must be for a change since then to show: file
// systems and kernels count in steps of some milliseconds, the coarsest in 2 s.
const settled = 3 * time.Second

// NewShelf is the shelf of a folder, which need not be there yet.
func NewShelf(dir string) *Shelf { return &Shelf{dir: dir, parts: map[string]kept{}} }

// List is List of the folder. While no file is added, renamed or removed, a packed
// session is taken to be what it was. Of a session that is being recorded, once its
// first fix is known, only the size is looked up.
func (s *Shelf) List() ([]Session, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	info, err := os.Stat(s.dir)
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", err)
	}
	if s.still.IsZero() || !info.ModTime().Equal(s.still) {
		if err := s.readAll(info.ModTime()); err != nil {
			return nil, err
		}
		return s.copied(), nil
	}
	var still []place
	for _, at := range s.open {
		p := &s.last[at.session].Parts[at.part]
		number := p.Number
		*p = s.look(filepath.Base(p.File))
		p.Number = number
		if !p.Packed || p.Busy {
			still = append(still, at)
		}
	}
	s.open = still
	return s.copied(), nil
}

// readAll lists the folder anew, looking only into files that have changed.
func (s *Shelf) readAll(changed time.Time) error {
	s.still = time.Time{}
	if time.Since(changed) > settled {
		s.still = changed
	}
	entries, err := os.ReadDir(s.dir)
	if err != nil {
		return fmt.Errorf("list sessions: %w", err)
	}
	there := make(map[string]kept, len(entries))
	s.last = listed(entries, func(e os.DirEntry) Part {
		p := s.look(e.Name())
		if k, ok := s.parts[e.Name()]; ok {
			there[e.Name()] = k
		}
		return p
	})
	s.parts, s.open = there, nil
	for i, session := range s.last {
		for j, p := range session.Parts {
			if !p.Packed || p.Busy {
				s.open = append(s.open, place{i, j})
			}
		}
	}
	return nil
}

// look inspects a file, unless it is the one that is kept.
func (s *Shelf) look(name string) Part {
	file := filepath.Join(s.dir, name)
	info, err := os.Stat(file)
	if err != nil {
		return Part{File: file, Err: err}
	}
	k, ok := s.parts[name]
	same := ok && k.bytes == info.Size() && k.at.Equal(info.ModTime()) && k.part.Err == nil
	switch {
	case same && !k.part.Busy:
		return k.part
	case ok && k.part.Busy && !k.part.Contents.Begin.IsZero() && busy(file):
		k.part.Bytes = info.Size()
	default:
		k.part = Inspect(file)
	}
	k.bytes, k.at = info.Size(), info.ModTime()
	s.parts[name] = k
	return k.part
}

// busy tells whether a file is being recorded.
func busy(file string) bool {
	f, err := os.Open(file)
	if err != nil {
		return false
	}
	defer f.Close()
	return inUse(f)
}

// copied is the list for a caller, who may change it.
func (s *Shelf) copied() []Session {
	if len(s.last) == 0 {
		return nil
	}
	out := make([]Session, len(s.last))
	parts := make([]Part, 0, len(s.parts))
	for i, session := range s.last {
		n := len(parts)
		parts = append(parts, session.Parts...)
		out[i] = Session{Name: session.Name, Parts: parts[n:len(parts):len(parts)]}
	}
	return out
}
