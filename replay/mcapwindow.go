package replay

import (
	"hash/crc32"
	"io"
)

// windowStart is what a window holds at first; it grows to the longest record.
const windowStart = 64 << 10

// window is the part of a stream that is looked at. It keeps the offset of its
// start and the checksum of all that was dropped before it.
type window struct {
	r      io.Reader
	err    error // of r; io.EOF at its end
	buf    []byte
	lo, hi int
	off    int64
	crc    uint32
}

// need tells whether the window holds n bytes, reading what is missing.
func (w *window) need(n int) bool {
	if w.hi-w.lo >= n {
		return true
	}
	if len(w.buf)-w.lo < n {
		w.room(n)
	}
	idle := 0
	for w.hi-w.lo < n && w.err == nil {
		var k int
		k, w.err = w.r.Read(w.buf[w.hi:])
		w.hi += k
		if idle++; k > 0 {
			idle = 0
		} else if idle > 100 && w.err == nil {
			w.err = io.ErrNoProgress
		}
	}
	return w.hi-w.lo >= n
}

// room moves the window to the start of its buffer and makes that large enough.
func (w *window) room(n int) {
	to := w.buf
	if size := max(len(w.buf), windowStart); n > len(w.buf) {
		for size < n {
			size *= 2
		}
		to = make([]byte, size)
	}
	w.hi = copy(to, w.buf[w.lo:w.hi])
	w.buf, w.lo = to, 0
}

func (w *window) bytes() []byte { return w.buf[w.lo:w.hi] }

// drop moves the window's start on by n bytes that it holds.
func (w *window) drop(n int) {
	w.crc = crc32.Update(w.crc, crc32.IEEETable, w.buf[w.lo:w.lo+n])
	w.lo += n
	w.off += int64(n)
}

// skip moves the window's start on by n bytes, or to the end.
func (w *window) skip(n int64) {
	for n > 0 && w.need(1) {
		k := int(min(n, int64(w.hi-w.lo)))
		w.drop(k)
		n -= int64(k)
	}
}
