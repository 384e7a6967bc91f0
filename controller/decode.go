package controller

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
)

// Decoder turns lines into reports by a Profile. It remembers the header line
// of a delimited profile and owns the memory of the report. It is not safe for
// use by several goroutines.
type Decoder struct {
	profile  *Profile
	report   Report
	cells    [][]byte // of the line in hand, delimited only
	head     header
	sections int
	tanks    [MaxTank + 1]tankUnits
}

// tankUnits is how the values of one tank are read.
type tankUnits struct {
	amount          Dim // what it meters; DimNone: anything
	thousandKernelG float64
	bare            [fieldEnd]Unit // of values that name no unit
}

// NewDecoder returns a decoder that has seen no line yet.
func (p *Profile) NewDecoder() *Decoder {
	d := &Decoder{profile: p}
	d.SetDefaults(p.defaults)
	return d
}

// SetDefaults replaces what the configuration says of tanks and sections, from
// the next line on. The header line stays known.
func (d *Decoder) SetDefaults(defaults Defaults) {
	d.sections = max(0, defaults.Sections)
	for i := range d.tanks {
		d.tanks[i] = tankUnitsOf(d.profile, defaults.tank(i))
	}
}

// Line reads one line; a line end at its end does not matter. With a nil error
// it is a report, whose Tanks are valid until the next call. A refused line
// says nothing at all: no part of it may be used.
func (d *Decoder) Line(line []byte) (Report, *LineError) {
	d.report = Report{Tanks: d.report.Tanks[:0]}
	line = trimLineEnd(line)
	if len(line) > MaxLine {
		return Report{}, refuse(ReasonTooLong, "", line, fmt.Sprintf("at most %d bytes", MaxLine))
	}
	if len(trimBlanks(line)) == 0 {
		return Report{}, refuse(ReasonBlank, "", nil, "")
	}
	if !isText(line) {
		quoted := strconv.QuoteToASCII(string(line[:min(len(line), 40)]))
		return Report{}, refuse(ReasonNotText, "", []byte(quoted[1:len(quoted)-1]), "printable text")
	}
	var e *LineError
	switch d.profile.kind {
	case kindDelimited:
		e = d.delimited(line)
	case kindPattern:
		e = d.matched(line)
	default:
		e = d.keyValue(line)
	}
	if e != nil {
		return Report{}, e
	}
	return d.report, nil
}

// body cuts the checksum off and checks it, if the profile has one.
func (d *Decoder) body(line []byte) ([]byte, *LineError) {
	sum := d.profile.sum
	if sum == checksumNone {
		return line, nil
	}
	body, found, e := sum.cut(line)
	if e == nil && !found {
		e = refuse(ReasonChecksum, "", nil, fmt.Sprintf("* and %d hexadecimal digits at the end of the line", sum.digits()))
	}
	return body, e
}

// put stores one value of a column.
func (d *Decoder) put(c *column, tank int, raw []byte) *LineError {
	switch c.field {
	case fieldWork:
		return d.putWork(c.name, raw)
	case fieldSections:
		return d.putSections(c, raw)
	default:
		return d.putNumber(c, tank, raw)
	}
}

func (d *Decoder) putWork(name string, raw []byte) *LineError {
	if d.report.Has&HasWork != 0 {
		return duplicate(name, raw)
	}
	if len(raw) != 1 || raw[0] != '0' && raw[0] != '1' {
		return refuse(ReasonBadWork, name, raw, "0 or 1")
	}
	d.report.Has |= HasWork
	d.report.Work = raw[0] == '1'
	return nil
}

func (d *Decoder) putSections(c *column, raw []byte) *LineError {
	if d.report.Has&HasSections != 0 {
		return duplicate(c.name, raw)
	}
	s, want := parseSections(raw, c.format, c.fromRight, d.sections)
	if want != "" {
		return refuse(ReasonBadSections, c.name, raw, want)
	}
	d.report.Has |= HasSections
	d.report.Sections = s
	return nil
}

func (d *Decoder) putNumber(c *column, tank int, raw []byte) *LineError {
	q, e := d.quantity(c, tank, raw)
	if e != nil {
		return e
	}
	if c.field == fieldSpeed {
		if d.report.Has&HasSpeed != 0 {
			return duplicate(c.name, raw)
		}
		d.report.Has |= HasSpeed
		d.report.SpeedMPS = q.SI
		return nil
	}
	if !d.reading(tank).set(c.field, q) {
		return duplicate(c.name, raw)
	}
	return nil
}

// quantity reads a number with or without a unit, to SI and to what the tank
// meters.
func (d *Decoder) quantity(c *column, tank int, raw []byte) (Quantity, *LineError) {
	v, rest, ok := scanNumber(raw)
	if !ok {
		return Quantity{}, refuse(ReasonBadNumber, c.name, raw, "a decimal number")
	}
	units := &d.tanks[tank]
	u := c.unit
	if u.Dim == DimNone {
		u = units.bare[c.field]
	}
	if rest = trimBlanks(rest); len(rest) > 0 {
		var e *LineError
		if u, e = writtenUnit(c, raw, rest); e != nil {
			return Quantity{}, e
		}
	}
	if !c.field.fits(u.Dim) {
		return Quantity{}, refuse(ReasonBadUnit, c.name, raw, c.field.wantUnit())
	}
	if c.scaled {
		v = float64(v*c.scale) + c.offset
	}
	q := u.Quantity(v)
	if units.amount != DimNone && c.field.perTank() {
		// Another kind than the tank is set up for is handed on as it is: that
		// something was on is worth more than the line being right in all.
		if as, ok := q.As(units.amount, units.thousandKernelG); ok {
			q = as
		}
	}
	// The comparison is written so that not-a-number is out of range too.
	if !(math.Abs(q.SI) <= c.field.most()) || q.SI < 0 && !c.field.signed() {
		return Quantity{}, refuse(ReasonOutOfRange, c.name, raw, fmt.Sprintf(
			"%s that a machine can mean, up to %g %s", c.field, c.field.most(), q.Dim.SIUnit()))
	}
	if q.SI == 0 {
		q.SI = 0 // no minus zero
	}
	return q, nil
}

// writtenUnit reads the unit behind a number of the line.
func writtenUnit(c *column, raw, rest []byte) (Unit, *LineError) {
	if !startsUnit(rest) {
		return Unit{}, refuse(ReasonBadNumber, c.name, raw, "a decimal point and nothing but a unit behind the number")
	}
	if c.scaled {
		return Unit{}, refuse(ReasonBadUnit, c.name, raw, "a plain number, as the column has a scale or an offset")
	}
	amount, per, ok := lookUpUnit(rest)
	if !ok {
		return Unit{}, refuse(ReasonBadUnit, c.name, raw, c.field.wantUnit())
	}
	return joinUnit(amount, per), nil
}

// reading finds the tank's reading, in ascending order of tank.
func (d *Decoder) reading(tank int) *Reading {
	ts := d.report.Tanks
	i := len(ts)
	for i > 0 && ts[i-1].Tank > tank {
		i--
	}
	if i > 0 && ts[i-1].Tank == tank {
		return &ts[i-1]
	}
	ts = append(ts, Reading{})
	copy(ts[i+1:], ts[i:])
	ts[i] = Reading{Tank: tank}
	d.report.Tanks = ts
	return &ts[i]
}

// set stores a value, once.
func (r *Reading) set(f field, q Quantity) bool {
	var has Has
	var to *Quantity
	switch f {
	case fieldRate:
		has, to = HasRate, &r.Rate
	case fieldTarget:
		has, to = HasTarget, &r.Target
	case fieldFlow:
		has, to = HasFlow, &r.Flow
	case fieldTotal:
		has, to = HasTotal, &r.Total
	default:
		has, to = HasLevel, &r.Level
	}
	if r.Has&has != 0 {
		return false
	}
	r.Has |= has
	*to = q
	return true
}

func duplicate(name string, raw []byte) *LineError {
	return refuse(ReasonDuplicate, name, raw, "each value once in a line")
}

// tankNumber reads 1 to MaxTank.
func tankNumber(text []byte) (int, bool) {
	text = trimBlanks(text)
	if len(text) == 0 {
		return 0, false
	}
	text = bytes.TrimLeft(text, "0")
	if len(text) == 0 || len(text) > 2 {
		return 0, false
	}
	n := 0
	for _, c := range text {
		if !isDigit(c) {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, n <= MaxTank
}
