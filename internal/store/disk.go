package store

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"syscall"
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

// syncDir makes the names in dir last.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sync %s: %w", dir, err)
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) { // EINVAL: a file system without it
		return fmt.Errorf("sync %s: %w", dir, err)
	}
	return nil
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
func WriteNew(path string, fill func(io.Writer) error) (err error) {
	if exists(path) {
		return fmt.Errorf("write %s: it is there already; name another file", path)
	}
	tmp, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*.tmp")
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	defer func() {
		tmp.Close()
		if err != nil {
			os.Remove(tmp.Name())
		}
	}()
	w := bufio.NewWriterSize(tmp, 64<<10)
	if err := fill(w); err != nil {
		return err
	}
	err = errors.Join(w.Flush(), tmp.Chmod(0o644), tmp.Sync())
	if err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return syncDir(filepath.Dir(path))
}
