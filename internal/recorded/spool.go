package recorded

import (
	"fmt"
	"io"
	"os"
)

// rewindable makes sure that the input can be read from its start twice.
func (in *input) rewindable(stdin io.Reader) error {
	r := stdin
	if in.file != nil {
		if _, err := in.file.Seek(0, io.SeekStart); err == nil {
			return nil
		}
		r = in.file
		defer in.file.Close()
	}
	spool, err := spoolInput(r)
	if err != nil {
		in.file = nil
		return fmt.Errorf("keep %s to read it twice: %w", in.name, err)
	}
	in.file = spool
	return nil
}

// spoolInput keeps what cannot be rewound in a file without a name.
func spoolInput(r io.Reader) (*os.File, error) {
	f, err := os.CreateTemp("", "drawbar-*")
	if err != nil {
		return nil, err
	}
	if err = os.Remove(f.Name()); err == nil {
		_, err = io.Copy(f, r)
	}
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// counted tells of what passes through it, until it is halted.
type counted struct {
	r    io.Reader
	tell func(int)
	halt func() error
}

func (c counted) Read(b []byte) (int, error) {
	if err := c.halt(); err != nil {
		return 0, err
	}
	n, err := c.r.Read(b)
	c.tell(n)
	return n, err
}

// countedFile tells of what is read of a file; what is read again after a rewind
// counts once.
type countedFile struct {
	*os.File
	tell func(int)
	read int64
}

func (c *countedFile) Read(b []byte) (int, error) {
	n, err := c.File.Read(b)
	c.read += int64(n)
	c.tell(n)
	return n, err
}

func (c *countedFile) Seek(offset int64, whence int) (int64, error) {
	at, err := c.File.Seek(offset, whence)
	if err == nil {
		c.tell(int(at - c.read))
		c.read = at
	}
	return at, err
}
