package controller

import (
	"bytes"
	"fmt"
	"math/bits"
)

// sectionFormat is how the state of the sections is written.
type sectionFormat uint8

const (
	sectionBits    sectionFormat = iota // characters 0 and 1, the first is the first section
	sectionHex                          // mask, least significant bit is the first section
	sectionDecimal                      // the same in decimal digits
)

func sectionFormatNamed(name string) (sectionFormat, bool) {
	switch name {
	case "", "bits":
		return sectionBits, true
	case "hex":
		return sectionHex, true
	case "decimal":
		return sectionDecimal, true
	}
	return sectionBits, false
}

// parseSections reads the state of the sections. fromRight says that the first
// one is the rightmost. count is the implement's number of sections, 0 = not
// known; a mask needs it to say where the right end is. Without it a hex mask
// has four sections a digit, a decimal one as many as its highest bit. want is
// what should have stood there, empty when all is well.
func parseSections(text []byte, format sectionFormat, fromRight bool, count int) (s Sections, want string) {
	switch format {
	case sectionHex:
		s, want = hexSections(text, fromRight, count)
	case sectionDecimal:
		s, want = decimalSections(text, fromRight, count)
	default:
		s, want = bitSections(text)
	}
	if want == "" && fromRight {
		s = s.reversed()
	}
	return s, want
}

func bitSections(text []byte) (Sections, string) {
	if len(text) > MaxSections {
		return Sections{}, fmt.Sprintf("at most %d sections", MaxSections)
	}
	s := NewSections(len(text))
	for i, c := range text {
		switch c {
		case '1':
			s.Set(i, true)
		case '0':
		default:
			return Sections{}, "only the characters 0 and 1"
		}
	}
	return s, ""
}

func hexSections(text []byte, fromRight bool, count int) (Sections, string) {
	if rest, ok := bytes.CutPrefix(text, []byte("0x")); ok {
		text = rest
	} else if rest, ok := bytes.CutPrefix(text, []byte("0X")); ok {
		text = rest
	}
	if len(text) == 0 || len(text) > MaxSections/4 {
		return Sections{}, fmt.Sprintf("1 to %d hexadecimal digits", MaxSections/4)
	}
	n, want := maskCount(4*len(text), fromRight, count)
	if want != "" {
		return Sections{}, want
	}
	s := NewSections(n)
	for i := range len(text) {
		digit, ok := hexDigit(text[len(text)-1-i])
		if !ok {
			return Sections{}, "only hexadecimal digits"
		}
		if high := 4*i + bits.Len8(digit); digit != 0 && high > n {
			return Sections{}, fmt.Sprintf("no bit beyond the %d sections of the implement", n)
		}
		for k := range 4 {
			s.Set(4*i+k, digit>>k&1 == 1)
		}
	}
	return s, ""
}

func decimalSections(text []byte, fromRight bool, count int) (Sections, string) {
	const want = "a decimal mask of at most 64 sections"
	if len(text) == 0 || len(text) > 20 {
		return Sections{}, want
	}
	var mask uint64
	for _, c := range text {
		if !isDigit(c) {
			return Sections{}, want
		}
		high, low := bits.Mul64(mask, 10)
		sum, carry := bits.Add64(low, uint64(c-'0'), 0)
		if high != 0 || carry != 0 {
			return Sections{}, want
		}
		mask = sum
	}
	if count > 64 {
		return Sections{}, fmt.Sprintf("a hex mask: a decimal one cannot say the state of %d sections", count)
	}
	n, why := maskCount(max(1, bits.Len64(mask)), fromRight, count)
	if why != "" {
		return Sections{}, why
	}
	if bits.Len64(mask) > n {
		return Sections{}, fmt.Sprintf("no bit beyond the %d sections of the implement", n)
	}
	s := NewSections(n)
	for i := range n {
		s.Set(i, mask>>i&1 == 1)
	}
	return s, ""
}

// maskCount is the number of sections that a mask speaks of.
func maskCount(written int, fromRight bool, count int) (n int, want string) {
	switch {
	case count > 0:
		return min(count, MaxSections), ""
	case fromRight:
		return 0, "the implement's sections to be known: a mask whose first bit is the right end needs their number"
	default:
		return written, ""
	}
}

// reversed is the same sections seen from the other end.
func (s Sections) reversed() Sections {
	r := NewSections(s.Len())
	for i := range s.Len() {
		r.Set(s.Len()-1-i, s.On(i))
	}
	return r
}
