package probe

import (
	"fmt"
	"math"
	"strings"

	"drawbar/controller"
)

// hint guesses from a name what it names, and the unit in it; common practice of
// displays, no source.
func hint(name string) (field, unit string) {
	name = strings.ToLower(name)
	for _, h := range [...]struct{ part, field, unit string }{
		{"mph", "speed", "mph"}, {"km/h", "speed", "km/h"}, {"kph", "speed", "km/h"}, {"m/s", "speed", "m/s"}, {"speed", "speed", ""}, {"spd", "speed", ""},
		{"target", "target", ""}, {"tgt", "target", ""}, {"set", "target", ""},
		{"gpm", "flow", "gal/min"}, {"l/min", "flow", "l/min"}, {"kg/min", "flow", "kg/min"}, {"flow", "flow", ""},
		{"gpa", "rate", "gal/ac"}, {"kg/ha", "rate", "kg/ha"}, {"lb/ac", "rate", "lb/ac"}, {"l/ha", "rate", "l/ha"}, {"gal/ac", "rate", "gal/ac"},
		{"rate", "rate", ""}, {"pop", "rate", "seeds/ac"},
		{"section", "sections", ""}, {"sect", "sections", ""}, {"mask", "sections", ""}, {"rows", "sections", ""},
		{"total", "total", ""}, {"sum", "total", ""},
		{"level", "level", ""}, {"hopper", "level", ""}, {"bin", "level", ""}, {"tank", "level", ""},
		{"work", "work", ""}, {"boom", "work", ""}, {"master", "work", ""},
	} {
		if !strings.Contains(name, h.part) {
			continue
		}
		if h.field == "level" {
			for _, u := range []string{"gal", "kg", "lb"} {
				if strings.Contains(name, u) {
					return "level", u
				}
			}
		}
		return h.field, h.unit
	}
	return "", ""
}

// look is what the values of a column have in common.
type look struct {
	n                 int // values that are not empty
	same              bool
	bits, flags, mask bool // 0/1 strings of one length above 1; 0 or 1; hexadecimal, two digits or more
	both              bool // flags: 0 and 1 came
	numeric           bool
	numbers           int  // values that are numbers
	small             bool // whole numbers from 0 to 12
	powers            int  // values such as 3, 15, 255: so many lowest bits of a mask
	whole             bool
	clock             bool
	units             bool // numbers with a unit
	min, max          float64
	rises, falls      bool // never the other way, and not always the same
	counts            bool // by one each time
}

func lookAt(rows [][]string, i int) look {
	l := look{same: true, small: true, whole: true, bits: true, flags: true, mask: true, numeric: true, clock: true, units: true,
		rises: true, falls: true, counts: true, min: math.Inf(1), max: math.Inf(-1)}
	first, prev := "", math.NaN()
	zero, one, letter := false, false, false
	for _, row := range rows {
		v := row[i]
		if strings.Trim(v, "-?*.# ") == "" {
			continue // empty, or a stroke where a value should be
		}
		if l.n++; l.n == 1 {
			first = v
		}
		l.same = l.same && v == first
		l.bits = l.bits && len(v) > 1 && len(v) == len(first) && strings.Trim(v, "01") == ""
		l.flags = l.flags && (v == "0" || v == "1")
		zero, one = zero || v == "0", one || v == "1"
		l.mask = l.mask && isMask(v) && len(v) == len(first)
		letter = letter || strings.ContainsAny(v, "ABCDEFabcdef")
		l.clock = l.clock && strings.Count(v, ":") == 2
		_, _, err := controller.ParseQuantityUnit(v, controller.Unit{})
		l.units = l.units && err == nil
		n, ok := decimal(v)
		if l.numeric = l.numeric && ok; !l.numeric {
			continue
		}
		l.numbers++
		l.min, l.max = min(l.min, n), max(l.max, n)
		l.whole = l.whole && n == math.Trunc(n) && n >= 0 && n < 1<<40
		l.small = l.small && l.whole && n <= 12
		if w := uint64(n); l.whole && w >= 3 && w&(w+1) == 0 {
			l.powers++
		}
		if l.n > 1 {
			l.rises, l.falls, l.counts = l.rises && n >= prev, l.falls && n <= prev, l.counts && n == prev+1
		}
		prev = n
	}
	l.both = zero && one
	l.mask = l.mask && letter
	l.bits = l.bits && !l.mask
	l.units = l.units && !l.numeric
	if l.n < 2 || l.same || !l.numeric {
		l.rises, l.falls, l.counts = false, false, false
	}
	return l
}

// isMask tells whether v is hexadecimal of two digits or more.
func isMask(v string) bool {
	return len(v) > 1 && strings.Trim(v, "0123456789ABCDEFabcdef") == ""
}

// guess says what each column looks like and gives those that look like
// something a column of a profile.
func guess(columns []Column, rows [][]string) {
	looks := make([]look, len(columns))
	taken := map[string]bool{}
	give := func(i int, field, unit string) bool {
		if taken[field] {
			return false
		}
		taken[field] = true
		name := columns[i].Name
		if name == "" {
			name = fmt.Sprint(columns[i].Number)
		}
		s := &controller.ColumnSpec{Column: name, Field: field, Unit: unit}
		switch {
		case field == "sections" && looks[i].mask:
			s.Format = "hex"
		case field == "sections" && !looks[i].bits:
			s.Format = "decimal"
		}
		if field != "work" && field != "sections" && field != "speed" {
			s.Tank = 1
		}
		columns[i].spec = s
		return true
	}
	// What the header says comes first, then what the values say.
	for i := range columns {
		looks[i] = lookAt(rows, i)
		columns[i].Looks = looks[i].words()
		if field, unit := hint(columns[i].Name); field != "" && looks[i].mayBe(field) && give(i, field, unit) {
			columns[i].Looks = field + " by its name"
		}
	}
	for i, l := range looks {
		switch {
		case columns[i].spec != nil || l.n == 0:
		case l.bits || l.mask:
			give(i, "sections", "")
		case l.decimalMask():
			give(i, "sections", "")
		case l.flags && l.both:
			give(i, "work", "")
		}
	}
	tankFrom := ""
	for i, l := range looks {
		if columns[i].spec == nil && l.tank() && tankFrom == "" && columns[i].Name == "" {
			tankFrom = fmt.Sprint(columns[i].Number)
			columns[i].Looks = "a tank's number?"
			looks[i].n = 0
		}
	}
	// A number that swings about one that stays is a rate about its target.
	for i, l := range looks {
		for k, other := range looks {
			if columns[i].spec == nil && columns[k].spec == nil && l.swings() && other.numeric && other.same && other.n > 0 &&
				other.max > 1 && math.Abs(l.max-other.max) < 0.3*other.max && give(i, "rate", "") {
				give(k, "target", "")
				columns[i].Looks += ", about what stands in column " + fmt.Sprint(columns[k].Number)
			}
		}
	}
	for i, l := range looks {
		if columns[i].spec == nil && l.swings() {
			give(i, "rate", "")
		}
	}
	// Last, one that stays may be a rate that never varied while we listened.
	for i, l := range looks {
		if columns[i].spec == nil && l.numeric && l.same && l.max > 10 {
			give(i, "rate", "")
		}
	}
	for i := range columns {
		if s := columns[i].spec; s != nil && s.Tank != 0 && tankFrom != "" {
			s.Tank, s.TankFrom = 0, tankFrom
		}
	}
}

// decimalMask tells whether half of the values are so many lowest bits.
func (l look) decimalMask() bool { return l.whole && l.numeric && l.n > 0 && 2*l.powers >= l.n }

// tank tells whether the values are small whole numbers that come and go.
func (l look) tank() bool {
	return l.numeric && l.small && l.max > 1 && !l.same && !l.rises && !l.falls
}

// swings tells whether the values go up and down.
func (l look) swings() bool {
	return l.numeric && l.n > 0 && !l.same && !l.rises && !l.falls && !l.flags
}

// mayBe tells whether the values can be the field at all.
func (l look) mayBe(field string) bool {
	switch field {
	case "work":
		return l.flags
	case "sections":
		return l.bits || l.mask || l.numeric
	default:
		return l.numeric || l.units || l.numbers > 0
	}
}

func (l look) words() string {
	switch {
	case l.n == 0:
		return "empty"
	case l.clock:
		return "a time of day"
	case l.mask:
		return "a mask in hexadecimal: sections?"
	case l.decimalMask():
		return "a mask in decimal: sections?"
	case l.bits:
		return "a row of 0 and 1: sections?"
	case l.flags && l.both:
		return "0 or 1: the work switch?"
	case l.units:
		return "a number with its unit"
	case l.same:
		return "the same in every line"
	case !l.numeric:
		return "text"
	case l.counts:
		return "counts the lines"
	case l.rises:
		return fmt.Sprintf("rises from %.6g to %.6g: a total?", l.min, l.max)
	case l.falls:
		return fmt.Sprintf("falls from %.6g to %.6g: what is left in a tank?", l.max, l.min)
	default:
		return fmt.Sprintf("goes up and down, %.6g to %.6g: rate, flow or speed?", l.min, l.max)
	}
}
