package controller

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestChecksumCheckValues(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, body string
		want       uint16
		source     string
	}{
		// Check value of CRC-16/IBM-3740, also called CRC-16/CCITT-FALSE, in the
		// catalogue of parametrised CRC algorithms.
		{"crc16-ccitt", "123456789", 0x29B1, "catalogue of parametrised CRC algorithms"},
		{"crc16-ccitt", "", 0xFFFF, "its initial value"},
		{"crc16-ccitt", "\x00", 0xE1F0, "0xFF00 ^ 0x1EF0, the last entry of the polynomial's byte table (from memory)"},
		{"sum8", "123456789", 0xDD, "9 x 0x30 + 45 = 477 = 0x1DD; arithmetic"},
		{"xor8", "123456789", 0x31, "1^2^...^9 = 1, nine times 0x30 leaves 0x30; arithmetic"},
		{"xor8", "", 0, "nothing"},
		{"sum8", "\xff\x02", 1, "0x101 modulo 256"},
		// NMEA 0183 uses the same exclusive or; sentence and checksum as published
		// in the description of the RMC sentence in "NMEA Revealed", E. S. Raymond,
		// https://gpsd.gitlab.io/gpsd/NMEA.html (from memory).
		{"xor8", "GPRMC,225446,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E", 0x68, "NMEA Revealed"},
	} {
		sum, ok := checksumNamed(c.name)
		if got := sum.of([]byte(c.body)); !ok || got != c.want {
			t.Errorf("%s of %q: got %04X, want %04X (%s)", c.name, c.body, got, c.want, c.source)
		}
	}
}

func TestChecksumCut(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, line, body string
		found, bad       bool
	}{
		{"xor8", "123456789*31", "123456789", true, false},
		{"xor8", "123456789*31 ", "123456789", true, false},
		{"sum8", "123456789*dd", "123456789", true, false},
		{"crc16-ccitt", "123456789*29b1", "123456789", true, false},
		{"xor8", "123456789", "123456789", false, false},
		{"xor8", "a*b*29", "a*b", true, false}, // the last * counts: 0x61 ^ 0x2A ^ 0x62 = 0x29
		{"xor8", "123456789*32", "", true, true},
		{"xor8", "123456789*3", "", true, true},
		{"xor8", "123456789*", "", true, true},
		{"xor8", "123456789*031", "", true, true},
		{"xor8", "123456789*3G", "", true, true},
		{"xor8", "123456789*31x", "", true, true},
		{"xor8", "123456789* 31", "", true, true},
		{"crc16-ccitt", "123456789*B1", "", true, true},
	} {
		sum, _ := checksumNamed(c.name)
		body, found, e := sum.cut([]byte(c.line))
		if string(body) != c.body || found != c.found || (e != nil) != c.bad || e != nil && e.Reason != ReasonChecksum {
			t.Errorf("%s of %q: got body %q, found %v, %v; want %+v", c.name, c.line, body, found, e, c)
		}
	}
}

// Any one byte changed anywhere is found out by xor8 and crc16-ccitt.
func TestChecksumFindsOneChangedByte(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"xor8", "sum8", "crc16-ccitt"} {
		sum, _ := checksumNamed(name)
		rapid.Check(t, func(rt *rapid.T) {
			body := []byte(rapid.StringMatching(`[ -)+-~]{1,80}`).Draw(rt, "body"))
			line := fmt.Appendf(nil, "%s*%0*x", body, sum.digits(), sum.of(body))
			if got, found, e := sum.cut(line); e != nil || !found || string(got) != string(body) {
				rt.Fatalf("%s of %q: got %q, %v, %v", name, line, got, found, e)
			}
			at := rapid.IntRange(0, len(body)-1).Draw(rt, "at")
			line[at] ^= byte(rapid.IntRange(1, 127).Draw(rt, "flip"))
			if got, _, e := sum.cut(line); e == nil {
				rt.Errorf("%s of %q with byte %d changed: got %q, want a checksum error", name, line, at, got)
			}
		})
	}
}

func TestChecksumErrorSaysTheRightOne(t *testing.T) {
	t.Parallel()
	d := newDecoder(t, ProfileSpec{}, Defaults{})
	_, e := d.Line([]byte("work=1*00"))
	if e == nil || !strings.Contains(e.Error(), fmt.Sprintf("*%02X", checksumXOR8.of([]byte("work=1")))) {
		t.Errorf("work=1*00: got %v, want it to name the right checksum", e)
	}
}
