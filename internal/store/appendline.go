package store

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"drawbar/internal/whole"
)

// appendPatience is how long an append waits for another program's.
const appendPatience = 3 * time.Second

// appendLine puts one line at the end of a file of lines, which is made where it is not
// there, and brings it to the disk. check looks at the file while nobody else may
// append; its error refuses the line. number is that of the line in the file, from 1. A
// file that ends within a line, as after a power cut, is given its line end first, so
// that the cut line swallows nothing.
func appendLine(path string, line []byte, check func() error) (number int, err error) {
	if len(line) == 0 || bytes.ContainsAny(line, "\r\n") {
		return 0, errors.New("the line is empty or has a line end within it")
	}
	if !exists(path) { // what is refused leaves no empty file
		if err := check(); err != nil {
			return 0, err
		}
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR|os.O_APPEND, 0o644)
	if err != nil {
		return 0, err
	}
	defer func() {
		if closeErr := f.Close(); err == nil {
			err = closeErr
		}
	}()
	if err := lockWithin(f, appendPatience); err != nil {
		return 0, err
	}
	lines, cut, err := countLines(f)
	if err != nil {
		return 0, err
	}
	if err := check(); err != nil {
		return 0, err
	}
	text := append(bytes.Clone(line), '\n')
	if cut {
		text = append([]byte{'\n'}, text...)
	}
	// one write: whoever is killed in it leaves the line or a beginning of it, which
	// says nothing
	if _, err := f.Write(text); err != nil {
		return 0, err
	}
	if err := f.Sync(); err != nil {
		return 0, err
	}
	return lines + 1, whole.SyncDir(filepath.Dir(path))
}

// countLines counts the lines of a file, with one at its end that has no line end.
func countLines(r io.Reader) (n int, cut bool, err error) {
	buffer := make([]byte, 32<<10)
	for {
		k, err := r.Read(buffer)
		if k > 0 {
			n += bytes.Count(buffer[:k], []byte{'\n'})
			cut = buffer[k-1] != '\n'
		}
		if err == io.EOF {
			if cut {
				n++
			}
			return n, cut, nil
		}
		if err != nil {
			return 0, false, err
		}
	}
}

// lockWithin locks a file, waiting so long for another program to let go.
func lockWithin(f *os.File, patience time.Duration) (err error) {
	const pause = 5 * time.Millisecond
	for until := time.Now().Add(patience); ; time.Sleep(pause) {
		if err = lockFile(f); err == nil || !errors.Is(err, ErrInUse) || time.Now().After(until) {
			break
		}
	}
	if errors.Is(err, ErrInUse) {
		return fmt.Errorf("another program is writing to %s; try again", f.Name())
	}
	return err
}
