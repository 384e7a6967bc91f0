package nmea

import (
	"bytes"
	"encoding/binary"
)

// verdict says what a candidate in a line is.
type verdict uint8

const (
	verdictNone verdict = iota // no checksum where one must stand
	verdictGood                // "*HH" with the right XOR
	verdictBad                 // ends in "*HH" with the wrong XOR
)

// candidate is the text from a '$' or '!' to the next one or the line's end,
// cut after the checksum if it has one.
type candidate struct {
	text    []byte
	verdict verdict
}

// mayBeDamaged tells whether a sentence may have been lost here: the empty
// candidate of "$$" and a stray '$' in binary data are too short to be one.
func (c candidate) mayBeDamaged() bool { return c.verdict != verdictGood && len(c.text) >= 8 }

// body is the text between the '$' or '!' and the '*' of the checksum.
func (c candidate) body() []byte { return c.text[1 : len(c.text)-3] }

// scanner walks over the candidates of one line. Its work grows with the length
// of the line only, whatever the line holds.
type scanner struct {
	rest   []byte // from the next '$' or '!' on
	dollar int    // where the first '$' of rest stands, len(rest) if nowhere
}

func scan(line []byte) scanner {
	var s scanner
	s.advance(line)
	return s
}

// advance moves to the first '$' or '!' of b.
func (s *scanner) advance(b []byte) {
	s.dollar = indexOrEnd(b, '$')
	s.skip(b)
}

// skip moves to the first '$' or '!' of b, knowing that its first '$' stands at
// s.dollar: a '$' far away is not looked for again for every '!' before it.
func (s *scanner) skip(b []byte) {
	start := indexOrEnd(b[:s.dollar], '!')
	s.rest = b[start:]
	s.dollar -= start
}

// next is the next candidate; ok is false at the end of the line.
func (s *scanner) next() (c candidate, ok bool) {
	if len(s.rest) == 0 {
		return candidate{}, false
	}
	text := s.rest
	if s.dollar == 0 {
		s.advance(text[1:])
	} else {
		s.dollar--
		s.skip(text[1:])
	}
	return judge(text[:len(text)-len(s.rest)]), true
}

func indexOrEnd(b []byte, c byte) int {
	if i := bytes.IndexByte(b, c); i >= 0 {
		return i
	}
	return len(b)
}

// judge looks for the checksum of a candidate. The XOR runs over every byte
// between the '$' or '!' and the '*' (NMEA 0183).
func judge(text []byte) candidate {
	var sum byte
	for from := 1; ; {
		star := bytes.IndexByte(text[from:], '*')
		if star < 0 || from+star+3 > len(text) {
			break
		}
		star += from
		sum ^= xor(text[from:star])
		if want, ok := hexByte(text[star+1], text[star+2]); ok && want == sum {
			return candidate{text: text[:star+3], verdict: verdictGood}
		}
		sum ^= '*' // this one belonged to the text
		from = star + 1
	}
	text = bytes.TrimRight(text, "\r \t")
	if n := len(text); n >= 4 && text[n-3] == '*' {
		if _, ok := hexByte(text[n-2], text[n-1]); ok {
			return candidate{text: text, verdict: verdictBad}
		}
	}
	return candidate{text: text}
}

func xor(b []byte) byte {
	var w uint64
	for ; len(b) >= 8; b = b[8:] {
		w ^= binary.LittleEndian.Uint64(b)
	}
	w ^= w >> 32
	w ^= w >> 16
	sum := byte(w) ^ byte(w>>8)
	for _, c := range b {
		sum ^= c
	}
	return sum
}

func hexByte(hi, lo byte) (byte, bool) {
	h, l := hexDigit(hi), hexDigit(lo)
	return h<<4 | l, h < 16 && l < 16
}

// hexDigit is the value of a hexadecimal digit, 255 if c is none.
func hexDigit(c byte) byte {
	switch {
	case c-'0' <= 9:
		return c - '0'
	case c-'A' <= 5:
		return c - 'A' + 10
	case c-'a' <= 5:
		return c - 'a' + 10
	default:
		return 255
	}
}
