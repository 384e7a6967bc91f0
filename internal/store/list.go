package store

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"
	"time"

	"drawbar/replay"
)

// Session is a recorded session with its files.
type Session struct {
	Name  string
	Parts []Part
}

// Part is one file of a session.
type Part struct {
	File     string
	Number   int // from 1
	Bytes    int64
	Head     replay.Head
	Contents replay.Contents
	Packed   bool
	Busy     bool  // it is being recorded
	Err      error // it cannot be read; the members above are not known then
}

// Complete tells whether nothing of the session is known to be lost.
func (s Session) Complete() bool {
	for _, p := range s.Parts {
		if p.Err != nil || p.Contents.Cut || p.Contents.Damaged > 0 {
			return false
		}
	}
	return true
}

// Missing is how many lines came while nothing could be recorded or were lost, as
// the numbers of the others tell.
func (s Session) Missing() (n int) {
	next := 1
	for _, p := range s.Parts {
		if p.Err != nil {
			continue
		}
		first, inside := max(int(p.Head.First), 1), p.Contents.Missing
		n += inside
		if p.Number == 1 {
			inside -= first - 1 // these came before it
		} else if first > next {
			n += first - next
		}
		next = first + p.Contents.Total() + max(inside, 0)
	}
	return n
}

// Bytes is the size of all parts.
func (s Session) Bytes() (n int64) {
	for _, p := range s.Parts {
		n += p.Bytes
	}
	return n
}

// Packed tells whether all parts are.
func (s Session) Packed() bool {
	for _, p := range s.Parts {
		if !p.Packed {
			return false
		}
	}
	return true
}

// Busy tells whether the session is being recorded.
func (s Session) Busy() bool { return len(s.Parts) > 0 && s.Parts[len(s.Parts)-1].Busy }

// Span is from the first fix to the last, by receiver time; zero where there is
// none.
func (s Session) Span() (begin, end time.Time) {
	for _, p := range s.Parts {
		if begin.IsZero() {
			begin = p.Contents.Begin
		}
		if !p.Contents.End.IsZero() {
			end = p.Contents.End
		}
	}
	return begin, end
}

// Fields are the fields that the session names, each once.
func (s Session) Fields() (names []string) {
	seen := map[string]bool{}
	for _, p := range s.Parts {
		for _, f := range p.Contents.Fields {
			if !seen[f] {
				seen[f] = true
				names = append(names, f)
			}
		}
	}
	return names
}

// busyBytes is how much is read of a file that grows: about the first half hour.
const busyBytes = 8 << 20

// List finds the sessions in dir, in order of their names. A packed one is read by
// its index; any other as a whole, but of one that is being recorded only the start.
func List(dir string) ([]Session, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", err)
	}
	return listed(entries, func(e os.DirEntry) Part { return Inspect(filepath.Join(dir, e.Name())) }), nil
}

// listed puts the parts of each session together, as look finds them.
func listed(entries []os.DirEntry, look func(os.DirEntry) Part) (sessions []Session) {
	at := map[string]int{}
	for _, e := range entries {
		name, number, ok := splitName(e.Name())
		if !ok || e.IsDir() {
			continue
		}
		i, known := at[name]
		if !known {
			i = len(sessions)
			at[name] = i
			sessions = append(sessions, Session{Name: name})
		}
		p := look(e)
		p.Number = number
		sessions[i].Parts = append(sessions[i].Parts, p)
	}
	sort.SliceStable(sessions, func(i, j int) bool { return sessions[i].Name < sessions[j].Name })
	for _, s := range sessions {
		sort.Slice(s.Parts, func(i, j int) bool { return s.Parts[i].Number < s.Parts[j].Number })
	}
	return sessions
}

// Inspect looks into one file, by its index where it has one.
func Inspect(file string) Part {
	p := Part{File: file}
	_, p.Number, _ = splitName(file)
	f, err := os.Open(file)
	if err != nil {
		p.Err = err
		return p
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		p.Err = err
		return p
	}
	p.Bytes = info.Size()
	p.Busy = inUse(f)
	if h, c, ok := replay.ReadSummed(f, p.Bytes); ok {
		p.Head, p.Contents, p.Packed = h, c, true
		return p
	}
	var r io.Reader = f
	if p.Busy {
		r = io.LimitReader(f, busyBytes)
	}
	full, err := Examine(r, file, nil)
	if p.Busy {
		full.Contents.Last, full.Contents.End = time.Time{}, time.Time{}
	}
	full.Number, full.Bytes, full.Busy, full.Err = p.Number, p.Bytes, p.Busy, err
	return full
}

// Examine reads a session from its first byte to its last, as its index may not
// tell of damage, and hands every damaged place to damaged, which may be nil.
func Examine(r io.Reader, file string, damaged func(*replay.CorruptError)) (Part, error) {
	p := Part{File: file}
	m := replay.NewMCAPReader(r, file)
	var survey replay.Survey
	started := false
	for {
		e, err := m.Next()
		var corrupt *replay.CorruptError
		if errors.As(err, &corrupt) {
			survey.Damage(corrupt)
			if damaged != nil {
				damaged(corrupt)
			}
			continue
		}
		if err != nil && err != io.EOF {
			return p, err
		}
		if !started {
			started = true
			p.Head, _ = m.Head()
			survey.Head(p.Head)
		}
		if err == io.EOF {
			break
		}
		survey.Add(e, m.Seq())
	}
	p.Packed = m.Packed() && m.Closed()
	p.Contents = survey.Contents(m)
	return p, nil
}
