package config

import (
	"errors"
	"strconv"

	"drawbar/controller"
	"drawbar/replay/statement"
)

// LineSpec reads a line profile that stands alone, as JSON, with the members of
// controller.line. Whether its values make sense is for controller.Compile to say.
func LineSpec(text []byte) (controller.ProfileSpec, *statement.Faults) {
	faults := &statement.Faults{}
	n, err := statement.FromJSON(text)
	if fault := (statement.Fault{}); errors.As(err, &fault) {
		faults.Put(fault)
		return controller.ProfileSpec{}, faults
	}
	return lineSpec(n, "", faults), faults
}

// lineSpec reads a line profile as it is written. Whether its values make
// sense is for controller.Compile to say; what is checked here is their form.
func lineSpec(n *statement.Node, at string, faults *statement.Faults) (spec controller.ProfileSpec) {
	o, ok := statement.Open(n, at, faults, []string{"kind", "separator", "header", "checksum", "pattern", "columns", "units"})
	if !ok {
		return spec
	}
	spec.Kind = defaultKind
	if kind, ok := o.Raw("kind", "one of keyvalue, delimited, pattern"); ok {
		spec.Kind = kind
	}
	spec.Separator, _ = o.Raw("separator", `one character in quotes, or "space"`)
	spec.Header, _ = o.Bool("header")
	spec.Checksum, _ = o.Raw("checksum", "one of none, xor8, sum8, crc16-ccitt")
	spec.Pattern, _ = o.Raw("pattern", "a regular expression with named groups, in quotes")
	items, _ := o.List("columns", "a list of columns such as {column: 1, field: rate, tank: 1, unit: kg/ha}")
	for i := range items {
		spec.Columns = append(spec.Columns, columnSpec(&items[i], o.Path("columns")+"["+strconv.Itoa(i)+"]", faults))
	}
	if units := section(o, "units"); units != nil {
		spec.Units = unitSpec(units, o.Path("units"), faults)
	}
	return spec
}

func columnSpec(n *statement.Node, at string, faults *statement.Faults) (c controller.ColumnSpec) {
	o, ok := statement.Open(n, at, faults, []string{
		"column", "field", "tank", "tank_from", "unit", "scale", "offset", "format", "first",
	})
	if !ok {
		return c
	}
	c.Column = columnName(o, "column")
	c.TankFrom = columnName(o, "tank_from")
	c.Field, _ = o.Raw("field", "one of work, sections, speed, rate, target, flow, total, level")
	c.Tank, _ = o.Int("tank", 1, controller.MaxTank)
	c.Unit, _ = o.Raw("unit", "a unit such as kg/ha")
	const most = 1e12
	if v, ok := o.Number("scale", statement.Range{Min: -most, Max: most}); ok {
		c.Scale = &v
	}
	c.Offset, _ = o.Number("offset", statement.Range{Min: -most, Max: most})
	c.Format, _ = o.Raw("format", "one of bits, hex, decimal")
	c.First, _ = o.Raw("first", "left or right")
	return c
}

// columnName reads a column: its number from 1, its name in the header, or a group.
func columnName(o statement.Object, key string) string {
	if n := o.Get(key); n == nil || n.Kind != statement.KindNumber {
		s, _ := o.Raw(key, "a column's number from 1 or its name")
		return s
	}
	v, ok := o.Int(key, 1, 100_000)
	if !ok {
		return ""
	}
	return strconv.Itoa(v)
}

func unitSpec(n *statement.Node, at string, faults *statement.Faults) (u controller.UnitSpec) {
	o, ok := statement.Open(n, at, faults, []string{"rate", "flow", "total", "level", "speed"})
	if !ok {
		return u
	}
	u.Rate, _ = o.Raw("rate", "units such as kg/ha")
	u.Flow, _ = o.Raw("flow", "units such as l/min")
	u.Total, _ = o.Raw("total", "units such as kg")
	u.Level, _ = o.Raw("level", "units such as kg")
	u.Speed, _ = o.Raw("speed", "a unit such as km/h")
	return u
}
