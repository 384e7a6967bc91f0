package controller

import (
	"math"
	"strings"
	"testing"
)

func ptr(v float64) *float64 { return &v }

// one is a delimited profile of one column.
func one(c ColumnSpec) ProfileSpec {
	return ProfileSpec{Kind: "delimited", Columns: []ColumnSpec{c}}
}

func matching(pattern string, c ...ColumnSpec) ProfileSpec {
	return ProfileSpec{Kind: "pattern", Pattern: pattern, Columns: c}
}

func TestCompileFaults(t *testing.T) {
	t.Parallel()
	rate := ColumnSpec{Column: "1", Field: "rate", Tank: 1, Unit: "kg/ha"}
	with := func(change func(*ColumnSpec)) ProfileSpec {
		c := rate
		change(&c)
		return one(c)
	}
	dry := Defaults{Tanks: []TankDefault{{Tank: 1, Unit: mustUnit(t, "kg/ha")}}}
	for _, c := range []struct {
		name     string
		spec     ProfileSpec
		defaults Defaults
		path     string
		want     string // part of what it says to write
	}{
		{"kind", ProfileSpec{Kind: "csv"}, Defaults{}, "kind", "keyvalue, delimited or pattern"},
		{"keyvalue with columns", ProfileSpec{Columns: []ColumnSpec{rate}}, Defaults{}, "columns", "kind: delimited or pattern"},
		{"keyvalue with separator", ProfileSpec{Separator: ";"}, Defaults{}, "separator", "kind: delimited"},
		{"keyvalue with header", ProfileSpec{Header: true}, Defaults{}, "header", "kind: delimited"},
		{"keyvalue with pattern", ProfileSpec{Pattern: "x"}, Defaults{}, "pattern", "kind: pattern"},
		{"keyvalue with crc", ProfileSpec{Checksum: "crc16-ccitt"}, Defaults{}, "checksum", "xor8"},
		{"keyvalue checksum", ProfileSpec{Checksum: "md5"}, Defaults{}, "checksum", "xor8"},
		{"checksum", ProfileSpec{Kind: "delimited", Checksum: "crc32", Columns: []ColumnSpec{rate}}, Defaults{}, "checksum", "none, xor8, sum8 or crc16-ccitt"},
		{"no columns", ProfileSpec{Kind: "delimited"}, Defaults{}, "columns", "at least one"},
		{"no groups", ProfileSpec{Kind: "pattern", Pattern: "x"}, Defaults{}, "columns", "at least one"},
		{"long separator", ProfileSpec{Kind: "delimited", Separator: ", ", Columns: []ColumnSpec{rate}}, Defaults{}, "separator", "one ASCII character"},
		{"wide separator", ProfileSpec{Kind: "delimited", Separator: "·", Columns: []ColumnSpec{rate}}, Defaults{}, "separator", "one ASCII character"},
		{"control separator", ProfileSpec{Kind: "delimited", Separator: "\r", Columns: []ColumnSpec{rate}}, Defaults{}, "separator", "one ASCII character"},
		{"separator in numbers", ProfileSpec{Kind: "delimited", Separator: ".", Columns: []ColumnSpec{rate}}, Defaults{}, "separator", "not part of a number"},
		{"separator in units", ProfileSpec{Kind: "delimited", Separator: "k", Columns: []ColumnSpec{rate}}, Defaults{}, "separator", "not part of a number"},
		{"delimited with pattern", ProfileSpec{Kind: "delimited", Pattern: "x", Columns: []ColumnSpec{rate}}, Defaults{}, "pattern", "kind: pattern"},
		{"no column", with(func(c *ColumnSpec) { c.Column = "" }), Defaults{}, "columns[0].column", "a column number"},
		{"column 0", with(func(c *ColumnSpec) { c.Column = "0" }), Defaults{}, "columns[0].column", "from 1"},
		{"column -1", with(func(c *ColumnSpec) { c.Column = "-1" }), Defaults{}, "columns[0].column", "from 1"},
		{"column far out", with(func(c *ColumnSpec) { c.Column = "99999" }), Defaults{}, "columns[0].column", "1 to 1024"},
		{"name without header", with(func(c *ColumnSpec) { c.Column = "Rate" }), Defaults{}, "columns[0].column", "header: true"},
		{"name in blanks", with(func(c *ColumnSpec) { c.Column = " Rate" }), Defaults{}, "columns[0].column", "without blanks"},
		{"no field", with(func(c *ColumnSpec) { c.Field = "" }), Defaults{}, "columns[0].field", "work, sections, speed"},
		{"field", with(func(c *ColumnSpec) { c.Field = "pressure" }), Defaults{}, "columns[0].field", "work, sections, speed"},
		{"unit", with(func(c *ColumnSpec) { c.Unit = "stone/ac" }), Defaults{}, "columns[0].unit", "kg/ha"},
		{"unit of a flow", with(func(c *ColumnSpec) { c.Unit = "l/min" }), Defaults{}, "columns[0].unit", "per area"},
		{"unit of a rate", with(func(c *ColumnSpec) { c.Field, c.Unit = "flow", "l/ha" }), Defaults{}, "columns[0].unit", "per time"},
		{"unit of a total", with(func(c *ColumnSpec) { c.Field, c.Unit = "total", "kg/ha" }), Defaults{}, "columns[0].unit", "an amount, such as kg"},
		{"unit of a speed", one(ColumnSpec{Column: "1", Field: "speed", Unit: "kg"}), Defaults{}, "columns[0].unit", "km/h"},
		{"unit against the tank", with(func(c *ColumnSpec) { c.Unit = "gal/ac" }), dry, "columns[0].unit", "unit of mass, as tank 1 is configured in kg/ha"},
		{"seeds without their weight", with(func(c *ColumnSpec) { c.Unit = "seeds/m2" }), dry, "columns[0].unit", "thousand_kernel_g"},
		{"unit of sections", one(ColumnSpec{Column: "1", Field: "sections", Unit: "m"}), Defaults{}, "columns[0].unit", "no unit"},
		{"scale of work", one(ColumnSpec{Column: "1", Field: "work", Scale: ptr(2)}), Defaults{}, "columns[0].scale", "no scale"},
		{"offset of work", one(ColumnSpec{Column: "1", Field: "work", Offset: 2}), Defaults{}, "columns[0].offset", "no offset"},
		{"no tank", with(func(c *ColumnSpec) { c.Tank = 0 }), Defaults{}, "columns[0].tank", "tank_from"},
		{"tank -1", with(func(c *ColumnSpec) { c.Tank = -1 }), Defaults{}, "columns[0].tank", "1 to 99"},
		{"tank 100", with(func(c *ColumnSpec) { c.Tank = 100 }), Defaults{}, "columns[0].tank", "1 to 99"},
		{"both tanks", with(func(c *ColumnSpec) { c.TankFrom = "2" }), Defaults{}, "columns[0]", "one of the two"},
		{"tank_from 0", with(func(c *ColumnSpec) { c.Tank, c.TankFrom = 0, "0" }), Defaults{}, "columns[0].tank_from", "from 1"},
		{"tank_from a name", with(func(c *ColumnSpec) { c.Tank, c.TankFrom = 0, "id" }), Defaults{}, "columns[0].tank_from", "header: true"},
		{"tank of speed", one(ColumnSpec{Column: "1", Field: "speed", Tank: 1}), Defaults{}, "columns[0].tank", "whole implement"},
		{"tank_from of work", one(ColumnSpec{Column: "1", Field: "work", TankFrom: "2"}), Defaults{}, "columns[0].tank_from", "whole implement"},
		{"scale 0", with(func(c *ColumnSpec) { c.Scale = ptr(0) }), Defaults{}, "columns[0].scale", "other than 0"},
		{"scale NaN", with(func(c *ColumnSpec) { c.Scale = ptr(math.NaN()) }), Defaults{}, "columns[0].scale", "finite"},
		{"scale Inf", with(func(c *ColumnSpec) { c.Scale = ptr(math.Inf(1)) }), Defaults{}, "columns[0].scale", "finite"},
		{"offset NaN", with(func(c *ColumnSpec) { c.Offset = math.NaN() }), Defaults{}, "columns[0].offset", "finite"},
		{"offset Inf", with(func(c *ColumnSpec) { c.Offset = math.Inf(-1) }), Defaults{}, "columns[0].offset", "finite"},
		{"format", one(ColumnSpec{Column: "1", Field: "sections", Format: "octal"}), Defaults{}, "columns[0].format", "bits, hex or decimal"},
		{"first", one(ColumnSpec{Column: "1", Field: "sections", First: "middle"}), Defaults{}, "columns[0].first", "left or right"},
		{"format of a rate", with(func(c *ColumnSpec) { c.Format = "hex" }), Defaults{}, "columns[0].format", "sections only"},
		{"first of a rate", with(func(c *ColumnSpec) { c.First = "left" }), Defaults{}, "columns[0].first", "sections only"},
		{"same twice", ProfileSpec{Kind: "delimited", Columns: []ColumnSpec{rate, {Column: "2", Field: "rate", Tank: 1}}}, Defaults{}, "columns[1]", "columns[0] holds that already"},
		{"speed twice", ProfileSpec{Kind: "delimited", Columns: []ColumnSpec{{Column: "1", Field: "speed"}, {Column: "2", Field: "speed"}}}, Defaults{}, "columns[1]", "columns[0]"},
		{"no pattern", matching("", rate), Defaults{}, "pattern", "an RE2 expression"},
		{"bad pattern", matching(`^R(?P<rate>\d+`, rate), Defaults{}, "pattern", "missing closing )"},
		{"not RE2", matching(`(?P<rate>\d+)(?=x)`, rate), Defaults{}, "pattern", "invalid or unsupported Perl syntax"},
		{"long pattern", matching(strings.Repeat("x", 5000), rate), Defaults{}, "pattern", "at most 4096 bytes"},
		{"hungry pattern", matching(`((x{1000}){1000}){1000}`, rate), Defaults{}, "pattern", "RE2"},
		{"no such group", matching(`^R(?P<dose>\d+)$`, ColumnSpec{Column: "rate", Field: "rate", Tank: 1}), Defaults{}, "columns[0].column", "it has dose"},
		{"no named group", matching(`^R(\d+)$`, ColumnSpec{Column: "rate", Field: "rate", Tank: 1}), Defaults{}, "columns[0].column", "no named group"},
		{"no such group for the tank", matching(`^R(?P<rate>\d+)$`, ColumnSpec{Column: "rate", Field: "rate", TankFrom: "id"}), Defaults{}, "columns[0].tank_from", "it has rate"},
		{"pattern with separator", ProfileSpec{Kind: "pattern", Pattern: `(?P<w>.)`, Separator: ";", Columns: []ColumnSpec{{Column: "w", Field: "work"}}}, Defaults{}, "separator", "kind: delimited"},
		{"pattern with header", ProfileSpec{Kind: "pattern", Pattern: `(?P<w>.)`, Header: true, Columns: []ColumnSpec{{Column: "w", Field: "work"}}}, Defaults{}, "header", "kind: delimited"},
		{"pattern with checksum", ProfileSpec{Kind: "pattern", Pattern: `(?P<w>.)`, Checksum: "xor", Columns: []ColumnSpec{{Column: "w", Field: "work"}}}, Defaults{}, "checksum", "xor8"},
		{"profile's rate", ProfileSpec{Units: UnitSpec{Rate: "kg"}}, Defaults{}, "units.rate", "per area"},
		{"profile's second rate", ProfileSpec{Units: UnitSpec{Rate: "kg/ha, l/h"}}, Defaults{}, "units.rate", "per area"},
		{"profile's flow", ProfileSpec{Units: UnitSpec{Flow: "gpm"}}, Defaults{}, "units.flow", "per time"},
		{"profile's total", ProfileSpec{Units: UnitSpec{Total: "l/ha"}}, Defaults{}, "units.total", "an amount"},
		{"profile's level", ProfileSpec{Units: UnitSpec{Level: "%"}}, Defaults{}, "units.level", "an amount"},
		{"profile's speed", ProfileSpec{Units: UnitSpec{Speed: "km"}}, Defaults{}, "units.speed", "km/h"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			p, problems := Compile(c.spec, c.defaults)
			if p != nil || len(problems) != 1 {
				t.Fatalf("Compile(%+v): got profile %v and problems %v, want one problem at %s", c.spec, p != nil, problems, c.path)
			}
			got := problems[0]
			if got.Path != c.path || !strings.Contains(got.Want, c.want) || got.Got == "" {
				t.Errorf("Compile(%+v): got %v, want path %s and advice with %q", c.spec, got, c.path, c.want)
			}
		})
	}
}

// Every fault is found in one go, in the order of the file.
func TestCompileFindsAllFaults(t *testing.T) {
	t.Parallel()
	_, problems := Compile(ProfileSpec{
		Kind: "delimited", Separator: ";;", Checksum: "md5", Units: UnitSpec{Rate: "furlong"},
		Columns: []ColumnSpec{
			{Column: "0", Field: "rate", Unit: "l/min", Scale: ptr(0)},
			{Column: "Rate", Field: "pressure"},
			{Column: "2", Field: "sections", Format: "octal", First: "top"},
		},
	}, Defaults{})
	want := []string{"units.rate", "checksum", "separator", "columns[0].column", "columns[0].tank", "columns[0].unit", "columns[0].scale",
		"columns[1].column", "columns[1].field", "columns[2].format", "columns[2].first"}
	var got []string
	for _, p := range problems {
		got = append(got, p.Path)
	}
	if strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("paths:\n got %v\nwant %v", got, want)
	}
}

func TestCompileAccepts(t *testing.T) {
	t.Parallel()
	rate := ColumnSpec{Column: "1", Field: "rate", Tank: 1}
	for _, spec := range []ProfileSpec{
		{}, {Kind: "keyvalue"}, {Checksum: "none"}, {Checksum: "xor8"},
		{Units: UnitSpec{Rate: "kg/ha, gal/ac", Flow: "L/min", Total: "lb", Level: "lb", Speed: "mph"}},
		{Kind: "delimited", Columns: []ColumnSpec{rate, {Column: "1", Field: "target", Tank: 1}, {Column: "2", Field: "rate", TankFrom: "3"}}},
		{Kind: "delimited", Separator: "\t", Columns: []ColumnSpec{rate}},
		{Kind: "delimited", Separator: " ", Columns: []ColumnSpec{rate}},
		{Kind: "delimited", Separator: "space", Header: true, Columns: []ColumnSpec{{Column: "dose kg/ha", Field: "rate", TankFrom: "hopper"}}},
	} {
		if _, problems := Compile(spec, Defaults{}); len(problems) > 0 {
			t.Errorf("Compile(%+v): %v", spec, problems)
		}
	}
	seeds := one(ColumnSpec{Column: "1", Field: "rate", Tank: 1, Unit: "seeds/m2"})
	weighed := Defaults{Tanks: []TankDefault{{Tank: 1, Unit: mustUnit(t, "kg/ha"), ThousandKernelG: 38}}}
	if _, problems := Compile(seeds, weighed); len(problems) > 0 {
		t.Errorf("seeds/m2 for a tank in kg/ha of 38 g per 1000: %v", problems)
	}
}
