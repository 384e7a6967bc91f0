package controller

import (
	"bytes"
	"fmt"
)

// header is what a decoder remembers of the line that names the columns.
type header struct {
	line  []byte // as it was read, without checksum
	index []int  // the column from 0 of each place, two places a column of the profile
	spare []int  // room to work out the next index
	known bool
}

// delimited reads a line of columns. An empty column is a value that was not
// reported; a line that ends before a column it should have is refused.
func (d *Decoder) delimited(line []byte) *LineError {
	p := d.profile
	body, bad := d.body(line)
	if bad != nil && p.header && bytes.IndexByte(line, '*') < 0 {
		body = line // only a header line may go without the checksum
	}
	if body == nil {
		return bad
	}
	d.cells = p.split(d.cells[:0], body)
	if p.header && d.isHeader(body) {
		return refuse(ReasonHeader, "", body, "")
	}
	if bad != nil {
		return bad
	}
	if !p.header || d.head.known {
		return d.columns(body)
	}
	if p.named {
		return d.noHeader(body)
	}
	// All columns go by number. The first line is the header, unless it is all
	// values: then we came in later.
	e := d.columns(body)
	if e != nil {
		d.head.line, d.head.known = append(d.head.line[:0], body...), true
		return refuse(ReasonHeader, "", body, "")
	}
	return nil
}

// columns stores the value of each column of the profile.
func (d *Decoder) columns(body []byte) *LineError {
	some := false
	for i := range d.profile.columns {
		c := &d.profile.columns[i]
		raw, e := d.cell(c.name, d.at(2*i, c.place))
		if e != nil {
			return e
		}
		if len(raw) == 0 {
			continue
		}
		var from []byte
		if c.tank == 0 && c.field.perTank() {
			if from, e = d.cell(c.tankPlace.name, d.at(2*i+1, c.tankPlace)); e != nil {
				return e
			}
		}
		if e := d.putColumn(c, from, raw); e != nil {
			return e
		}
		some = true
	}
	if !some {
		return nothingReported(body)
	}
	return nil
}

// at is the column, from 0, of place number i (two a column of the profile).
func (d *Decoder) at(i int, p place) int {
	if p.index >= 0 {
		return p.index
	}
	return d.head.index[i]
}

func (d *Decoder) cell(name string, index int) ([]byte, *LineError) {
	if index >= len(d.cells) {
		return nil, refuse(ReasonMissingColumn, name, nil, fmt.Sprintf(
			"at least %d columns, the line has %d", index+1, len(d.cells)))
	}
	return d.cells[index], nil
}

// split appends the cells of a line, blanks around them cut off.
func (p *Profile) split(cells [][]byte, body []byte) [][]byte {
	if p.runs {
		for {
			body = trimBlanks(body)
			if len(body) == 0 {
				return cells
			}
			end := bytes.IndexAny(body, " \t")
			if end < 0 {
				return append(cells, body)
			}
			cells, body = append(cells, body[:end]), body[end:]
		}
	}
	for {
		end := bytes.IndexByte(body, p.separator)
		if end < 0 {
			return append(cells, trimBlanks(body))
		}
		cells, body = append(cells, trimBlanks(body[:end])), body[end+1:]
	}
}

// isHeader tells whether a line names the columns, and remembers it. Where
// columns go by name, a line that holds all the names once is a header, as often
// as it comes and with its columns in any order. Where they all go by number
// only a line that repeats the first header is.
func (d *Decoder) isHeader(body []byte) bool {
	p, h := d.profile, &d.head
	if !p.named {
		return h.known && bytes.Equal(body, h.line)
	}
	h.spare = h.spare[:0]
	for i := range p.columns {
		for _, pl := range [...]place{p.columns[i].place, p.columns[i].tankPlace} {
			at := pl.index
			if at < 0 {
				if at = onlyCell(d.cells, pl.name); at < 0 {
					return false
				}
			}
			h.spare = append(h.spare, at)
		}
	}
	h.index, h.spare = h.spare, h.index
	h.known = true
	return true
}

// onlyCell finds the one cell that reads name; -1 for none and for several.
func onlyCell(cells [][]byte, name string) int {
	found := -1
	for i, c := range cells {
		if string(c) == name {
			if found >= 0 {
				return -1
			}
			found = i
		}
	}
	return found
}

// noHeader says which name the line lacks that should have been the header.
func (d *Decoder) noHeader(body []byte) *LineError {
	name := ""
	for _, c := range d.profile.columns {
		for _, pl := range [...]place{c.place, c.tankPlace} {
			if name == "" && pl.index < 0 && onlyCell(d.cells, pl.name) < 0 {
				name = pl.name
			}
		}
	}
	return refuse(ReasonBadHeader, name, body, "a header line that names this column once, before the first values")
}
