package store

import (
	"errors"
	"fmt"
	"io"
	"os"
	"syscall"

	"drawbar/internal/whole"
)

// ErrInUse is wrapped where a file or folder is in use by a running daemon.
var ErrInUse = errors.New("in use by a running daemon")

// lockFile takes the lock on an open file, or says that another process has it.
func lockFile(f *os.File) error {
	err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return fmt.Errorf("%s: %w", f.Name(), ErrInUse)
	}
	if err != nil {
		return fmt.Errorf("lock %s: %w", f.Name(), err)
	}
	return nil
}

// inUse tells whether another process, or another part of this one, has the lock.
func inUse(f *os.File) bool {
	err := lockFile(f)
	if err == nil {
		_ = syscall.Flock(int(f.Fd()), syscall.LOCK_UN)
	}
	return errors.Is(err, ErrInUse)
}

// FreeBytes is how much of the disk under dir an ordinary user may still write.
func FreeBytes(dir string) (int64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil {
		return 0, fmt.Errorf("free space of %s: %w", dir, err)
	}
	return int64(s.Bavail) * int64(s.Bsize), nil
}

// WriteNew writes a file that must not be there yet. It has its name only when it is
// whole and on the disk.
func WriteNew(path string, fill func(io.Writer) error) error {
	if exists(path) {
		return fmt.Errorf("write %s: it is there already; name another file", path)
	}
	return whole.Write(path, 0o644, fill)
}
