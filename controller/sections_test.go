package controller

import (
	"fmt"
	"math/bits"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParseSections(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		format, text string
		right        bool
		count        int
		want         string // "-" = refused
	}{
		{"bits", "1100", false, 0, "1100"},
		{"bits", "1100", true, 0, "0011"},
		{"bits", "1100", false, 6, "1100"}, // what a shorter report means is for the reader
		{"bits", strings.Repeat("1", 256), false, 0, strings.Repeat("1", 256)},
		{"bits", strings.Repeat("1", 257), false, 0, "-"},
		{"bits", "1102", false, 0, "-"},
		{"bits", "1 1", false, 0, "-"},
		{"hex", "1", false, 0, "1000"}, // least significant bit is the first section
		{"hex", "1", false, 4, "1000"},
		{"hex", "1", true, 4, "0001"},
		{"hex", "1", true, 6, "000001"},
		{"hex", "2", true, 6, "000010"},
		{"hex", "1", true, 0, "-"}, // no right end without the number of sections
		{"hex", "3F", false, 6, "111111"},
		{"hex", "3f", false, 0, "11111100"},
		{"hex", "0x3F", false, 6, "111111"},
		{"hex", "0X03", false, 2, "11"},
		{"hex", "7F", false, 6, "-"}, // a seventh section
		{"hex", "40", false, 6, "-"},
		{"hex", "0000003F", false, 6, "111111"},
		{"hex", "8", false, 12, "000100000000"},
		{"hex", "800", false, 12, "000000000001"},
		{"hex", "1000", false, 12, "-"},
		{"hex", "0x", false, 4, "-"},
		{"hex", "G", false, 4, "-"},
		{"hex", "-1", false, 4, "-"},
		{"hex", strings.Repeat("F", 64), false, 0, strings.Repeat("1", 256)},
		{"hex", strings.Repeat("0", 65), false, 0, "-"},
		{"decimal", "5", false, 0, "101"},
		{"decimal", "5", false, 4, "1010"},
		{"decimal", "5", true, 4, "0101"},
		{"decimal", "5", true, 0, "-"},
		{"decimal", "0", false, 0, "0"},
		{"decimal", "0", false, 4, "0000"},
		{"decimal", "007", false, 4, "1110"},
		{"decimal", "16", false, 4, "-"},
		{"decimal", "18446744073709551615", false, 0, strings.Repeat("1", 64)},
		{"decimal", "18446744073709551616", false, 0, "-"},
		{"decimal", "99999999999999999999", false, 0, "-"},
		{"decimal", "1", false, 72, "-"}, // 64 bits cannot speak of 72 sections
		{"decimal", "1.0", false, 4, "-"},
		{"decimal", "-1", false, 4, "-"},
	} {
		format, ok := sectionFormatNamed(c.format)
		if !ok {
			t.Fatalf("format %s is not known", c.format)
		}
		s, why := parseSections([]byte(c.text), format, c.right, c.count)
		if c.want == "-" {
			if why == "" {
				t.Errorf("%s %q, right %v, of %d: got %s, want a refusal", c.format, c.text, c.right, c.count, s)
			}
			continue
		}
		if why != "" || s.String() != c.want {
			t.Errorf("%s %q, right %v, of %d: got %s (%s), want %s", c.format, c.text, c.right, c.count, s, why, c.want)
		}
	}
}

// The three formats say the same when they are written by the standard library
// from the same sections.
func TestSectionFormatsAgree(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 64).Draw(rt, "sections")
		mask := rapid.Uint64().Draw(rt, "mask") & (1<<(n-1) | (1<<(n-1) - 1))
		right := rapid.Bool().Draw(rt, "first right")
		// The first character of a bit string is the first section; so is the least
		// significant bit of a mask, which %b writes last.
		word := []byte(fmt.Sprintf("%0*b", n, mask))
		for i, j := 0, len(word)-1; i < j; i, j = i+1, j-1 {
			word[i], word[j] = word[j], word[i]
		}
		want, _ := parseSections(word, sectionBits, right, n)
		if on := bits.OnesCount64(mask); on != strings.Count(want.String(), "1") {
			rt.Fatalf("bits %s: got %s, want %d sections on", word, want, on)
		}
		hex, why := parseSections(fmt.Appendf(nil, "%X", mask), sectionHex, right, n)
		if hex != want || why != "" {
			rt.Errorf("hex %X of %d, right %v: got %s (%s), want %s", mask, n, right, hex, why, want)
		}
		decimal, why := parseSections(fmt.Appendf(nil, "%d", mask), sectionDecimal, right, n)
		if decimal != want || why != "" {
			rt.Errorf("decimal %d of %d, right %v: got %s (%s), want %s", mask, n, right, decimal, why, want)
		}
	})
}
