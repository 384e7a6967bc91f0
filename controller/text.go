package controller

import (
	"math"
	"strconv"
	"unicode/utf8"
)

func isBlank(c byte) bool { return c == ' ' || c == '\t' }
func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// trimBlanks cuts spaces and tabs off both ends.
func trimBlanks(b []byte) []byte {
	for len(b) > 0 && isBlank(b[0]) {
		b = b[1:]
	}
	return trimBlanksRight(b)
}

func trimBlanksRight(b []byte) []byte {
	for len(b) > 0 && isBlank(b[len(b)-1]) {
		b = b[:len(b)-1]
	}
	return b
}

// trimLineEnd cuts carriage returns and line feeds off the end.
func trimLineEnd(b []byte) []byte {
	for len(b) > 0 && (b[len(b)-1] == '\r' || b[len(b)-1] == '\n') {
		b = b[:len(b)-1]
	}
	return b
}

// isText tells whether every byte is printable or a tab. UTF-8 is text: units
// may be written with a superscript.
func isText(b []byte) bool {
	ascii := true
	for _, c := range b {
		if c < ' ' && c != '\t' || c == 0x7f {
			return false
		}
		ascii = ascii && c < utf8.RuneSelf
	}
	return ascii || utf8.Valid(b)
}

// startsUnit tells whether what stands behind a number may be the name of a
// unit, so that "112,5" is called a bad number and "112 stone" a bad unit.
func startsUnit(b []byte) bool {
	c := b[0]
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= utf8.RuneSelf
}

// shorten keeps what a message quotes to a size that a person can read.
func shorten(b []byte) string {
	const most = 60
	if len(b) <= most {
		return string(b)
	}
	cut := most
	for cut > most-utf8.UTFMax && !utf8.RuneStart(b[cut]) {
		cut--
	}
	return string(b[:cut]) + "…"
}

// pow10 holds the powers of ten that a float64 holds exactly.
func pow10(i int) float64 {
	return [...]float64{
		1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
		1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
	}[i]
}

// scanNumber reads a decimal number at the front of b and returns what follows
// it. Words for infinity and for not-a-number, hexadecimal and digit grouping
// are not numbers, nor is one that a float64 cannot hold.
func scanNumber(b []byte) (v float64, rest []byte, ok bool) {
	i, negative := 0, false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		negative = b[0] == '-'
		i++
	}
	var mantissa uint64
	digits, exp, point, exact := 0, 0, false, true
	for ; i < len(b); i++ {
		if c := b[i]; isDigit(c) {
			exact = exact && mantissa <= (1<<53-10)/10
			mantissa = mantissa*10 + uint64(c-'0') // wraps only once it is no longer used
			digits++
			if point {
				exp--
			}
		} else if c == '.' && !point {
			point = true
		} else {
			break
		}
	}
	if digits == 0 {
		return 0, nil, false
	}
	if n, e := scanExponent(b[i:]); n > 0 {
		i += n
		exp += e
	}
	// A mantissa below 2^53 and a power of ten up to 22 are both exact, so one
	// operation rounds once, as the general conversion does.
	switch {
	case exact && exp >= 0 && exp <= 22:
		v = float64(mantissa) * pow10(exp)
	case exact && exp < 0 && exp >= -22:
		v = float64(mantissa) / pow10(-exp)
	default:
		f, err := strconv.ParseFloat(string(b[:i]), 64)
		if err != nil {
			return 0, nil, false
		}
		v, negative = math.Abs(f), f < 0
	}
	if negative && v != 0 { // no minus zero
		v = -v
	}
	return v, b[i:], true
}

// scanExponent reads "e-3" and returns its length in bytes, 0 when there is
// none. The value is capped far beyond what a float64 holds.
func scanExponent(b []byte) (n, exp int) {
	if len(b) < 2 || b[0]|0x20 != 'e' {
		return 0, 0
	}
	i, negative := 1, false
	if b[1] == '-' || b[1] == '+' {
		negative = b[1] == '-'
		i++
	}
	start := i
	for ; i < len(b) && isDigit(b[i]); i++ {
		exp = min(exp*10+int(b[i]-'0'), 1_000_000)
	}
	if i == start {
		return 0, 0
	}
	if negative {
		exp = -exp
	}
	return i, exp
}
