package controller

import (
	"fmt"
	"strconv"
)

// locate finds a column, header name or group; it reports what is wrong.
type locate func(path, name string) (place, bool)

// columns checks and compiles the columns of a delimited or pattern profile.
func (c *compiler) columns(find locate) {
	if len(c.spec.Columns) == 0 {
		c.problem("columns", "", "at least one, such as {column: 4, field: rate, tank: 1, unit: kg/ha}")
	}
	taken := make(map[string]int) // what a column holds -> its index, looked up only
	for i := range c.spec.Columns {
		s := &c.spec.Columns[i]
		path := fmt.Sprintf("columns[%d]", i)
		col, ok := c.column(path, s, find)
		if !ok {
			continue
		}
		key := fmt.Sprint(col.field, " ", col.tank, " ", s.TankFrom)
		if first, twice := taken[key]; twice {
			c.problem(path, holds(s), fmt.Sprintf("something else: columns[%d] holds that already", first))
			continue
		}
		taken[key] = i
		c.p.columns = append(c.p.columns, col)
	}
}

// holds says in words what a column holds.
func holds(s *ColumnSpec) string {
	switch {
	case s.TankFrom != "":
		return s.Field + " of the tank in " + s.TankFrom
	case s.Tank != 0:
		return fmt.Sprintf("%s of tank %d", s.Field, s.Tank)
	default:
		return s.Field
	}
}

// column checks one column. ok is false where its field is not known, which
// leaves nothing to compare with the others.
func (c *compiler) column(path string, s *ColumnSpec, find locate) (col column, ok bool) {
	col = column{name: s.Column, scale: 1}
	if s.Column == "" {
		c.problem(path+".column", "", "a column number from 1, a header name or the name of a group")
	} else {
		col.place, _ = find(path+".column", s.Column)
		if _, err := strconv.Atoi(s.Column); err == nil {
			col.name = "column " + s.Column
		}
	}
	if col.field = fieldNamed([]byte(s.Field)); col.field == fieldEnd {
		c.problem(path+".field", s.Field, "work, sections, speed, rate, target, flow, total or level")
		return col, false
	}
	if s.Column != s.Field {
		col.name += " (" + s.Field + ")"
	}
	c.tankOf(path, s, &col, find)
	c.number(path, s, &col)
	c.sections(path, s, &col)
	return col, true
}

// tankOf checks which tank the column speaks of.
func (c *compiler) tankOf(path string, s *ColumnSpec, col *column, find locate) {
	if !col.field.perTank() {
		c.unused(path+".tank", s.Tank != 0, strconv.Itoa(s.Tank), "no tank: "+s.Field+" is of the whole implement")
		c.unused(path+".tank_from", s.TankFrom != "", s.TankFrom, "no tank_from: "+s.Field+" is of the whole implement")
		return
	}
	switch {
	case s.Tank != 0 && s.TankFrom != "":
		c.problem(path, fmt.Sprintf("tank: %d and tank_from: %s", s.Tank, s.TankFrom), "one of the two")
	case s.TankFrom != "":
		col.tankPlace, _ = find(path+".tank_from", s.TankFrom)
	case s.Tank == 0:
		c.problem(path+".tank", "", "the tank that the "+s.Field+" is of, from 1, or tank_from: the column or group that gives it")
	case s.Tank < 1 || s.Tank > MaxTank:
		c.problem(path+".tank", strconv.Itoa(s.Tank), fmt.Sprintf("a tank number from 1 to %d", MaxTank))
	default:
		col.tank = s.Tank
	}
}

// number checks unit, scale and offset.
func (c *compiler) number(path string, s *ColumnSpec, col *column) {
	if col.field == fieldWork || col.field == fieldSections {
		c.unused(path+".unit", s.Unit != "", s.Unit, "no unit: "+s.Field+" has none")
		c.unused(path+".scale", s.Scale != nil, "a scale", "no scale: "+s.Field+" is not a number")
		c.unused(path+".offset", s.Offset != 0, "an offset", "no offset: "+s.Field+" is not a number")
		return
	}
	if s.Unit != "" {
		c.unitOf(path+".unit", s, col)
	}
	if s.Scale != nil {
		col.scale, col.scaled = *s.Scale, true
		if !finite(col.scale) || col.scale == 0 {
			c.problem(path+".scale", strconv.FormatFloat(col.scale, 'g', -1, 64), "a finite number other than 0; leave it out for 1")
		}
	}
	col.offset = s.Offset
	if !finite(s.Offset) {
		c.problem(path+".offset", strconv.FormatFloat(s.Offset, 'g', -1, 64), "a finite number, in the column's unit")
	}
	col.scaled = col.scaled && col.scale != 1 || s.Offset != 0
}

// unitOf checks that the unit fits the field and what the tank meters.
func (c *compiler) unitOf(path string, s *ColumnSpec, col *column) {
	u, err := ParseUnit(s.Unit)
	if err != nil || !col.field.fits(u.Dim) {
		c.problem(path, s.Unit, col.field.wantUnit())
		return
	}
	col.unit = u
	if col.tank == 0 {
		return
	}
	t := c.p.defaults.tank(col.tank)
	amount := t.Unit.Dim.Amount()
	if _, ok := u.Quantity(1).As(amount, t.ThousandKernelG); ok || amount == DimNone {
		return
	}
	want := fmt.Sprintf("a unit of %s, as tank %d is configured in %s", amount, col.tank, t.Unit.Name)
	if amount != DimVolume && u.Dim.Amount() != DimVolume {
		want += ", or the product's thousand_kernel_g"
	}
	c.problem(path, s.Unit, want)
}

// sections checks format and first.
func (c *compiler) sections(path string, s *ColumnSpec, col *column) {
	if col.field != fieldSections {
		c.unused(path+".format", s.Format != "", s.Format, "no format: it is for sections only")
		c.unused(path+".first", s.First != "", s.First, "no first: it is for sections only")
		return
	}
	var ok bool
	if col.format, ok = sectionFormatNamed(s.Format); !ok {
		c.problem(path+".format", s.Format, "bits, hex or decimal")
	}
	switch s.First {
	case "", "left":
	case "right":
		col.fromRight = true
	default:
		c.problem(path+".first", s.First, "left or right: the end at which the first section is")
	}
}
