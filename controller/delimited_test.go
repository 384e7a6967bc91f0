package controller

import (
	"fmt"
	"strings"
	"testing"
)

func TestDelimited(t *testing.T) {
	t.Parallel()
	spec := ProfileSpec{Kind: "delimited", Columns: []ColumnSpec{
		{Column: "2", Field: "work"},
		{Column: "3", Field: "sections", Format: "hex"},
		{Column: "4", Field: "rate", Tank: 1, Unit: "kg/m2", Scale: ptr(0.5), Offset: -1},
		{Column: "5", Field: "flow", Tank: 1, Unit: "l/s"},
		{Column: "1", Field: "speed", Unit: "m/s"},
	}}
	checkLines(t, newDecoder(t, spec, Defaults{Sections: 6}), []lineCase{
		{"3,1,3F,8,2,ignored", "work=true sections=111111 speed=3 1.rate=3kg/m2 1.flow=2l/s"}, // 8 x 0.5 - 1
		{" 3 ,\t1 , 0x01 ,8 , 2 ", "work=true sections=100000 speed=3 1.rate=3kg/m2 1.flow=2l/s"},
		{"3,,,,", "speed=3"}, // not reported, not zero
		{",,,,2 kg/s", "1.flow=2kg/s"},
		{",,,2,", "1.rate=0kg/m2"},
		{"3,1,3F,8", "!missing_column column 5 (flow)"},
		{"3", "!missing_column column 2 (work)"},
		{",,,,", "!empty"},
		{",,,,,5", "!empty"},
		{"3,1,7F,8,2", "!bad_sections column 3 (sections)"},
		{"3,2,3F,8,2", "!bad_work column 2 (work)"},
		{"3,1,3F,x,2", "!bad_number column 4 (rate)"},
		{"3,1,3F,8kg/m2,2", "!bad_unit column 4 (rate)"}, // a scaled column takes plain numbers
		{"3,1,3F,8,2kg", "!bad_unit column 5 (flow)"},
		{"3,1,3F,1,2", "!out_of_range column 4 (rate)"},  // 1 x 0.5 - 1 is below zero
		{"3,1,3F,8,2*31", "!bad_number column 5 (flow)"}, // no checksum in this profile
		{"", "!blank"},
		{"\x02 3,1,3F,8,2", "!not_text"},
	})
}

func TestDelimitedSeparators(t *testing.T) {
	t.Parallel()
	columns := []ColumnSpec{{Column: "1", Field: "speed", Unit: "m/s"}, {Column: "2", Field: "work"}, {Column: "3", Field: "rate", Tank: 1, Unit: "kg/m2"}}
	for separator, cases := range map[string][]lineCase{
		"":      {{"3,1,5", "work=true speed=3 1.rate=5kg/m2"}},
		";":     {{"3;1;5", "work=true speed=3 1.rate=5kg/m2"}, {"3,1,5", "!bad_number column 1 (speed)"}, {"3;1;5,5", "!bad_number column 3 (rate)"}},
		"\t":    {{"3\t1\t5", "work=true speed=3 1.rate=5kg/m2"}, {"\t\t5", "1.rate=5kg/m2"}, {"3\t\t\r\n", "speed=3"}, {"3\t", "!missing_column column 3 (rate)"}},
		" ":     {{"3 1 5", "work=true speed=3 1.rate=5kg/m2"}, {"3  5", "speed=3 1.rate=5kg/m2"}},
		"|":     {{"3|1|5", "work=true speed=3 1.rate=5kg/m2"}},
		"space": {{"  3 \t 1   5 ", "work=true speed=3 1.rate=5kg/m2"}, {"3 1", "!missing_column column 3 (rate)"}},
	} {
		checkLines(t, newDecoder(t, ProfileSpec{Kind: "delimited", Separator: separator, Columns: columns}, Defaults{}), cases)
	}
}

func TestDelimitedTankFrom(t *testing.T) {
	t.Parallel()
	spec := ProfileSpec{Kind: "delimited", Columns: []ColumnSpec{
		{Column: "2", Field: "rate", TankFrom: "1", Unit: "kg/m2"},
		{Column: "4", Field: "rate", TankFrom: "3", Unit: "kg/m2"},
		{Column: "5", Field: "level", Tank: 2, Unit: "kg"},
	}}
	checkLines(t, newDecoder(t, spec, Defaults{}), []lineCase{
		{"1,3,2,4,50", "1.rate=3kg/m2 2.rate=4kg/m2 2.level=50kg"},
		{"7,3,2,4,50", "2.rate=4kg/m2 2.level=50kg 7.rate=3kg/m2"},
		{"007,3,,,", "7.rate=3kg/m2"},
		{",,2,4,", "2.rate=4kg/m2"}, // no value, so no tank is asked for
		{"1,3,1,4,", "!duplicate column 4 (rate)"},
		{",3,2,4,", "!bad_tank column 1"},
		{"0,3,2,4,", "!bad_tank column 1"},
		{"100,3,2,4,", "!bad_tank column 1"},
		{"A,3,2,4,", "!bad_tank column 1"},
		{"1.5,3,2,4,", "!bad_tank column 1"},
		{"-1,3,2,4,", "!bad_tank column 1"},
	})
	behind := ProfileSpec{Kind: "delimited", Columns: []ColumnSpec{{Column: "1", Field: "rate", TankFrom: "9"}}}
	checkLines(t, newDecoder(t, behind, Defaults{}), []lineCase{{"5,1", "!missing_column column 9"}})
}

func TestDelimitedHeaderNames(t *testing.T) {
	t.Parallel()
	spec := ProfileSpec{Kind: "delimited", Header: true, Separator: ";", Columns: []ColumnSpec{
		{Column: "dose kg/m2", Field: "rate", TankFrom: "hopper", Unit: "kg/m2"},
		{Column: "speed m/s", Field: "speed", Unit: "m/s"},
		{Column: "1", Field: "work"},
	}}
	checkLines(t, newDecoder(t, spec, Defaults{}), []lineCase{
		{"1;2;3;4", "!bad_header dose kg/m2"}, // came in late: nothing is known until a header says it
		{"on;hopper;dose kg/m2", "!bad_header speed m/s"},
		{"on;hopper;dose kg/m2;speed m/s;speed m/s", "!bad_header speed m/s"},
		{"on;hopper;dose kg/m2;speed m/s", "!header"},
		{"1;2;3;4", "work=true speed=4 2.rate=3kg/m2"},
		{"on;hopper;dose kg/m2;speed m/s", "!header"}, // said again
		{"0;2;3;4", "work=false speed=4 2.rate=3kg/m2"},
		{"1;2;3", "!missing_column speed m/s (speed)"},
		{" on ; speed m/s; hopper ;dose kg/m2; more", "!header"}, // in another order
		{"1;4;2;3;0", "work=true speed=4 2.rate=3kg/m2"},
		{"1;4;x;3;0", "!bad_tank hopper"},
		{"1;4;2;x;0", "!bad_number dose kg/m2 (rate)"},
	})
}

func TestDelimitedHeaderNumbers(t *testing.T) {
	t.Parallel()
	spec := ProfileSpec{Kind: "delimited", Header: true, Columns: []ColumnSpec{{Column: "2", Field: "speed", Unit: "m/s"}}}
	checkLines(t, newDecoder(t, spec, Defaults{}), []lineCase{
		{"time,speed", "!header"}, {"13:05,3", "speed=3"}, {"time,speed", "!header"}, {"13:06,x", "!bad_number column 2 (speed)"},
	})
	checkLines(t, newDecoder(t, spec, Defaults{}), []lineCase{
		{"13:04,3", "speed=3"}, // came in late: values are values
		{"time,speed", "!header"}, {"13:06,5", "speed=5"},
	})
}

func TestDelimitedChecksums(t *testing.T) {
	t.Parallel()
	for name, good := range map[string]string{
		"xor8":        "1,5*28", // 31 ^ 2C ^ 35
		"sum8":        "1,5*92", // 31 + 2C + 35
		"crc16-ccitt": "123456789*29B1",
	} {
		spec := ProfileSpec{Kind: "delimited", Checksum: name, Columns: []ColumnSpec{{Column: "1", Field: "level", Tank: 1, Unit: "kg"}}}
		body, _, _ := strings.Cut(good, "*")
		value, _, _ := strings.Cut(body, ",")
		checkLines(t, newDecoder(t, spec, Defaults{}), []lineCase{
			{good, "1.level=" + levelText(value) + "kg"},
			{strings.ToLower(good) + " \r\n", "1.level=" + levelText(value) + "kg"},
			{body, "!checksum"},
			{body + "*", "!checksum"},
			{good + "0", "!checksum"},
			{good[:len(good)-1], "!checksum"},
			{"2" + good, "!checksum"},
		})
	}
}

func levelText(v string) string {
	if v == "123456789" {
		return "1.23456789e+08"
	}
	return v
}

func TestDelimitedHeaderAndChecksum(t *testing.T) {
	t.Parallel()
	spec := ProfileSpec{Kind: "delimited", Header: true, Checksum: "xor8", Columns: []ColumnSpec{{Column: "v", Field: "speed", Unit: "m/s"}}}
	checkLines(t, newDecoder(t, spec, Defaults{}), []lineCase{
		{"on,v*FF", "!checksum"},
		{"3,1", "!checksum"}, // neither a header nor summed up
		{"on,v", "!header"},  // a header line may go without
		{"1,5*28", "speed=5"},
		{"1,5", "!checksum"},
		{"v,on*00", "!checksum"},
		{fmt.Sprintf("v,on*%02X", checksumXOR8.of([]byte("v,on"))), "!header"},
		{"1,5*28", "speed=1"},
	})
}

func TestDelimitedAllocates(t *testing.T) {
	d, line := delimitedBench(t)
	got := testing.AllocsPerRun(200, func() {
		if _, e := d.Line(line); e != nil {
			t.Fatal(e)
		}
	})
	if got != 0 {
		t.Errorf("allocations a line: got %v, want 0", got)
	}
}

func delimitedBench(t testing.TB) (*Decoder, []byte) {
	d := newDecoder(t, ProfileSpec{Kind: "delimited", Header: true, Columns: []ColumnSpec{
		{Column: "work", Field: "work"}, {Column: "sections", Field: "sections", Format: "hex", First: "right"},
		{Column: "speed", Field: "speed"}, {Column: "rate 1", Field: "rate", Tank: 1, Unit: "kg/ha", Scale: ptr(0.1)},
		{Column: "target 1", Field: "target", Tank: 1}, {Column: "rate 2", Field: "rate", Tank: 2, Unit: "gal/ac"}, {Column: "flow 2", Field: "flow", Tank: 2},
	}}, Defaults{Sections: 12})
	if _, e := d.Line([]byte("time,work,sections,speed,rate 1,target 1,rate 2,flow 2")); e == nil || e.Reason != ReasonHeader {
		t.Fatal(e)
	}
	return d, []byte("130510.2,1,FFF,8.1,1125,112,8.2,41.2")
}

func BenchmarkDelimited(b *testing.B) {
	d, line := delimitedBench(b)
	b.ReportAllocs()
	b.SetBytes(int64(len(line)))
	for b.Loop() {
		if r, e := d.Line(line); e != nil || len(r.Tanks) != 2 {
			b.Fatal(e)
		}
	}
}
