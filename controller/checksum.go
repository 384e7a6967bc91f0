package controller

import (
	"bytes"
	"fmt"
)

// checksum is how the bytes before the "*" at the end of a line are summed up.
type checksum uint8

const (
	checksumNone  checksum = iota
	checksumXOR8           // exclusive or of the bytes, two hexadecimal digits
	checksumSum8           // sum of the bytes modulo 256, two digits
	checksumCRC16          // CRC-16 named below, four digits
)

// checksumNamed finds a checksum by its name in a profile.
func checksumNamed(name string) (checksum, bool) {
	switch name {
	case "", "none":
		return checksumNone, true
	case "xor8":
		return checksumXOR8, true
	case "sum8":
		return checksumSum8, true
	case "crc16-ccitt":
		return checksumCRC16, true
	}
	return checksumNone, false
}

// digits is the number of hexadecimal digits behind the "*".
func (c checksum) digits() int {
	if c == checksumCRC16 {
		return 4
	}
	return 2
}

func (c checksum) of(body []byte) uint16 {
	switch c {
	case checksumXOR8:
		var x byte
		for _, b := range body {
			x ^= b
		}
		return uint16(x)
	case checksumSum8:
		var x byte
		for _, b := range body {
			x += b
		}
		return uint16(x)
	default:
		return crc16(body)
	}
}

// crc16 is CRC-16/CCITT-FALSE, also listed as CRC-16/IBM-3740 in the catalogue
// of parametrised CRC algorithms: polynomial 0x1021, initial value 0xFFFF, bits
// not reflected, no final exclusive or.
func crc16(body []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range body {
		crc ^= uint16(b) << 8
		for range 8 {
			if crc&0x8000 != 0 {
				crc = crc<<1 ^ 0x1021
			} else {
				crc <<= 1
			}
		}
	}
	return crc
}

// cut splits "body*HH" and checks the sum. Without a "*" the line is all body
// and found is false: whether that will do is for the caller to say.
func (c checksum) cut(line []byte) (body []byte, found bool, e *LineError) {
	star := bytes.LastIndexByte(line, '*')
	if star < 0 {
		return line, false, nil
	}
	body, tail := line[:star], trimBlanksRight(line[star+1:])
	sum, ok := hexNumber(tail)
	if !ok || len(tail) != c.digits() {
		return nil, true, refuse(ReasonChecksum, "", line[star:],
			fmt.Sprintf("%d hexadecimal digits behind the *, at the end of the line", c.digits()))
	}
	if want := c.of(body); want != uint16(sum) {
		return nil, true, refuse(ReasonChecksum, "", line[star:], fmt.Sprintf("*%0*X", c.digits(), want))
	}
	return body, true, nil
}

// hexNumber reads at most 16 hexadecimal digits.
func hexNumber(b []byte) (n uint64, ok bool) {
	if len(b) == 0 || len(b) > 16 {
		return 0, false
	}
	for _, c := range b {
		d, ok := hexDigit(c)
		if !ok {
			return 0, false
		}
		n = n<<4 | uint64(d)
	}
	return n, true
}

func hexDigit(c byte) (byte, bool) {
	switch {
	case c >= '0' && c <= '9':
		return c - '0', true
	case c >= 'a' && c <= 'f':
		return c - 'a' + 10, true
	case c >= 'A' && c <= 'F':
		return c - 'A' + 10, true
	}
	return 0, false
}
