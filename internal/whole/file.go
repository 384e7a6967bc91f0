// Package whole writes files that are there as a whole or not at all: they are
// written beside their final name, brought to the disk, and then take the name. A
// reader, and whoever looks after a kill or a power cut, sees the old file or the
// new one, never a part.
//
//	f, err := whole.Create(path, 0o644)
//	if err != nil { … }
//	defer f.Discard()
//	fmt.Fprintln(f, "…") // an error stays in the writer until Commit
//	return f.Commit()
package whole

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// bufferSize is how much is written at once.
const bufferSize = 64 << 10

// File is a file that has not got its name yet.
type File struct {
	*bufio.Writer
	tmp  *os.File
	path string
	mode fs.FileMode
	done bool
}

// Create begins a file; its folder must exist. mode is what it will have.
func Create(path string, mode fs.FileMode) (*File, error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil, fmt.Errorf("write %s: it is a folder; name a file", path)
	}
	tmp, err := os.CreateTemp(filepath.Dir(path), Unfinished(path))
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", path, err)
	}
	return &File{Writer: bufio.NewWriterSize(tmp, bufferSize), tmp: tmp, path: path, mode: mode}, nil
}

// Path is where it will be.
func (f *File) Path() string { return f.path }

// Unfinished is the pattern of the names that a file has before its own.
func Unfinished(path string) string { return "." + filepath.Base(path) + ".*.tmp" }

// Commit brings the file to the disk and gives it its name, which a power cut can
// still take back until SyncDir.
func (f *File) Commit() error {
	err := f.Flush()
	if err == nil {
		err = f.tmp.Chmod(f.mode) // CreateTemp makes secrets
	}
	if err == nil {
		err = f.tmp.Sync()
	}
	if closeErr := f.tmp.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		err = os.Rename(f.tmp.Name(), f.path)
	}
	f.done = true
	if err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", f.path, err), os.Remove(f.tmp.Name()))
	}
	return nil
}

// Discard removes what was written, unless it was committed.
func (f *File) Discard() {
	if f.done {
		return
	}
	f.done = true
	f.tmp.Close()
	os.Remove(f.tmp.Name())
}

// Write writes a file in one go: its bytes and its name are on the disk when it
// returns. An error of fill comes back as it is.
func Write(path string, mode fs.FileMode, fill func(io.Writer) error) error {
	f, err := Create(path, mode)
	if err != nil {
		return err
	}
	defer f.Discard()
	if err := fill(f); err != nil {
		return err
	}
	if err := f.Commit(); err != nil {
		return err
	}
	return SyncDir(filepath.Dir(path))
}

// SyncDir makes the names in dir last.
func SyncDir(dir string) error {
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
