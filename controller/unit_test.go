package controller

import (
	"math"
	"strings"
	"testing"
)

func mustUnit(t testing.TB, name string) Unit {
	t.Helper()
	u, err := ParseUnit(name)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

func mustQuantity(t testing.TB, text string) Quantity {
	t.Helper()
	q, err := ParseQuantity(text, Unit{})
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func in(t testing.TB, q Quantity, unit string) float64 {
	t.Helper()
	v, ok := q.In(mustUnit(t, unit))
	if !ok {
		t.Fatalf("%+v in %s: %s is %s", q, unit, unit, mustUnit(t, unit).Dim)
	}
	return v
}

// near compares with an absolute tolerance.
func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.12g, want %.12g within %g", what, got, want, tol)
	}
}

// Published conversion factors. SP811 is NIST Special Publication 811, Guide for
// the Use of the SI, Appendix B.8 (2008), https://www.nist.gov/pml/special-publication-811,
// which prints seven digits and marks exact ones; tol is half of its last digit.
func TestUnitsAgainstPublishedFactors(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text, unit string
		want, tol  float64
		source     string
	}{
		{"1 ft/s", "m/s", 0.3048, 0, "SP811, exact: foot"},
		{"1 mph", "m/s", 0.44704, 1e-17, "SP811, exact: mile per hour"},
		{"1 mph", "km/h", 1.609344, 1e-15, "SP811, exact"},
		{"1 mph", "ft/min", 88, 1e-13, "5280 ft / 60 min"},
		{"1 kn", "km/h", 1.852, 1e-15, "SP811, exact: nautical mile per hour"},
		{"1 kn", "m/s", 0.5144444, 5e-8, "SP811"},
		{"1 kn", "mph", 1.150779448, 5e-10, "1852 / 1609.344"},
		{"1 gal", "l", 3.785412, 5e-7, "SP811: gallon (US)"},
		{"1 gal", "l", 3.785411784, 0, "231 cubic inches, from memory"},
		{"1 floz", "ml", 29.57353, 5e-6, "SP811: ounce (US fluid)"},
		{"1 gal", "floz", 128, 1e-12, "SP811, ratio of its two factors"},
		{"1 gal", "qt", 4, 0, "NIST Handbook 44, Appendix C"},
		{"1 gal", "pt", 8, 0, "NIST Handbook 44, Appendix C"},
		{"1 impgal", "l", 4.54609, 0, "SP811, exact: gallon (Canadian and UK, Imperial)"},
		{"1 impgal", "gal", 1.2009499255, 5e-11, "4.54609 / 3.785411784"},
		{"1 impgal", "impfloz", 160, 1e-12, "NIST Handbook 44, Appendix C"},
		{"1 impgal", "imppt", 8, 1e-12, "NIST Handbook 44, Appendix C"},
		{"1 m3", "l", 1000, 0, "SP811"},
		{"1 lb", "kg", 0.4535924, 5e-8, "SP811: pound (avoirdupois)"},
		{"1 lb", "kg", 0.45359237, 0, "international pound, from memory"},
		{"1 lb", "oz", 16, 0, "NIST Handbook 44, Appendix C"},
		{"1 shortton", "kg", 907.18474, 1e-12, "2000 lb; SP811 prints 907.1847"},
		{"1 t", "lb", 2204.6226, 5e-5, "1000 / 0.45359237"},
		{"1 lb/ac", "kg/ha", 1.120851156, 5e-10, "from the exact acre and pound"},
		{"1 kg/ha", "lb/ac", 0.892179122, 5e-10, "its inverse"},
		{"30 lb/ac", "kg/ha", 33.625535, 5e-7, "from the exact acre and pound"},
		{"1 gal/ac", "l/ha", 9.353956229, 5e-10, "from the exact acre and US gallon"},
		{"10 gal/ac", "L/ha", 93.539562, 5e-7, "from the exact acre and US gallon"},
		{"1 impgal/ac", "l/ha", 11.23363304, 5e-9, "from the exact acre and imperial gallon"},
		{"1 seeds/ft2", "seeds/m2", 10.763910, 5e-7, "1 / 0.3048 squared = 10.763 910 (1 ft2 = 0.092 903 04 m2, SP811 exact)"},
		{"43560 seeds/ac", "seeds/ft2", 1, 1e-15, "43 560 ft2 to the acre"},
		{"1 kg/ha", "g/m2", 0.1, 1e-16, "10 000 m2 to the hectare"},
		{"1 t/ha", "kg/m2", 0.1, 0, "10 000 m2 to the hectare"},
		{"60 l/min", "l/s", 1, 0, "60 s to the minute"},
		{"3600 kg/h", "kg/s", 1, 0, "3600 s to the hour"},
	} {
		near(t, c.text+" in "+c.unit+" ("+c.source+")", in(t, mustQuantity(t, c.text), c.unit), c.want, c.tol)
	}
}

// The acre is the international one: 43 560 x 0.3048^2 = 4046.856 422 4 m2.
// SP811 (2008) prints the acre of the US survey foot, 4 ppm more; the gallon of
// a bare "gal" is the US one, 20 % below the imperial. Both are easy to mix up.
func TestUnitTraps(t *testing.T) {
	t.Parallel()
	acre := 1 / in(t, mustQuantity(t, "1 kg/m2"), "kg/ac") // ac per m2 of the same dose
	near(t, "m2 to the acre", 1/acre, 4046.8564224, 1e-9)
	near(t, "acres to the hectare", in(t, mustQuantity(t, "1 kg/ac"), "kg/ha"), 2.47105381467, 5e-12)
	near(t, "survey acre over ours", 4046.873/4046.8564224, 1.000004, 2e-7) // as SP811 prints it
	if ratio := 4046.873 * acre; ratio < 1.000003 {
		t.Errorf("the acre is the survey foot's: 4046.873 m2 over ours is %.9f, want 1.000004", ratio)
	}
	us, imperial := mustQuantity(t, "1 gal/ac"), mustQuantity(t, "1 impgal/ac")
	near(t, "imperial over US gallon", imperial.SI/us.SI, 1.2009499255, 5e-11)
}

func TestParseUnitSpellings(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"L/min": "l/min", "l/MIN": "l/min", "litres/ha": "l/ha", "Liter": "l", "L": "l", "mL/ha": "ml/ha", "ml": "ml",
		" kg/ha\t": "kg/ha", "KG/HA": "kg/ha", "lbs/acre": "lb/ac", "US gal": "", "usgal/ac": "gal/ac", "m³/h": "m3/h",
		"seed/m²": "seeds/m2", "kph": "km/h", "kmh": "km/h", "MPH": "mph", "mi/h": "mph", "kt": "kn", "g/sec": "g/s", "t/hr": "t/h",
		"ML": "", "Ml/ha": "", "ton/ac": "", "kg/": "", "/ha": "", "kg/ha/h": "", "kgha": "", "": "", "furlong": "", "m": "", "ha": "",
		"kg//ha": "", "kg /ha": "", "kg-ha": "", "seeds/m/s": "", strings.Repeat("k", 100): "", "kg/ha\x00": "",
	} {
		u, err := ParseUnit(text)
		if want == "" {
			if err == nil {
				t.Errorf("ParseUnit(%q): got %+v, want an error", text, u)
			}
			continue
		}
		if err != nil || u.Name != want {
			t.Errorf("ParseUnit(%q): got %+v, %v, want %s", text, u, err, want)
			continue
		}
		again, err := ParseUnit(u.Name)
		if err != nil || again != u {
			t.Errorf("ParseUnit(%q), the name it gave: got %+v, %v, want %+v", u.Name, again, err, u)
		}
	}
}

// Every unit that an error message offers is accepted, with the dimension it is
// offered for.
func TestOfferedUnitsAreAccepted(t *testing.T) {
	t.Parallel()
	words := func(s string) []string {
		return strings.FieldsFunc(strings.NewReplacer("(US)", "", " or ", ", ").Replace(s), func(r rune) bool { return r == ',' || r == ' ' })
	}
	checked := 0
	for d := DimMassPerArea; d <= DimSpeed; d++ {
		amounts, pers, per := strings.Cut(acceptedUnits(d), " per ")
		for _, amount := range words(amounts) {
			names := []string{amount}
			if per {
				names = nil
				for _, p := range words(pers) {
					names = append(names, amount+"/"+p)
				}
			}
			for _, name := range names {
				u, err := ParseUnit(name)
				if err != nil || u.Dim != d || !(u.ToSI > 0) || u.Name != name {
					t.Errorf("%s, offered for %s: got %+v, %v", name, d, u, err)
				}
				checked++
			}
		}
	}
	if want := 18*(1+4+3) + 6; checked != want {
		t.Errorf("units checked: got %d, want %d", checked, want)
	}
}

func TestParseUnitErrorListsWhatIsAccepted(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][]string{
		"stone/ac":  {"kg, g, t, lb", "gal", "seeds", "per ha, ac, m2 or ft2"},
		"bucket/h":  {"kg, g, t, lb", "gal", "per s, min or h"},
		"furlong":   {"kg, g, t, lb", "seeds", "km/h"},
		"kg/rod":    {"per ha, ac, m2 or ft2"},
		"ton/ac":    {"shortton"},
		"":          {"kg"},
		"kg/ha\xff": {"per ha"},
	} {
		_, err := ParseUnit(text)
		if err == nil {
			t.Errorf("ParseUnit(%q): no error", text)
			continue
		}
		for _, w := range want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("ParseUnit(%q): got %q, want it to say %q", text, err, w)
			}
		}
	}
}

func TestDim(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		d                 Dim
		words, si, amount string
		perArea, perTime  bool
		amountDim         Dim
	}{
		{DimNone, "no dimension", "", "", false, false, DimNone},
		{DimMassPerArea, "mass per area", "kg/m2", "kg", true, false, DimMass},
		{DimVolumePerArea, "volume per area", "l/m2", "l", true, false, DimVolume},
		{DimCountPerArea, "count per area", "seeds/m2", "seeds", true, false, DimCount},
		{DimMassPerTime, "mass per time", "kg/s", "kg", false, true, DimMass},
		{DimVolumePerTime, "volume per time", "l/s", "l", false, true, DimVolume},
		{DimCountPerTime, "count per time", "seeds/s", "seeds", false, true, DimCount},
		{DimMass, "mass", "kg", "kg", false, false, DimMass},
		{DimVolume, "volume", "l", "l", false, false, DimVolume},
		{DimCount, "count", "seeds", "seeds", false, false, DimCount},
		{DimSpeed, "speed", "m/s", "", false, false, DimNone},
		{Dim(200), "no dimension", "", "", false, false, DimNone},
	} {
		if c.d.String() != c.words || c.d.SIUnit() != c.si || c.d.AmountUnit() != c.amount ||
			c.d.PerArea() != c.perArea || c.d.PerTime() != c.perTime || c.d.Amount() != c.amountDim {
			t.Errorf("Dim %d: got %q %q %q %v %v %d, want %+v", c.d, c.d, c.d.SIUnit(), c.d.AmountUnit(), c.d.PerArea(), c.d.PerTime(), c.d.Amount(), c)
		}
		if c.si != "" {
			if u := mustUnit(t, c.si); u.Dim != c.d || u.ToSI != 1 {
				t.Errorf("SI unit %s of %s: got %+v, want factor 1", c.si, c.d, u)
			}
		}
	}
}
