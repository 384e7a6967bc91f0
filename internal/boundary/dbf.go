package boundary

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"
	"unicode/utf8"
)

// The table of a Shapefile (.dbf, the dBASE III layout that the Shapefile's
// description names on page 25):
//
//	byte 4   number of records, byte 8 length of the header, byte 10 of a record
//	byte 32  columns, 32 bytes each: name in 11, type in 1 at 11, length in 1 at 16;
//	         the byte 0x0D ends them
//	then the records: a byte, * for a deleted one, and the columns as text
type dbf struct {
	columns []dbfColumn
	rows    []byte
	length  int // of a row
	records int
	name    int // column, -1 = none
	utf8    bool
}

type dbfColumn struct {
	name   string
	at, to int // in a row
}

type dbfRow struct {
	deleted bool
	text    []byte
}

// dbf reads the head of a table. nil: it was at fault.
func (r *reader) dbf(b, cpg []byte) *dbf {
	const head, column = 32, 32
	fail := func(got, want string) *dbf {
		r.fault("", "a .dbf "+got, want)
		return nil
	}
	if len(b) < head+1 {
		return fail("cut off in its header", "the whole file")
	}
	t := &dbf{records: int(min(binary.LittleEndian.Uint32(b[4:]), 1<<30)), length: int(binary.LittleEndian.Uint16(b[10:]))}
	start := int(binary.LittleEndian.Uint16(b[8:]))
	if start > len(b) || start < head || t.length == 0 {
		return fail("whose header is longer than the file, or empty", "an undamaged file")
	}
	var names []string
	at := 1 // behind the mark of deletion
	for i := head; i+column <= start && b[i] != 0x0d; i += column {
		name, _, _ := bytes.Cut(b[i:i+11], []byte{0})
		c := dbfColumn{name: strings.TrimSpace(latin1(name)), at: at, to: at + int(b[i+16])}
		if b[i+11] == 'C' { // long texts have the high byte where others have decimals
			c.to += int(b[i+17]) << 8
		}
		if c.to > t.length {
			return fail("whose columns are longer than its rows", "an undamaged file")
		}
		at = c.to
		t.columns = append(t.columns, c)
		names = append(names, c.name)
	}
	t.rows = b[start:]
	if int64(t.records)*int64(t.length) > int64(len(t.rows)) {
		return fail(fmt.Sprintf("that ends before its %d rows do", t.records), "the whole file")
	}
	t.name = r.attributes(names)
	return t.encoding(r, cpg)
}

// encoding decides how the texts of a table are read: as the .cpg says, else as
// UTF-8 where all names are, else as ISO 8859-1.
func (t *dbf) encoding(r *reader, cpg []byte) *dbf {
	ascii, valid := true, true
	if t.name >= 0 {
		for i := range t.records {
			row, _ := t.row(i)
			text := t.text(row, t.name)
			valid = valid && utf8.Valid(wholeRunes(text))
			for _, c := range text {
				ascii = ascii && c < 0x80
			}
		}
	}
	word := strings.ToUpper(strings.TrimSpace(clean(string(cpg[:min(len(cpg), 64)]))))
	word = strings.TrimSpace(strings.TrimPrefix(strings.TrimPrefix(word, "ANSI"), "CP"))
	switch word {
	case "":
		t.utf8 = valid
	case "UTF-8", "UTF8", "65001":
		t.utf8 = true
	case "ISO-8859-1", "ISO8859-1", "ISO 8859-1", "ISO88591", "8859-1", "88591", "28591", "LATIN1", "1252", "WINDOWS-1252":
	default:
		if !ascii {
			r.fault("", "a .dbf in the encoding "+word, "one in UTF-8, or a .cpg that says so")
			return nil
		}
	}
	return t
}

// row is row i, counted from 0.
func (t *dbf) row(i int) (dbfRow, bool) {
	if i >= t.records {
		return dbfRow{}, false
	}
	b := t.rows[i*t.length : (i+1)*t.length]
	return dbfRow{deleted: b[0] == '*', text: b}, true
}

func (t *dbf) text(row dbfRow, column int) []byte {
	c := t.columns[column]
	b, _, _ := bytes.Cut(row.text[c.at:c.to], []byte{0})
	return bytes.TrimSpace(b)
}

// dbfName is the name in a row.
func (r *reader) dbfName(at string, t *dbf, row dbfRow) (string, bool) {
	if t.name < 0 {
		return "", true
	}
	b := t.text(row, t.name)
	if !t.utf8 {
		return latin1(b), true
	}
	// A column cuts a long name at a byte, which may be inside a letter.
	if b = wholeRunes(b); !utf8.Valid(b) {
		r.fault(at, "a name that is not in UTF-8", "the encoding that the .cpg states, or none")
		return "", false
	}
	return string(b), true
}

// wholeRunes takes off the beginning of a letter at the end of a text.
func wholeRunes(b []byte) []byte {
	for i := 1; i < utf8.UTFMax && i <= len(b); i++ {
		if c := b[len(b)-i]; utf8.RuneStart(c) {
			if c >= 0x80 && !utf8.FullRune(b[len(b)-i:]) {
				return b[:len(b)-i]
			}
			return b
		}
	}
	return b
}
