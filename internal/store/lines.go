package store

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// readLines hands every line of a file of numbered lines to take, without blanks around
// it; a blank line has a number and is not handed on. Of a line longer than most bytes
// only its beginning is given, with long. There is nothing to read where there is no file.
func readLines(path string, most int, take func(n int, text []byte, long bool)) error {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	return eachLine(f, path, most, take)
}

// eachLine is readLines of what is open already; name is for errors.
func eachLine(r io.Reader, name string, most int, take func(n int, text []byte, long bool)) error {
	b := bufio.NewReaderSize(r, most+2)
	for n := 1; ; n++ {
		text, err := b.ReadSlice('\n')
		long := errors.Is(err, bufio.ErrBufferFull)
		if text = bytes.TrimSpace(text); len(text) > 0 {
			take(n, text, long || len(text) > most)
		}
		for errors.Is(err, bufio.ErrBufferFull) { // the rest of it
			_, err = b.ReadSlice('\n')
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("read %s: %w", name, err)
		}
	}
}
