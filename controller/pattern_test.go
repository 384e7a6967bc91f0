package controller

import "testing"

func TestPattern(t *testing.T) {
	t.Parallel()
	spec := matching(`^R(?P<id>\d+),(?P<rate>[^,;]*)(?:,(?P<flow>[^,;]*))?(?:;(?P<bits>[01]+)(?P<work>[A-Z0-9])?)?$`,
		ColumnSpec{Column: "rate", Field: "rate", TankFrom: "id", Unit: "kg/m2"},
		ColumnSpec{Column: "flow", Field: "flow", Tank: 3, Unit: "l/s", Scale: ptr(0.1)},
		ColumnSpec{Column: "bits", Field: "sections", First: "right"},
		ColumnSpec{Column: "work", Field: "work"})
	checkLines(t, newDecoder(t, spec, Defaults{}), []lineCase{
		{"R2,5", "2.rate=5kg/m2"},
		{"R2,5,10", "2.rate=5kg/m2 3.flow=1l/s"},
		{"R2, 5 ,10;110\r\n", "sections=011 2.rate=5kg/m2 3.flow=1l/s"},
		{"R2,;1A", "!bad_work work"},
		{"R2,;10", "sections=01"}, // the greedy group took both, "work" took no part
		{"R2,,10", "3.flow=1l/s"},
		{"R2,", "!empty"},
		{"R2,,", "!empty"},
		{"S2,5", "!no_match"},
		{" R2,5", "!no_match"},
		{"R2", "!no_match"},
		{"R0,5", "!bad_tank id"},
		{"R100,5", "!bad_tank id"},
		{"R99999999999999999999,5", "!bad_tank id"},
		{"R2,x", "!bad_number rate"},
		{"R2,5l/min", "!bad_unit rate"},
		{"R2,-5", "!out_of_range rate"},
		{"R2,5,10;2", "!no_match"},
		{"", "!blank"},
	})
}

func TestPatternDuplicate(t *testing.T) {
	t.Parallel()
	spec := matching(`(?P<a>\d+)=(?P<x>\d+) (?P<b>\d+)=(?P<y>\d+)`,
		ColumnSpec{Column: "x", Field: "rate", TankFrom: "a", Unit: "kg/m2"}, ColumnSpec{Column: "y", Field: "rate", TankFrom: "b", Unit: "kg/m2"})
	checkLines(t, newDecoder(t, spec, Defaults{}), []lineCase{
		{"2=5 1=6", "1.rate=6kg/m2 2.rate=5kg/m2"}, {"2=5 2=6", "!duplicate y (rate)"},
	})
}

// The expression sees the line without its checksum.
func TestPatternChecksum(t *testing.T) {
	t.Parallel()
	spec := matching(`^(?P<v>\d+)$`, ColumnSpec{Column: "v", Field: "level", Tank: 1, Unit: "kg"})
	spec.Checksum = "sum8"
	checkLines(t, newDecoder(t, spec, Defaults{}), []lineCase{
		{"123456789*DD", "1.level=1.23456789e+08kg"}, {"123456789*DE", "!checksum"}, {"123456789", "!checksum"},
	})
}

func BenchmarkPattern(b *testing.B) {
	d := newDecoder(b, matching(`^R(?P<id>\d+),(?P<bits>[01]+),(?P<rate>[\d.]+)$`,
		ColumnSpec{Column: "rate", Field: "rate", TankFrom: "id", Unit: "kg/ha"},
		ColumnSpec{Column: "bits", Field: "sections"}), Defaults{})
	line := []byte("R1,1111,112.5")
	b.ReportAllocs()
	b.SetBytes(int64(len(line)))
	for b.Loop() {
		if r, e := d.Line(line); e != nil || len(r.Tanks) != 1 {
			b.Fatal(e)
		}
	}
}
