package export

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// file is written beside its final name and takes that name only when it is
// whole and on the disk: a reader sees the old file or the new one, never a part.
type file struct {
	*bufio.Writer
	tmp  *os.File
	path string
	done bool
}

// create begins the file name in dir, which must exist.
func create(dir, name string) (*file, error) {
	tmp, err := os.CreateTemp(dir, "."+name+".*.tmp")
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", filepath.Join(dir, name), err)
	}
	return &file{Writer: bufio.NewWriterSize(tmp, 64<<10), tmp: tmp, path: filepath.Join(dir, name)}, nil
}

// commit brings the file to the disk and gives it its name.
func (f *file) commit() error {
	err := f.Flush()
	if err == nil {
		err = f.tmp.Chmod(0o644) // as any other result; CreateTemp makes secrets
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

// discard removes what was written, unless it was committed.
func (f *file) discard() {
	if f.done {
		return
	}
	f.done = true
	f.tmp.Close()
	os.Remove(f.tmp.Name())
}

// syncDir makes the names in dir last.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sync %s: %w", dir, err)
	}
	defer d.Close()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("sync %s: %w", dir, err)
	}
	return nil
}
