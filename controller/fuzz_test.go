package controller

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// sound checks what holds of every report and refusal, whatever the bytes.
func sound(t *testing.T, d *Decoder, line []byte) {
	t.Helper()
	before := slices.Clone(line)
	r, e := d.Line(line)
	if !slices.Equal(before, line) {
		t.Fatalf("line %q was changed to %q", before, line)
	}
	first := show(r)
	if e != nil {
		if first != "" || r.Has != 0 || len(r.Tanks) != 0 || e.Error() == "" || int(e.Reason) >= ReasonCount {
			t.Fatalf("line %q: refused with %v, yet reported %q", line, e, first)
		}
	} else if first == "" {
		t.Fatalf("line %q: a report that says nothing", line)
	}
	if r.Sections.Len() > MaxSections || r.Has&HasSpeed == 0 && r.SpeedMPS != 0 {
		t.Fatalf("line %q: got %+v", line, r)
	}
	last := 0
	for _, reading := range r.Tanks {
		if reading.Tank <= last || reading.Tank > MaxTank || reading.Has == 0 {
			t.Fatalf("line %q: tank %d after %d, has %b", line, reading.Tank, last, reading.Has)
		}
		last = reading.Tank
		for _, v := range []struct {
			has Has
			f   field
			q   Quantity
		}{{HasRate, fieldRate, reading.Rate}, {HasTarget, fieldTarget, reading.Target}, {HasFlow, fieldFlow, reading.Flow},
			{HasTotal, fieldTotal, reading.Total}, {HasLevel, fieldLevel, reading.Level}} {
			said := reading.Has&v.has != 0
			if !said && v.q != (Quantity{}) || said && (!v.f.fits(v.q.Dim) || math.Abs(v.q.SI) > v.f.most() || math.IsNaN(v.q.SI)) {
				t.Fatalf("line %q: %s of tank %d is %+v, said %v", line, v.f, reading.Tank, v.q, said)
			}
		}
	}
	// Again, with nothing but a header remembered, it says the same.
	if e == nil {
		r, e = d.Line(line)
		if got := show(r); e != nil || got != first {
			t.Fatalf("line %q: said %q, then %q, %v", line, first, got, e)
		}
	}
}

func FuzzKeyValue(f *testing.F) {
	for _, seed := range []string{
		typicalLine, "work=1*0D", "work=1*", "tank.1.rate=112,5kg/ha", "tank.99.level=-2 tank.1.level=1e3lb", ";;,=\t", "sections=0101 sections=1",
		"tank.1.rate=0x1p4", "speed=.e", "tank.1.rate=9007199254740993e22", "tank..rate=1", "work=1 x=\xff", "tank.2.rate=200seeds/m2", "tank.1.flow=5ML/h",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		sound(t, newDecoder(t, ProfileSpec{}, Defaults{}), line)
		sound(t, newDecoder(t, ProfileSpec{Checksum: "xor8", Units: UnitSpec{Rate: "lb/ac"}}, Defaults{Sections: 4, Tanks: []TankDefault{
			{Tank: 1, Unit: mustUnit(t, "gal/ac")}, {Tank: 2, Unit: mustUnit(t, "kg/ha"), ThousandKernelG: 38},
		}}), line)
	})
}

func FuzzDelimited(f *testing.F) {
	f.Add(",", "none", "hex", "right", "2", []byte("on,rate\n1,3F,5,7,8"), 6, 0.1, 1.0)
	f.Add("space", "crc16-ccitt", "decimal", "left", "rate", []byte("on a b rate\n1 5 5  7 8*29B1"), 0, 1.0, 0.0)
	f.Add(";", "xor8", "bits", "", "0", []byte("1;5*28"), 0, -1e300, 1e300)
	f.Add("\t", "sum8", "", "left", "3", []byte("\t\t\t"), 300, 1e-300, -5.0)
	f.Fuzz(func(t *testing.T, separator, sum, format, first, column string, lines []byte, sections int, scale, offset float64) {
		spec := ProfileSpec{Kind: "delimited", Separator: separator, Checksum: sum, Header: strings.Contains(column, "a"), Columns: []ColumnSpec{
			{Column: "1", Field: "work"}, {Column: "2", Field: "sections", Format: format, First: first},
			{Column: "3", Field: "rate", TankFrom: column, Scale: &scale, Offset: offset}, {Column: column, Field: "level", Tank: 7, Unit: "lb"},
		}}
		p, problems := Compile(spec, Defaults{Sections: sections})
		if (p == nil) != (len(problems) > 0) {
			t.Fatalf("Compile(%+v): profile %v, problems %v", spec, p != nil, problems)
		}
		if p == nil {
			return
		}
		d := p.NewDecoder()
		for line := range strings.SplitSeq(string(lines), "\n") {
			sound(t, d, []byte(line))
		}
	})
}

func FuzzPattern(f *testing.F) {
	f.Add(`^R(?P<id>\d+),(?P<rate>[\d.]+)$`, []byte("R1,112.5"))
	f.Add(`(?P<id>.)?(?P<rate>.*)`, []byte("15*"))
	f.Add(`(?P<rate>\d+)|(?P<id>\d+)`, []byte("5"))
	f.Add(`(?i)(?:(?P<id>[0-9]{2})|x)+(?P<rate>)`, []byte("xx12x"))
	f.Fuzz(func(t *testing.T, pattern string, line []byte) {
		p, problems := Compile(matching(pattern, ColumnSpec{Column: "rate", Field: "rate", TankFrom: "id", Unit: "kg/ha"}), Defaults{})
		if (p == nil) != (len(problems) > 0) {
			t.Fatalf("Compile(%q): profile %v, problems %v", pattern, p != nil, problems)
		}
		if p != nil {
			sound(t, p.NewDecoder(), line)
		}
	})
}

func FuzzQuantity(f *testing.F) {
	for _, seed := range []string{"112.5kg/ha", "112 kg/ha", "8.2gal/ac", "33000seeds/ac", "41.2L/min", "3800 kg", "NaN", "0x1p-2", "1e999kg", "-0kg", "5 ML", "5 m³/h", "1_0kg", ".", "1e", "\xff"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		q, u, err := ParseQuantityUnit(text, Unit{})
		if err != nil {
			if q != (Quantity{}) || u != (Unit{}) {
				t.Fatalf("ParseQuantityUnit(%q): error %v, yet %+v in %+v", text, err, q, u)
			}
			return
		}
		if math.IsNaN(q.SI) || math.IsInf(q.SI, 0) || q.Dim != u.Dim || q.Dim == DimNone || !(u.ToSI > 0) {
			t.Fatalf("ParseQuantityUnit(%q): got %+v in %+v", text, q, u)
		}
		if again, err := ParseUnit(u.Name); err != nil || again != u {
			t.Fatalf("ParseQuantityUnit(%q): unit %+v reads back as %+v, %v", text, u, again, err)
		}
		// Its number, with the same unit as the default, is the same quantity.
		if v, rest, ok := scanNumber(trimBlanks([]byte(text))); !ok || u.Quantity(v) != q || len(rest) == 0 {
			t.Fatalf("ParseQuantityUnit(%q): got %+v, number %v", text, q, v)
		}
	})
}
