package controller

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// said is one value of a made-up report: its text and what it must come to.
type said struct {
	field field
	tank  int
	text  string
	si    float64
	dim   Dim
}

// drawReport makes up values of several tanks, each at most once. The SI value
// comes from strconv and factors written out here, not from the package's
// tables.
func drawReport(t *rapid.T) []said {
	units := map[field][]struct {
		name string
		toSI float64
		dim  Dim
	}{
		fieldRate: {{"kg/ha", 1e-4, DimMassPerArea}, {"lb/ac", 0.45359237 / 4046.8564224, DimMassPerArea},
			{"gal/ac", 3.785411784 / 4046.8564224, DimVolumePerArea}, {"seeds/m2", 1, DimCountPerArea}},
		fieldFlow:  {{"l/min", 1.0 / 60, DimVolumePerTime}, {"kg/h", 1.0 / 3600, DimMassPerTime}},
		fieldTotal: {{"kg", 1, DimMass}, {"lb", 0.45359237, DimMass}, {"impgal", 4.54609, DimVolume}},
	}
	units[fieldTarget], units[fieldLevel] = units[fieldRate], units[fieldTotal]
	var all []said
	for _, tank := range rapid.SliceOfNDistinct(rapid.IntRange(1, MaxTank), 1, 4, rapid.ID[int]).Draw(t, "tanks") {
		for _, f := range []field{fieldRate, fieldTarget, fieldFlow, fieldTotal, fieldLevel} {
			if rapid.Bool().Draw(t, "said") {
				u := rapid.SampledFrom(units[f]).Draw(t, "unit")
				number := rapid.StringMatching(`[0-9]{1,5}(\.[0-9]{1,6})?`).Draw(t, "number")
				v, _ := strconv.ParseFloat(number, 64)
				all = append(all, said{f, tank, number + u.name, v * u.toSI, u.dim})
			}
		}
	}
	return all
}

// compare tells whether the report says just these values.
func compare(t *rapid.T, line string, r Report, all []said) {
	n := 0
	for _, reading := range r.Tanks {
		for i, q := range []Quantity{reading.Rate, reading.Target, reading.Flow, reading.Total, reading.Level} {
			if reading.Has>>i&1 == 0 {
				continue
			}
			n++
			f := fieldRate + field(i)
			at := slices.IndexFunc(all, func(s said) bool { return s.field == f && s.tank == reading.Tank })
			if at < 0 || q.Dim != all[at].dim || math.Abs(q.SI-all[at].si) > 1e-15*all[at].si {
				t.Fatalf("line %q: %s of tank %d: got %+v, want one of %+v", line, f, reading.Tank, q, all)
			}
		}
	}
	if n != len(all) {
		t.Fatalf("line %q: got %d values, want %d", line, n, len(all))
	}
}

func TestEncodeDecodeKeyValue(t *testing.T) {
	t.Parallel()
	d := newDecoder(t, ProfileSpec{}, Defaults{})
	rapid.Check(t, func(t *rapid.T) {
		all := drawReport(t)
		pairs := []string{"work=1"}
		for _, s := range all {
			pairs = append(pairs, fmt.Sprintf("tank.%d.%s=%s", s.tank, s.field, s.text))
		}
		pairs = rapid.Permutation(pairs).Draw(t, "order")
		line := strings.Join(pairs, rapid.SampledFrom([]string{" ", ",", ";", ", ", "\t"}).Draw(t, "separator"))
		if rapid.Bool().Draw(t, "checksum") {
			sum := byte(0)
			for i := range len(line) {
				sum ^= line[i]
			}
			line += fmt.Sprintf("*%02X", sum)
		}
		r, e := d.Line([]byte(line))
		if e != nil || r.Has != HasWork || !r.Work {
			t.Fatalf("line %q: got %s, %v", line, show(r), e)
		}
		compare(t, line, r, all)
	})
}

func TestEncodeDecodeDelimited(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		all := drawReport(t)
		if len(all) == 0 {
			return
		}
		separator := rapid.SampledFrom([]string{",", ";", "\t", "|"}).Draw(t, "separator")
		spec := ProfileSpec{Kind: "delimited", Separator: separator, Header: rapid.Bool().Draw(t, "header")}
		names, cells := make([]string, len(all)), make([]string, len(all))
		for at, i := range rapid.Permutation(indexes(len(all))).Draw(t, "order") {
			s := all[i]
			names[at], cells[at] = fmt.Sprintf("%s of %d", s.field, s.tank), s.text
			c := ColumnSpec{Column: strconv.Itoa(at + 1), Field: s.field.String(), Tank: s.tank}
			if spec.Header {
				c.Column = names[at]
			}
			spec.Columns = append(spec.Columns, c)
		}
		p, problems := Compile(spec, Defaults{})
		if p == nil {
			t.Fatalf("Compile(%+v): %v", spec, problems)
		}
		d := p.NewDecoder()
		if spec.Header {
			if _, e := d.Line([]byte(strings.Join(names, separator))); e == nil || e.Reason != ReasonHeader {
				t.Fatalf("header %q: got %v", names, e)
			}
		}
		line := strings.Join(cells, separator)
		r, e := d.Line([]byte(line))
		if e != nil {
			t.Fatalf("line %q: %v", line, e)
		}
		compare(t, line, r, all)
	})
}

func indexes(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// raw x scale + offset, in the unit, whatever the numbers.
func TestScaleAndOffset(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		raw := rapid.IntRange(0, 65535).Draw(t, "raw")
		scale := rapid.Float64Range(1e-3, 10).Draw(t, "scale")
		offset := rapid.Float64Range(-100, 100).Draw(t, "offset")
		p, problems := Compile(one(ColumnSpec{Column: "1", Field: "level", Tank: 1, Unit: "lb", Scale: &scale, Offset: offset}), Defaults{})
		if p == nil {
			t.Fatal(problems)
		}
		r, e := p.NewDecoder().Line([]byte(strconv.Itoa(raw)))
		want := (float64(raw)*scale + offset) * 0.45359237
		if e != nil || math.Abs(r.Tanks[0].Level.SI-want) > 1e-12*(math.Abs(want)+100) {
			t.Errorf("%d x %g %+g lb: got %s, %v, want %g kg", raw, scale, offset, show(r), e, want)
		}
	})
}
