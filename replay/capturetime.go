package replay

import (
	"fmt"
	"time"
)

// The seconds of the Unix clock that RFC 3339 can write: the first
// of year 0 and the last of year 9999.
const (
	firstSecond = -62_167_219_200
	lastSecond  = 253_402_300_799
)

// appendTime writes t as RFC 3339 UTC with three, six or nine digits of
// fraction.
func appendTime(dst []byte, t time.Time) []byte {
	switch s := t.Unix(); {
	case s < firstSecond:
		t = time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC)
	case s > lastSecond:
		t = time.Date(9999, 12, 31, 23, 59, 59, 999_999_999, time.UTC)
	}
	t = t.UTC()
	year, month, day := t.Date()
	hour, minute, second := t.Clock()
	dst = appendDigits(dst, year, 4)
	dst = appendDigits(append(dst, '-'), int(month), 2)
	dst = appendDigits(append(dst, '-'), day, 2)
	dst = appendDigits(append(dst, 'T'), hour, 2)
	dst = appendDigits(append(dst, ':'), minute, 2)
	dst = appendDigits(append(dst, ':'), second, 2)
	dst = append(dst, '.')
	switch ns := t.Nanosecond(); {
	case ns%1_000_000 == 0:
		dst = appendDigits(dst, ns/1_000_000, 3)
	case ns%1_000 == 0:
		dst = appendDigits(dst, ns/1_000, 6)
	default:
		dst = appendDigits(dst, ns, 9)
	}
	return append(dst, 'Z')
}

func appendDigits(dst []byte, v, width int) []byte {
	start := len(dst)
	for range width {
		dst = append(dst, '0')
	}
	for i := start + width - 1; i >= start; i-- {
		dst[i] = '0' + byte(v%10)
		v /= 10
	}
	return dst
}

// parseTime reads an RFC 3339 time at the start of text and returns it in UTC
// with what follows it. Of the standard's freedoms it takes lower-case t and z,
// any offset, up to nine digits of fraction, and the leap second 60, which
// becomes the first second of the next minute. why is empty or says what is
// wrong.
func parseTime(text []byte) (t time.Time, rest []byte, why string) {
	const head = len("2006-01-02T15:04:05")
	year, ok1 := digits(text, 0, 4)
	month, ok2 := digits(text, 5, 2)
	day, ok3 := digits(text, 8, 2)
	hour, ok4 := digits(text, 11, 2)
	minute, ok5 := digits(text, 14, 2)
	second, ok6 := digits(text, 17, 2)
	if !ok1 || !ok2 || !ok3 || !ok4 || !ok5 || !ok6 ||
		text[4] != '-' || text[7] != '-' || text[10]|0x20 != 't' || text[13] != ':' || text[16] != ':' {
		return time.Time{}, nil, fmt.Sprintf("time %s, want RFC 3339 such as 2026-05-14T13:05:10.200Z", quoteShort(firstWord(text)))
	}
	if month < 1 || month > 12 || day < 1 || day > daysIn(year, month) || hour > 23 || minute > 59 || second > 60 {
		return time.Time{}, nil, fmt.Sprintf("time %s, want a moment that exists", quoteShort(firstWord(text)))
	}
	i, ns := head, 0
	if i < len(text) && text[i] == '.' {
		i++
		scale := 1_000_000_000
		for i < len(text) && text[i] >= '0' && text[i] <= '9' {
			if scale == 1 {
				return time.Time{}, nil, fmt.Sprintf("time %s, want at most nine digits after the point", quoteShort(firstWord(text)))
			}
			scale /= 10
			ns += int(text[i]-'0') * scale
			i++
		}
		if i == head+1 {
			return time.Time{}, nil, fmt.Sprintf("time %s, want digits after the point", quoteShort(firstWord(text)))
		}
	}
	offset, n := zone(text[i:])
	if n == 0 {
		return time.Time{}, nil, fmt.Sprintf("time %s, want Z or an offset such as +01:00 at its end", quoteShort(firstWord(text)))
	}
	// A second of 60 and an offset carry over into the larger members.
	t = time.Date(year, time.Month(month), day, hour, minute, second-offset, ns, time.UTC)
	if s := t.Unix(); s < firstSecond || s > lastSecond {
		return time.Time{}, nil, fmt.Sprintf("time %s, want years 0000 to 9999 in UTC", quoteShort(firstWord(text)))
	}
	return t, text[i+n:], ""
}

// zone reads Z or ±HH:MM and returns its seconds east of UTC and its length,
// which is 0 where there is none.
func zone(text []byte) (seconds, n int) {
	if len(text) > 0 && text[0]|0x20 == 'z' {
		return 0, 1
	}
	hours, ok1 := digits(text, 1, 2)
	minutes, ok2 := digits(text, 4, 2)
	if !ok1 || !ok2 || text[3] != ':' || hours > 23 || minutes > 59 {
		return 0, 0
	}
	seconds = hours*3600 + minutes*60
	switch text[0] {
	case '+':
		return seconds, 6
	case '-':
		return -seconds, 6
	}
	return 0, 0
}

func digits(text []byte, at, n int) (v int, ok bool) {
	if at+n > len(text) {
		return 0, false
	}
	for _, c := range text[at : at+n] {
		if c < '0' || c > '9' {
			return 0, false
		}
		v = v*10 + int(c-'0')
	}
	return v, true
}

func daysIn(year, month int) int {
	switch month {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}

func firstWord(text []byte) []byte {
	for i, c := range text {
		if c == ' ' {
			return text[:i]
		}
	}
	return text
}
