package store

import (
	"os"
	"path/filepath"
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
