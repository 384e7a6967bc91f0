package store

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
)

// Find is the first file of a session in a folder, by the session's name. ok is false
// where there is none of that name, or it is no name of a session.
func Find(dir, session string) (file string, ok bool) {
	name, part, ok := splitName(session + extension)
	if !ok || part != 1 || name != session || filepath.Base(session) != session {
		return "", false
	}
	file = filepath.Join(dir, session+extension)
	info, err := os.Lstat(file)
	return file, err == nil && info.Mode().IsRegular()
}

// Names are the names of the sessions in dir, in order, without a look into them.
func Names(dir string) (names []string, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", err)
	}
	for _, e := range entries {
		if name, part, ok := splitName(e.Name()); ok && part == 1 && !e.IsDir() {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names, nil
}
