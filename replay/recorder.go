package replay

import (
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"math"

	"github.com/foxglove/mcap/go/mcap"
)

// recordAhead is how many bytes a Recorder holds before it writes by itself.
const recordAhead = 32 << 10

// Recorder appends events to a session in MCAP. It only ever appends, whole
// records at a time: whatever cuts the file, every line written before the cut is
// read back.
//
// Append holds the line in memory, Flush hands it to the operating system, where it
// survives the end of the process, Sync brings it to the disk, where it survives
// the end of power. A caller that processes an event has flushed it before.
//
// After a fault of the file it records no more: every call returns the same
// *WriteError. The recording goes on in the next part, a new file whose Head.First
// is Next of this one plus the lines that were not recorded in between.
//
// It is for one goroutine. Times before 1677-09-22 or after 2262-04-11 do not fit
// into the file and are refused, and so are lines longer than MaxCaptureLine; a
// refused line is no fault of the file.
type Recorder struct {
	w       io.Writer
	name    string
	lib     *mcap.Writer
	buf     sliceWriter
	ends    []int // of the whole records in buf
	msg     mcap.Message
	err     error
	seq     uint32 // of the next line
	written int64
	sum     uint32
	lines   int // in the file and in buf
	held    int // of these, those in buf
	closed  bool
}

// WriteError is a fault of the file under a Recorder.
type WriteError struct {
	File  string
	Err   error // such as syscall.ENOSPC
	Whole int64 // bytes of the file up to the last whole record
	Lines int   // recorded in them
	Lost  int   // accepted by Append since, and not recorded
	Sync  bool  // it was the sync: lines since the last one may not be on the disk
}

// Error says what was lost.
func (e *WriteError) Error() string {
	if e.Sync {
		return fmt.Sprintf("sync %s: %v", e.File, e.Err)
	}
	return fmt.Sprintf("write %s at byte %d: %v; %d lines were not recorded", e.File, e.Whole, e.Err, e.Lost)
}

// Unwrap is the operating system's error.
func (e *WriteError) Unwrap() error { return e.Err }

// ErrRefused is wrapped by the error of Append for a line that no session can
// hold.
var ErrRefused = errors.New("line refused")

var errClosed = errors.New("the recording is closed")

// sliceWriter gathers what the MCAP writer writes.
type sliceWriter struct{ b []byte }

func (s *sliceWriter) Write(p []byte) (int, error) {
	s.b = append(s.b, p...)
	return len(p), nil
}

// NewRecorder begins a recording in the empty file w; name stands for it in
// errors. The start is flushed.
func NewRecorder(w io.Writer, name string, head Head) (*Recorder, error) {
	r := &Recorder{w: w, name: name, seq: max(head.First, 1)}
	head.First, head.Part = r.seq, max(head.Part, 1)
	var err error
	if r.lib, err = mcap.NewWriter(&r.buf, &mcap.WriterOptions{}); err != nil {
		return nil, fmt.Errorf("begin %s: %w", name, err)
	}
	from := len(mcapMagic)
	next := func(err error) error {
		if err == nil {
			r.endRecord(from)
			from = len(r.buf.b)
		}
		return err
	}
	err = next(r.lib.WriteHeader(&mcap.Header{Profile: mcapProfile}))
	if err == nil {
		err = next(r.lib.WriteMetadata(metadataOf(headName, head.pairs())))
	}
	for s := StreamGNSS; s <= StreamOperator && err == nil; s++ {
		err = next(r.lib.WriteChannel(channelRecord(s)))
	}
	if err != nil {
		return nil, fmt.Errorf("begin %s: %w", name, err)
	}
	return r, r.Flush()
}

func channelRecord(s Stream) *mcap.Channel {
	return &mcap.Channel{ID: channelOf(s), Topic: s.String(), MessageEncoding: lineEncoding}
}

// endRecord puts the check behind the record that begins at from.
func (r *Recorder) endRecord(from int) {
	r.buf.b = appendCheck(r.buf.b, r.buf.b[from:])
	r.ends = append(r.ends, len(r.buf.b))
}

// Next is the number that the next line will have.
func (r *Recorder) Next() uint32 { return r.seq }

// Lines is how many lines the operating system has taken.
func (r *Recorder) Lines() int { return r.lines - r.held }

// Bytes is how many bytes of whole records the operating system has taken.
func (r *Recorder) Bytes() int64 { return r.written }

// Append records one event. An error that wraps ErrRefused concerns this line
// alone.
func (r *Recorder) Append(e Event) error {
	if r.err != nil {
		return r.err
	}
	if r.closed {
		return errClosed
	}
	at, err := logTime(e)
	if err != nil {
		return fmt.Errorf("record a line in %s: %w", r.name, err)
	}
	from := len(r.buf.b)
	r.msg = mcap.Message{ChannelID: channelOf(e.Stream), Sequence: r.seq, LogTime: at, PublishTime: at, Data: e.Line}
	if err := r.lib.WriteMessage(&r.msg); err != nil {
		r.buf.b = r.buf.b[:from]
		return fmt.Errorf("record a line in %s: %w", r.name, err)
	}
	r.msg.Data = nil
	r.endRecord(from)
	r.seq++
	r.lines++
	r.held++
	if len(r.buf.b) >= recordAhead {
		return r.Flush()
	}
	return nil
}

// logTime is the arrival of an event as it stands in the file.
func logTime(e Event) (uint64, error) {
	s := e.At.Unix()
	const most = math.MaxInt64/1_000_000_000 - 1
	switch {
	case s < -most || s > most:
		return 0, fmt.Errorf("%w: time %s, want years 1678 to 2261", ErrRefused, stampOf(e.At))
	case len(e.Line) > MaxCaptureLine:
		return 0, fmt.Errorf("%w: %d bytes, want at most %d", ErrRefused, len(e.Line), MaxCaptureLine)
	case e.Stream > StreamOperator:
		return 0, fmt.Errorf("%w: stream %d, want gnss, controller or operator", ErrRefused, e.Stream)
	}
	return uint64(e.At.UnixNano()), nil
}

// Flush hands everything to the operating system.
func (r *Recorder) Flush() error {
	if r.err != nil || len(r.buf.b) == 0 {
		return r.err
	}
	n, err := r.w.Write(r.buf.b)
	if err == nil && n < len(r.buf.b) {
		err = io.ErrShortWrite
	}
	if err != nil {
		return r.fail(min(max(n, 0), len(r.buf.b)), err)
	}
	r.sum = crc32.Update(r.sum, crc32.IEEETable, r.buf.b)
	r.written += int64(n)
	r.buf.b, r.ends, r.held = r.buf.b[:0], r.ends[:0], 0
	return nil
}

// fail ends recording after n bytes of the buffer were written, and takes what is
// no whole record off the file where it can.
func (r *Recorder) fail(n int, cause error) error {
	whole, lost := 0, 0
	for _, end := range r.ends {
		if end <= n {
			whole = end
		} else {
			lost++
		}
	}
	lost = min(lost, r.held)
	r.written += int64(whole)
	if f, ok := r.w.(interface{ Truncate(int64) error }); ok && whole < n {
		_ = f.Truncate(r.written) // a part of a record does no harm, it is only untidy
	}
	r.lines -= lost
	r.buf.b, r.ends, r.held = nil, nil, 0
	r.err = &WriteError{File: r.name, Err: cause, Whole: r.written, Lines: r.lines, Lost: lost}
	return r.err
}

// Sync flushes and, where w is a file, brings it to the disk.
func (r *Recorder) Sync() error {
	if err := r.Flush(); err != nil {
		return err
	}
	f, ok := r.w.(interface{ Sync() error })
	if !ok {
		return nil
	}
	if err := f.Sync(); err != nil {
		r.err = &WriteError{File: r.name, Err: err, Whole: r.written, Lines: r.lines, Sync: true}
	}
	return r.err
}

// Close writes the end of the file and syncs it. The file itself stays open. Any
// other program can then read it without an index.
func (r *Recorder) Close() error {
	if r.closed {
		return r.err
	}
	r.closed = true
	if err := r.Flush(); err != nil {
		return err
	}
	r.buf.b = appendEnd(r.buf.b, r.sum)
	r.ends = append(r.ends, len(r.buf.b))
	return r.Sync()
}

// appendEnd appends DataEnd and a footer without a summary.
func appendEnd(dst []byte, sum uint32) []byte {
	le := func(n int, v uint64) {
		for range n {
			dst = append(dst, byte(v))
			v >>= 8
		}
	}
	le(1, opDataEnd)
	le(8, 4)
	le(4, uint64(sum))
	from := len(dst)
	le(1, opFooter)
	le(8, footerSize)
	le(16, 0)
	le(4, uint64(crc32.ChecksumIEEE(dst[from:])))
	return append(dst, mcapMagic...)
}
