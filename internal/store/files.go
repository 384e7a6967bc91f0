package store

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Files are the files of one session, without a look into them.
type Files struct {
	Session     string
	Parts       []FileState // in order, the first part first
	Corrections FileState   // zero: there are none
}

// FileState is a file as the file system knows it.
type FileState struct {
	Path  string
	Bytes int64
	Time  time.Time // of the last change
}

// Bytes is the size of all parts.
func (f *Files) Bytes() (n int64) {
	for _, p := range f.Parts {
		n += p.Bytes
	}
	return n
}

// Busy tells whether the session is being recorded.
func (f *Files) Busy() bool {
	file, err := os.Open(f.Parts[len(f.Parts)-1].Path)
	if err != nil {
		return false
	}
	defer file.Close()
	return inUse(file)
}

// ListFiles lists the sessions of a folder by the names of their files alone, which
// is quick, in order of their names.
func ListFiles(dir string) ([]Files, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", err)
	}
	type part struct {
		number int
		FileState
	}
	parts, beside := map[string][]part{}, map[string]FileState{}
	for _, e := range entries {
		name := e.Name()
		session, number, recording := splitName(name)
		if e.IsDir() || !recording && !strings.HasSuffix(name, corrections) {
			continue
		}
		info, err := e.Info()
		if err != nil {
			if os.IsNotExist(err) {
				continue // it got another name meanwhile
			}
			return nil, fmt.Errorf("list sessions: %w", err)
		}
		state := fileState(filepath.Join(dir, name), info)
		if recording {
			parts[session] = append(parts[session], part{number, state})
		} else {
			beside[strings.TrimSuffix(name, corrections)] = state
		}
	}
	out := make([]Files, 0, len(parts))
	for session, list := range parts {
		slices.SortFunc(list, func(a, b part) int { return a.number - b.number })
		f := Files{Session: session, Corrections: beside[session]}
		for _, p := range list {
			f.Parts = append(f.Parts, p.FileState)
		}
		out = append(out, f)
	}
	slices.SortFunc(out, func(a, b Files) int { return strings.Compare(a.Session, b.Session) })
	return out, nil
}

func fileState(path string, info fs.FileInfo) FileState {
	return FileState{Path: path, Bytes: info.Size(), Time: info.ModTime()}
}
