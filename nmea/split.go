package nmea

import "bytes"

const (
	// maxLine is the longest piece without a line feed that a Splitter holds.
	// Real sentences stay below 130 bytes; the rest is for binary protocols
	// that share the port.
	maxLine = 4096
	// maxCarry is how far from the end of an overlong piece a sentence may have
	// begun and still be kept whole.
	maxCarry = 1024
)

// Splitter cuts a byte stream into lines. A line feed ends a line, and carriage
// returns before it are dropped (LF, CR LF, CR CR LF). However the bytes are
// chopped into calls of Push, the lines are the same. The zero value is ready.
//
// A piece of more than 4096 bytes without a line feed is handed out as it is,
// nothing dropped, and cutting goes on. If its last '$' or '!' lies in its last
// 1024 bytes the cut is made there, so that a sentence is not cut in two.
type Splitter struct {
	held []byte // at most maxLine bytes without a line feed
}

// Push takes the next bytes and hands out each line that they complete. The
// line is valid during the call of emit only; emit must not call the Splitter.
func (s *Splitter) Push(b []byte, emit func(line []byte)) {
	for len(b) > 0 {
		if len(s.held) == 0 {
			n := cutLength(b)
			if n == 0 {
				s.held = append(s.held, b...)
				return
			}
			emitPiece(b[:n], emit)
			b = b[n:]
			continue
		}
		// Take no more than what decides the cut: up to the line feed, or one
		// byte over the limit.
		take := b[:min(len(b), maxLine+1-len(s.held))]
		if i := bytes.IndexByte(take, '\n'); i >= 0 {
			take = take[:i+1]
		}
		s.held = append(s.held, take...)
		b = b[len(take):]
		if n := cutLength(s.held); n > 0 {
			emitPiece(s.held[:n], emit)
			s.held = s.held[:copy(s.held, s.held[n:])]
		}
	}
}

// Flush hands out what is left without a line end, if anything is.
func (s *Splitter) Flush(emit func(line []byte)) {
	line := trimCR(s.held)
	s.held = s.held[:0]
	if len(line) > 0 {
		emit(line)
	}
}

// cutLength is the number of bytes of the first piece of b, its line feed
// included, or 0 if the piece may still grow.
func cutLength(b []byte) int {
	if i := bytes.IndexByte(b[:min(len(b), maxLine+1)], '\n'); i >= 0 {
		return i + 1
	}
	if len(b) <= maxLine {
		return 0
	}
	near := b[maxLine-maxCarry : maxLine]
	if i := max(bytes.LastIndexByte(near, '$'), bytes.LastIndexByte(near, '!')); i >= 0 {
		return maxLine - maxCarry + i
	}
	return maxLine
}

func emitPiece(piece []byte, emit func(line []byte)) {
	if n := len(piece) - 1; piece[n] == '\n' {
		piece = trimCR(piece[:n])
	}
	emit(piece)
}

func trimCR(b []byte) []byte {
	for len(b) > 0 && b[len(b)-1] == '\r' {
		b = b[:len(b)-1]
	}
	return b
}
