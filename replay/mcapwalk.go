package replay

import (
	"encoding/binary"
	"hash/crc32"
	"math"
)

const (
	whyCut    = "the file ends within a record"
	whyRecord = "no record starts here"
)

// step takes the record at the window's start.
func (m *MCAPReader) step() (e Event, ok bool) {
	switch {
	case m.phase == phaseStart:
		m.start()
		return Event{}, false
	case !m.in.need(1):
		m.phase = phaseOver
		return Event{}, false
	case m.phase == phaseMagic:
		m.finish()
		return Event{}, false
	case m.phase == phaseSummary && m.in.bytes()[0] == mcapMagic[0]:
		m.report(m.last, 0, "the footer is damaged")
		m.finish()
		return Event{}, false
	}
	op, n, why := m.headAt(0)
	if why != "" {
		m.regain(why)
		return Event{}, false
	}
	if m.foreign && (op == opAttachment || !standard(op)) {
		m.in.skip(recordHead + int64(n))
		return Event{}, false
	}
	if !m.in.need(recordHead + n) {
		m.regain(whyCut)
		return Event{}, false
	}
	return m.take(op, n)
}

// start reads the magic bytes.
func (m *MCAPReader) start() {
	m.phase = phaseData
	switch n := len(mcapMagic); {
	case !m.in.need(1):
		m.report(0, 0, "the file is empty")
	case m.in.need(n) && string(m.in.bytes()[:n]) == mcapMagic:
		m.in.drop(n)
	case m.in.need(n+1) && m.in.bytes()[n] == opHeader:
		m.report(0, int64(n), "the file does not start as MCAP does")
		m.in.drop(n)
	default:
		m.regain("the file does not start as MCAP does")
	}
}

// finish reads the magic bytes at the end.
func (m *MCAPReader) finish() {
	n := len(mcapMagic)
	if !m.in.need(n) || string(m.in.bytes()[:n]) != mcapMagic {
		m.loseRest("the file does not end as MCAP does")
		return
	}
	m.closed = true
	m.in.drop(n)
	if m.in.need(1) {
		m.loseRest("more bytes after the end")
	}
	m.phase = phaseOver
}

// loseRest passes over all that is left.
func (m *MCAPReader) loseRest(why string) {
	from := m.in.off
	m.in.skip(math.MaxInt64)
	m.report(from, m.in.off-from, "%s", why)
	m.phase = phaseOver
}

// headAt reads opcode and length at a place in the window; why says what is wrong
// with them.
func (m *MCAPReader) headAt(at int) (op byte, n int, why string) {
	if !m.in.need(at + recordHead) {
		return 0, 0, whyCut
	}
	b := m.in.bytes()[at:]
	op = b[0]
	long := binary.LittleEndian.Uint64(b[1:])
	if m.foreign && (op == opAttachment || op != 0 && !standard(op)) && long < 1<<40 && long < math.MaxInt {
		return op, int(long), ""
	}
	if long > maxRecord {
		return 0, 0, whyRecord
	}
	n = int(long)
	if !m.fits(op, n) {
		return 0, 0, whyRecord
	}
	return op, n, ""
}

func standard(op byte) bool { return op <= opDataEnd }

// fits tells whether a record may be here.
func (m *MCAPReader) fits(op byte, n int) bool {
	inData := m.phase != phaseSummary
	switch op {
	case opHeader:
		return inData && n >= 8
	case opFooter:
		return !inData && n == footerSize
	case opSchema:
		return n >= 12 && m.foreign
	case opChannel:
		return n >= 12
	case opMessage:
		return inData && n >= messageHead && n <= maxMessage
	case opChunk:
		return inData && n >= chunkHead
	case opMessageIndex:
		return inData && n >= 6
	case opMetadata:
		return inData && n >= 8
	case opDataEnd:
		return inData && n == 4
	case opAttachment, opAttachmentIndex:
		return m.foreign
	case opChunkIndex, opStatistics, opMetadataIndex, opSummaryOffset:
		return !inData && n >= 8
	}
	return false
}

// check is what follows a record.
type check uint8

const (
	checkNone check = iota // something else
	checkGood
	checkBad   // a check that says otherwise
	checkWorn  // the right checksum in a damaged frame
	checkShort // the end of the file, within the right check or before it
)

// checkAfter compares a record of size bytes at the window's start with its check.
func (m *MCAPReader) checkAfter(size int) check {
	m.in.need(size + checkSize)
	b := m.in.bytes()
	var room [checkSize]byte
	want := appendCheck(room[:0], b[:size])
	got := b[size:]
	if len(got) < checkSize {
		if string(got) == string(want[:len(got)]) {
			return checkShort
		}
		return checkNone
	}
	frame := string(got[:recordHead]) == string(want[:recordHead])
	sum := string(got[recordHead:checkSize]) == string(want[recordHead:])
	switch {
	case frame && sum:
		return checkGood
	case frame:
		return checkBad
	case sum:
		return checkWorn
	}
	return checkNone
}

// take reads the record at the window's start, which is there as a whole.
func (m *MCAPReader) take(op byte, n int) (e Event, ok bool) {
	size := recordHead + n
	if m.phase == phaseSummary || op == opDataEnd {
		m.takeEnd(op, n)
		return Event{}, false
	}
	content := m.in.bytes()[recordHead:size]
	if op == opChunk {
		m.takeChunk(content)
		return Event{}, false
	}
	switch m.checkAfter(size) {
	case checkGood:
		m.checked = true
		size += checkSize
	case checkBad:
		m.regainWithin("the checksum of a "+recordName(op)+" differs", size+checkSize)
		return Event{}, false
	case checkWorn:
		m.report(m.in.off+int64(size), checkSize, "the check of a %s is damaged, the %s is not", recordName(op), recordName(op))
		size += checkSize
	case checkShort:
		if rest := len(m.in.bytes()) - size; rest > 0 {
			m.report(m.in.off+int64(size), int64(rest), "%s, after the last whole line", whyCut)
			size += rest
		}
	case checkNone:
		if m.checked || op == opMessage && !m.foreign {
			m.regain("a " + recordName(op) + " without its check")
			return Event{}, false
		}
		if op == opHeader {
			m.profile(content, m.in.off)
		}
		if !m.followed(size) {
			m.regain("a damaged " + recordName(op))
			return Event{}, false
		}
	}
	content = m.in.bytes()[recordHead : recordHead+n]
	off := m.in.off
	m.in.drop(size)
	return m.read(op, content, off)
}

// read takes what a sound record of the data section says.
func (m *MCAPReader) read(op byte, content []byte, off int64) (e Event, ok bool) {
	switch op {
	case opHeader:
		m.profile(content, off)
	case opChannel:
		m.learn(content)
	case opMetadata:
		m.metadata(content, off)
	case opMessage:
		return m.event(content)
	}
	return Event{}, false
}

// profile takes a header's content.
func (m *MCAPReader) profile(content []byte, off int64) {
	if profile, _, ok := prefixed(content); ok && off == int64(len(mcapMagic)) {
		m.foreign = profile != mcapProfile
	}
}

// followed tells whether behind size bytes, which no check vouches for, there is
// another record or the end of the file.
func (m *MCAPReader) followed(size int) bool {
	_, _, why := m.headAt(size)
	return why == "" || why == whyCut
}

// takeEnd reads DataEnd and what follows it.
func (m *MCAPReader) takeEnd(op byte, n int) {
	size := recordHead + n
	was := m.phase
	m.phase = phaseSummary
	if op != opFooter && !m.followed(size) && !(m.in.need(size+1) && m.in.bytes()[size] == mcapMagic[0]) {
		m.phase = was
		m.regain(whyRecord)
		return
	}
	content := m.in.bytes()[recordHead:size]
	m.last = m.in.off
	switch op {
	case opDataEnd:
		// Damage that is told already explains a difference.
		if sum := binary.LittleEndian.Uint32(content); sum != 0 && sum != m.in.crc && m.damaged == 0 {
			m.report(int64(len(mcapMagic)), 0, "the checksum of bytes 0 to %d differs, outside the lines", m.in.off+int64(size))
		}
		m.in.drop(size)
		m.in.crc = 0
		m.summary = m.in.off
	case opFooter:
		sum := binary.LittleEndian.Uint32(content[16:])
		if got := crc32.Update(m.in.crc, crc32.IEEETable, m.in.bytes()[:size-4]); sum != 0 && sum != got && m.damaged == 0 {
			m.report(m.summary, 0, "the checksum of the summary differs; the lines are not touched")
		}
		m.phase = phaseMagic
		m.in.drop(size)
	default:
		m.in.drop(size)
	}
}

func recordName(op byte) string {
	switch op {
	case opHeader:
		return "header"
	case opChannel:
		return "channel"
	case opMetadata:
		return "metadata record"
	case opMessage:
		return "line"
	}
	return "record"
}
