package boundary

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// clean is a text of a file as it may be shown: on one line, without control
// characters, not too long.
func clean(s string) string {
	const most = 240
	s = strings.Map(func(c rune) rune {
		if unicode.IsControl(c) || c == '\u2028' || c == '\u2029' {
			return ' '
		}
		return c
	}, strings.ToValidUTF8(s, "\ufffd"))
	if len(s) <= most {
		return s
	}
	end := most
	for !utf8.RuneStart(s[end]) {
		end--
	}
	return s[:end] + "…"
}

// windows1252 is what the code page 1252 has where ISO 8859-1 has control
// characters, from 0x80; 0 = nothing.
const windows1252 = "€\x00‚ƒ„…†‡ˆ‰Š‹Œ\x00Ž\x00\x00‘’“”•–—˜™š›œ\x00žŸ"

// latin1 reads text of ISO 8859-1, and of the code page 1252 that often goes by
// its name.
func latin1(b []byte) string {
	upper := []rune(windows1252)
	var s strings.Builder
	for _, c := range b {
		switch {
		case c >= 0x80 && c < 0xa0 && upper[c-0x80] != 0:
			s.WriteRune(upper[c-0x80])
		default:
			s.WriteRune(rune(c))
		}
	}
	return s.String()
}
