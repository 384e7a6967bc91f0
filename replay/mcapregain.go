package replay

import (
	"encoding/binary"
	"math"
)

// regain passes over the damage at the window's start, to the next place where a
// checksum shows a whole record, and tells of it.
func (m *MCAPReader) regain(why string) { m.regainWithin(why, math.MaxInt) }

// regainWithin goes on behind size bytes if no whole record is among them.
func (m *MCAPReader) regainWithin(why string, size int) {
	from := m.in.off
	if m.phase == phaseSummary && why == whyCut {
		from = m.last // its length may be what is damaged
	}
	end := int64(math.MaxInt64)
	if int64(size) < end-from {
		end = from + int64(size)
	}
	if m.in.need(1) {
		m.in.drop(1)
	}
	for m.in.need(recordHead) {
		b := m.in.bytes()
		at := 0
		for at+recordHead <= len(b) && m.in.off+int64(at) < end && !hopeful(b[at:]) {
			at++
		}
		m.in.drop(at)
		if m.in.off == end {
			m.report(from, m.in.off-from, "%s", why)
			return
		}
		if !m.in.need(recordHead) || !hopeful(m.in.bytes()) {
			continue
		}
		if m.effort > 64<<20+8*m.in.off {
			break // a file made to keep its reader busy
		}
		// What was taken for the end may have been damage.
		was := m.phase
		m.phase = phaseData
		sound := m.sound()
		if !sound {
			m.phase = was
		}
		if sound {
			if why == whyCut {
				why = "the length of a record is damaged"
			}
			m.report(from, m.in.off-from, "%s", why)
			return
		}
		m.in.drop(1)
	}
	m.in.skip(end - m.in.off)
	m.report(from, m.in.off-from, "%s", why)
	if m.in.off != end {
		m.phase = phaseOver
	}
}

// hopeful tells whether a record of bearable length may start here.
func hopeful(b []byte) bool {
	return b[0] != 0 && b[0] <= opDataEnd && b[4]|b[5]|b[6]|b[7]|b[8] == 0
}

// sound tells whether the record at the window's start is shown to be whole by a
// checksum, or by standing exactly at the end.
func (m *MCAPReader) sound() bool {
	b := m.in.bytes()
	op, n := b[0], int(binary.LittleEndian.Uint32(b[1:]))
	size := recordHead + n
	if n > maxRecord || op != opFooter && !m.fits(op, n) {
		return false
	}
	switch op {
	case opFooter:
		end := size + len(mcapMagic)
		if n != footerSize || !m.in.need(end) || m.in.need(end+1) || string(m.in.bytes()[size:end]) != mcapMagic {
			return false
		}
		m.phase = phaseSummary
		return true
	case opChunk:
		if !m.in.need(size) {
			return false
		}
		m.effort += int64(size)
		var c chunk
		if _, why := m.unpack(m.in.bytes()[recordHead:size], &c); why != "" {
			return false
		}
		return c.sum != 0
	case opMetadata:
		if m.in.need(size) {
			m.effort += int64(size)
			if _, _, ok := parsePairs(m.in.bytes()[recordHead:size]); ok {
				return true
			}
		}
	}
	if n > maxRegain || !m.in.need(size+checkSize) {
		return false
	}
	if b = m.in.bytes()[size:]; b[0] != opCheck || b[1] != 4 {
		return false
	}
	m.effort += int64(size)
	return m.checkAfter(size) == checkGood
}
