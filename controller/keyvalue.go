package controller

import "bytes"

// keyValue reads
//
//	work=1 sections=1111 speed=8.1km/h tank.1.rate=112.5kg/ha tank.2.flow=41.2L/min*HH
//
// Pairs are separated by any run of spaces, tabs, commas and semicolons. *HH is
// optional, unless the profile requires it, and always checked: the exclusive
// or of all bytes before the "*". A key that is not ours is passed over. A comma
// separates, so "112,5" falls into two pieces and the second, having no "=",
// refuses the line.
func (d *Decoder) keyValue(line []byte) *LineError {
	body, found, e := checksumXOR8.cut(line)
	if e != nil {
		return e
	}
	if !found && d.profile.sum == checksumXOR8 {
		return refuse(ReasonChecksum, "", nil, "* and 2 hexadecimal digits at the end of the line")
	}
	known := false
	for {
		var piece []byte
		if piece, body = nextPiece(body); piece == nil {
			break
		}
		eq := bytes.IndexByte(piece, '=')
		if eq <= 0 {
			return refuse(ReasonBadPair, "", piece, "key=value, a decimal point in numbers, no blank before a unit")
		}
		ours, e := d.pair(piece[:eq], piece[eq+1:])
		if e != nil {
			return e
		}
		known = known || ours
	}
	if !known {
		return refuse(ReasonNoKnownKey, "", line, "work, sections, speed or tank.N.rate, target, flow, total, level")
	}
	return nil
}

// nextPiece cuts the next run of bytes that are not separators off the front.
func nextPiece(b []byte) (piece, rest []byte) {
	start := 0
	for start < len(b) && isSeparator(b[start]) {
		start++
	}
	if start == len(b) {
		return nil, nil
	}
	end := start + 1
	for end < len(b) && !isSeparator(b[end]) {
		end++
	}
	return b[start:end], b[end:]
}

func isSeparator(c byte) bool { return isBlank(c) || c == ',' || c == ';' }

// pair stores one value. ours is false for a key that is passed over.
func (d *Decoder) pair(key, value []byte) (ours bool, e *LineError) {
	f, tank := fieldNamed(key), 0
	if f.perTank() {
		f = fieldEnd // "rate" alone does not say of which tank
	}
	if rest, ok := bytes.CutPrefix(key, []byte("tank.")); ok {
		dot := bytes.LastIndexByte(rest, '.')
		if dot < 0 {
			return false, nil
		}
		if f = tankFieldNamed(rest[dot+1:]); f < fieldEnd {
			if tank, ok = tankNumber(rest[:dot]); !ok {
				return true, refuse(ReasonBadTank, string(key), rest[:dot], "a tank number from 1 to 99")
			}
		}
	}
	if f == fieldEnd {
		return false, nil
	}
	c := column{field: f, tank: tank, scale: 1}
	if len(value) == 0 {
		e = refuse(ReasonEmpty, "", nil, "a value behind the =")
	} else {
		e = d.put(&c, tank, value)
	}
	if e != nil {
		e.Field = string(key)
	}
	return true, e
}
