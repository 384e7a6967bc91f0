package replay

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"time"
)

// Sessions on disk are MCAP files (https://mcap.dev/spec), version 0, profile
// "drawbar". Three channels without a schema carry the lines as they came, message
// encoding "bytes": 1 gnss, 2 controller, 3 operator. A message is one line
// without its end; log time and publish time are both its arrival in nanoseconds
// since 1970, before 1970 as the two's complement; sequence numbers the lines of
// all three channels in the order in which they arrived, from 1, through all
// parts of a session. That order counts, never the times: a clock may step.
//
// A metadata record "drawbar.session" comes before the first line (Head); one
// named "drawbar.contents" closes a packed file (Contents). Their entry crc32 is
// the CRC-32 of the others, each as key, NUL, value, NUL, in hex. The entry format
// of the first is 1; it grows where an older reader would misread.
//
// While it is recorded a file has no chunks, so that a cut takes only what was
// not yet written. Each record is then followed by a check:
//
//	0x80 | 04 00 00 00 00 00 00 00 | CRC-32 (IEEE) of the record before, from its opcode on
//
// Opcodes from 0x80 are free for applications, and other readers pass over them.
// A line that is not followed by its check does not count, unless the file ends
// there. A closed file ends as the standard says; DataEnd and footer have no check
// of ours, but carry the standard's own checksums.
//
// A packed file has the same lines in chunks (zstd, CRC), each with its own channel
// records, and the standard's summary with its chunk index. It has no message
// indexes, which would be half of it: chunks hold about a minute.
const (
	mcapMagic   = "\x89MCAP0\r\n"
	mcapProfile = "drawbar"

	recordHead  = 1 + 8         // opcode, length
	messageHead = 2 + 4 + 8 + 8 // channel, sequence, log time, publish time
	checkSize   = recordHead + 4
	footerSize  = 8 + 8 + 4
	chunkHead   = 8 + 8 + 8 + 4 + 4 + 8 // without the name of the compression

	sessionFormat = 1

	headName     = "drawbar.session"
	contentsName = "drawbar.contents"
	lineEncoding = "bytes"
)

// The opcodes, as the standard numbers them.
const (
	opHeader          = 0x01
	opFooter          = 0x02
	opSchema          = 0x03
	opChannel         = 0x04
	opMessage         = 0x05
	opChunk           = 0x06
	opMessageIndex    = 0x07
	opChunkIndex      = 0x08
	opAttachment      = 0x09
	opAttachmentIndex = 0x0A
	opStatistics      = 0x0B
	opMetadata        = 0x0C
	opMetadataIndex   = 0x0D
	opSummaryOffset   = 0x0E
	opDataEnd         = 0x0F
	opCheck           = 0x80
)

// Bounds on what a file may make the reader hold. A chunk is closed when it has
// reached its size, so it holds at most one line more.
const (
	maxRecord  = 4 << 20
	maxChunk   = 4 << 20  // unpacked
	maxWindow  = 64 << 20 // as a packer may state; no memory is taken for it
	maxMessage = messageHead + MaxCaptureLine
	maxRegain  = 64 << 10 // longest line at which reading may start again after damage
)

// MCAPReader reads a session in MCAP as a stream of events, in the order in which
// they were recorded. It needs no index and no end: a file that is cut is read to
// its last whole line. A damaged line, or of a packed file a damaged chunk, is
// told and left out; after damage to its structure reading goes on where a
// checksum shows the next whole record.
//
// It holds one record or one chunk at a time, at most 8 MiB of a hostile file.
type MCAPReader struct {
	in       window
	name     string
	reports  []*CorruptError
	streams  []channel
	chunk    chunk
	head     Head
	contents Contents
	seq      uint32
	damaged  int
	summary  int64 // where the summary begins
	last     int64 // where its latest record begins
	effort   int64 // bytes whose checksum was tried while looking for a record
	phase    phase
	checked  bool // a check was seen: every record has one
	foreign  bool // another program's file
	packed   bool
	closed   bool
	hasHead  bool
	hasEnd   bool // contents are known
}

// phase is the section of the file.
type phase uint8

const (
	phaseStart phase = iota
	phaseData
	phaseSummary
	phaseMagic // the magic bytes at the end come next
	phaseOver
)

// channel is a channel that carries one of the streams.
type channel struct {
	id     uint16
	stream Stream
}

// NewMCAPReader reads a session from r; name stands for it in errors.
func NewMCAPReader(r io.Reader, name string) *MCAPReader {
	m := &MCAPReader{in: window{r: r}, name: name}
	for s := StreamGNSS; s <= StreamOperator; s++ {
		// Known even where the records that say so are damaged.
		m.streams = append(m.streams, channel{channelOf(s), s})
	}
	return m
}

func channelOf(s Stream) uint16 { return uint16(s) + 1 }

// Next returns the next event, io.EOF after the last one, or a *CorruptError for
// a damaged place, which it has passed over. Any other error is the underlying
// reader's. The event's Line is valid until the next call.
func (m *MCAPReader) Next() (Event, error) {
	for {
		if len(m.reports) > 0 {
			first := m.reports[0]
			m.reports = m.reports[1:]
			return Event{}, first
		}
		if e, ok := m.fromChunk(); ok {
			return e, nil
		}
		if m.phase == phaseOver && len(m.reports) == 0 {
			return Event{}, io.EOF
		}
		e, ok := m.step()
		if m.in.err != nil && m.in.err != io.EOF {
			return Event{}, fmt.Errorf("read %s: %w", m.name, m.in.err)
		}
		if ok {
			return e, nil
		}
	}
}

// Seq is the number of the event that Next returned last.
func (m *MCAPReader) Seq() uint32 { return m.seq }

// Head is what the file says of itself at its start; ok is false until Next has
// come to it, which is before the first event, and where it is damaged.
func (m *MCAPReader) Head() (h Head, ok bool) { return m.head, m.hasHead }

// Contents is what a packed file says of itself at its end, after io.EOF.
func (m *MCAPReader) Contents() (c Contents, ok bool) { return m.contents, m.hasEnd }

// Closed tells, after io.EOF, that the file has its end: nothing was cut off.
func (m *MCAPReader) Closed() bool { return m.closed }

// Packed tells that the file has chunks.
func (m *MCAPReader) Packed() bool { return m.packed }

func (m *MCAPReader) report(offset, bytes int64, format string, args ...any) {
	m.damaged++
	m.reports = append(m.reports, &CorruptError{File: m.name, Offset: offset, Bytes: bytes, Why: fmt.Sprintf(format, args...)})
}

// event reads the content of a message record.
func (m *MCAPReader) event(content []byte) (e Event, ok bool) {
	id := binary.LittleEndian.Uint16(content)
	for _, c := range m.streams {
		if c.id == id {
			m.seq = binary.LittleEndian.Uint32(content[2:])
			at := int64(binary.LittleEndian.Uint64(content[6:]))
			return Event{At: time.Unix(0, at).UTC(), Stream: c.stream, Line: content[messageHead:]}, true
		}
	}
	return Event{}, false
}

// maxChannels bounds how many channels of another program are looked at.
const maxChannels = 64

// learn takes a channel record.
func (m *MCAPReader) learn(content []byte) {
	if len(content) < 4 {
		return
	}
	topic, _, ok := prefixed(content[4:])
	if !ok {
		return
	}
	id := binary.LittleEndian.Uint16(content)
	kept := m.streams[:0]
	for _, c := range m.streams {
		if c.id != id {
			kept = append(kept, c)
		}
	}
	m.streams = kept
	for s := StreamGNSS; s <= StreamOperator && len(m.streams) < maxChannels; s++ {
		if topic == s.String() {
			m.streams = append(m.streams, channel{id, s})
		}
	}
}

// prefixed reads a string with its length before it.
func prefixed(b []byte) (s string, rest []byte, ok bool) {
	if len(b) < 4 {
		return "", nil, false
	}
	n := binary.LittleEndian.Uint32(b)
	if uint64(n) > uint64(len(b)-4) {
		return "", nil, false
	}
	return string(b[4 : 4+n]), b[4+n:], true
}

// appendCheck appends the check of a record.
func appendCheck(dst, record []byte) []byte {
	dst = append(dst, opCheck, 4, 0, 0, 0, 0, 0, 0, 0)
	return binary.LittleEndian.AppendUint32(dst, crc32.ChecksumIEEE(record))
}
