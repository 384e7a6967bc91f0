package export

import (
	"math"
	"strconv"
	"time"
	"unicode/utf8"
)

// degreeSteps is the grid of written coordinates: eleven decimals (1 µm). Shapes
// are valid on the plane's grid of 0.1 mm; degrees no finer than that would move
// a corner of a slit over its other side.
const degreeSteps = 100_000_000_000

// appendDegrees writes a finite coordinate with at most eleven decimals. Most of
// what is exported goes through here, so it goes by way of an integer.
func appendDegrees(dst []byte, deg float64) []byte {
	steps := int64(math.Round(deg * degreeSteps))
	if steps < 0 {
		dst, steps = append(dst, '-'), -steps
	}
	dst = strconv.AppendInt(dst, steps/degreeSteps, 10)
	rest := steps % degreeSteps
	if rest == 0 {
		return dst
	}
	dst = append(dst, '.')
	for unit := int64(degreeSteps / 10); rest > 0; unit /= 10 {
		dst = append(dst, '0'+byte(rest/unit))
		rest %= unit
	}
	return dst
}

// appendNumber writes a value rounded to twelve significant digits, in the
// shortest form that JSON allows; null for what is no number.
func appendNumber(dst []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(dst, "null"...)
	}
	if v == 0 {
		return append(dst, '0')
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 11, 64), 64) // always in range: even the largest number is rounded down
	format := byte('f')
	if a := math.Abs(rounded); a < 1e-9 || a >= 1e21 {
		format = 'e'
	}
	return strconv.AppendFloat(dst, rounded, format, -1, 64)
}

// appendMaybe writes a value, or null where it is not known.
func appendMaybe(dst []byte, v float64, known bool) []byte {
	if !known {
		return append(dst, "null"...)
	}
	return appendNumber(dst, v)
}

// appendTime writes a moment as RFC 3339 UTC with milliseconds, rounded down.
func appendTime(dst []byte, t time.Time) []byte {
	return t.UTC().AppendFormat(dst, `"2006-01-02T15:04:05.000Z"`)
}

// appendString writes a JSON string. What is no UTF-8 becomes U+FFFD, so that
// every reader can take the file.
func appendString(dst []byte, s string) []byte {
	const digits = "0123456789abcdef"
	dst = append(dst, '"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			dst = append(dst, '\\', byte(r))
		case r < ' ' || r == 0x7f:
			dst = append(dst, '\\', 'u', '0', '0', digits[r>>4], digits[r&15])
		default:
			dst = utf8.AppendRune(dst, r)
		}
	}
	return append(dst, '"')
}

// appendName writes a name, or null where none was given.
func appendName(dst []byte, s string) []byte {
	if s == "" {
		return append(dst, "null"...)
	}
	return appendString(dst, s)
}

func appendInt(dst []byte, v int) []byte { return strconv.AppendInt(dst, int64(v), 10) }
