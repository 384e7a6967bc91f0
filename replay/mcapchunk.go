package replay

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"

	"github.com/klauspost/compress/zstd"
)

// chunk is an unpacked chunk that is being read.
type chunk struct {
	data       []byte
	at         int
	off        int64 // of the chunk record in the file
	size       int64 // of that record
	start, end uint64
	sum        uint32
	unzstd     *zstd.Decoder
}

// takeChunk reads the chunk record at the window's start.
func (m *MCAPReader) takeChunk(content []byte) {
	m.packed = true
	size := recordHead + len(content)
	off := m.in.off
	why := m.loadChunk(content)
	if why != "" {
		m.chunk.data = m.chunk.data[:0]
		if _, _, bad := m.headAt(size); bad != "" && m.in.need(size+1) {
			m.regain(why)
			return
		}
		m.report(off, int64(size), "%s; its lines are lost", why)
	}
	m.in.drop(size)
}

// loadChunk unpacks a chunk and goes through it once, so that reading it cannot
// fail later.
func (m *MCAPReader) loadChunk(content []byte) (why string) {
	c := &m.chunk
	c.at, c.off, c.size = 0, m.in.off, int64(recordHead+len(content))
	data, why := m.unpack(content, c)
	if why != "" {
		return why
	}
	c.data = data
	if c.sum == 0 && !m.foreign {
		return "a chunk without a checksum"
	}
	var first, last uint64
	n := 0
	for at := 0; at < len(data); {
		op, record, ok := inner(data[at:])
		if !ok {
			return "a chunk with a damaged record"
		}
		at += recordHead + len(record)
		if op == opMessage {
			t := binary.LittleEndian.Uint64(record[6:])
			if n++; n == 1 {
				first, last = t, t
			}
			first, last = min(first, t), max(last, t)
		}
	}
	if n > 0 && (first != c.start || last != c.end) {
		m.report(c.off, 0, "the times in the head of a chunk are damaged, its lines are not")
	}
	return ""
}

// unpack reads a chunk record's content. It uses c's memory for the result.
func (m *MCAPReader) unpack(content []byte, c *chunk) (data []byte, why string) {
	const whyHead = "a chunk with a damaged head"
	c.start = binary.LittleEndian.Uint64(content)
	c.end = binary.LittleEndian.Uint64(content[8:])
	size := binary.LittleEndian.Uint64(content[16:])
	c.sum = binary.LittleEndian.Uint32(content[24:])
	how, rest, ok := prefixed(content[28:])
	if !ok || len(rest) < 8 || binary.LittleEndian.Uint64(rest) != uint64(len(rest)-8) {
		return nil, whyHead
	}
	if size > maxChunk {
		return nil, fmt.Sprintf("a chunk of %d bytes, more than %d", size, maxChunk)
	}
	rest = rest[8:]
	switch how {
	case "":
		data = append(c.data[:0], rest...)
	case "zstd":
		var err error
		if data, err = m.decoder().DecodeAll(rest, c.data[:0]); err != nil {
			return nil, "a damaged chunk"
		}
	default:
		return nil, fmt.Sprintf("a chunk packed by %.20q, want zstd", how)
	}
	if uint64(len(data)) != size {
		return nil, whyHead
	}
	if c.sum != 0 && crc32.ChecksumIEEE(data) != c.sum {
		return nil, "the checksum of a chunk differs"
	}
	return data, ""
}

// decoder is made at the first chunk.
func (m *MCAPReader) decoder() *zstd.Decoder {
	if m.chunk.unzstd == nil {
		d, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true),
			zstd.WithDecoderMaxMemory(maxChunk), zstd.WithDecoderMaxWindow(maxWindow))
		if err != nil {
			panic("replay: " + err.Error()) // options written here
		}
		m.chunk.unzstd = d
	}
	return m.chunk.unzstd
}

// inner reads a record within a chunk.
func inner(b []byte) (op byte, content []byte, ok bool) {
	if len(b) < recordHead {
		return 0, nil, false
	}
	op = b[0]
	n := binary.LittleEndian.Uint64(b[1:])
	if n > uint64(len(b)-recordHead) || op == opMessage && n < messageHead {
		return 0, nil, false
	}
	return op, b[recordHead : recordHead+int(n)], true
}

// fromChunk is the next event of the chunk in hand.
func (m *MCAPReader) fromChunk() (e Event, ok bool) {
	c := &m.chunk
	for c.at < len(c.data) {
		op, content, _ := inner(c.data[c.at:])
		c.at += recordHead + len(content)
		switch op {
		case opChannel:
			m.learn(content)
		case opMessage:
			if e, ok := m.event(content); ok {
				return e, true
			}
		}
	}
	return Event{}, false
}
