package controller

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestParseQuantity(t *testing.T) {
	t.Parallel()
	lb, none := mustUnit(t, "lb/ac"), Unit{}
	for _, c := range []struct {
		text string
		def  Unit
		si   float64
		dim  Dim
	}{
		{"112.5kg/ha", none, 112.5 / 10000, DimMassPerArea},
		{"112 kg/ha", lb, 112.0 / 10000, DimMassPerArea},
		{" 8.2gal/ac ", none, 8.2 * 3.785411784 / 4046.8564224, DimVolumePerArea},
		{"33000seeds/ac", none, 33000 / 4046.8564224, DimCountPerArea},
		{"41.2L/min", none, 41.2 / 60, DimVolumePerTime},
		{"3800 kg", none, 3800, DimMass},
		{"30", lb, 30 * 0.45359237 / 4046.8564224, DimMassPerArea},
		{".5e3 kg", none, 500, DimMass},
		{"5.kg", none, 5, DimMass},
		{"+5\tkg", none, 5, DimMass},
		{"-2 kg", none, -2, DimMass},
		{"0 kg", none, 0, DimMass},
		{"36km/h", none, 10, DimSpeed},
	} {
		q, err := ParseQuantity(c.text, c.def)
		if err != nil || q.Dim != c.dim || math.Abs(q.SI-c.si) > 1e-15*math.Abs(c.si) {
			t.Errorf("ParseQuantity(%q, %s): got %+v, %v, want %g %s", c.text, c.def.Name, q, err, c.si, c.dim)
		}
	}
	for _, text := range []string{
		"", " ", "kg/ha", "NaN", "nan kg", "Inf", "-inf kg", "+Inf", "infinity kg", "0x10", "0x1p4 kg", "0X1P-2", "1e400 kg", "1e308 t",
		"112,5 kg/ha", "1_000 kg", "1 000 kg", "12..5 kg", "1.2.3 kg", "--1 kg", "+ 1 kg", "1e kg", "e5 kg", ".", "-", ". kg",
		"5 kg/ha extra", "5 kg 5", "5%", "5 stone", "5kg/ha*1F", "\x00", "5\x00kg", "5 ton/ac",
	} {
		if q, err := ParseQuantity(text, lb); err == nil {
			t.Errorf("ParseQuantity(%q, lb/ac): got %+v, want an error", text, q)
		}
	}
	if q, err := ParseQuantity("112", none); err == nil {
		t.Errorf("ParseQuantity(112) without any unit: got %+v, want an error", q)
	}
	if q, _ := ParseQuantity("-0 kg", none); math.Signbit(q.SI) {
		t.Error("ParseQuantity(-0 kg): got minus zero")
	}
}

func TestParseQuantityUnit(t *testing.T) {
	t.Parallel()
	def := mustUnit(t, "lb/ac")
	if _, u, err := ParseQuantityUnit("112 KG/ha", def); err != nil || u.Name != "kg/ha" {
		t.Errorf("unit of 112 KG/ha: got %+v, %v", u, err)
	}
	if _, u, err := ParseQuantityUnit("112", def); err != nil || u != def {
		t.Errorf("unit of a bare 112: got %+v, %v, want %+v", u, err, def)
	}
}

// The number reader gives the very bits of the standard library's.
func TestScanNumberAsStrconv(t *testing.T) {
	t.Parallel()
	check := func(t interface{ Errorf(string, ...any) }, text string) {
		want, err := strconv.ParseFloat(text, 64)
		got, rest, ok := scanNumber([]byte(text))
		if ok != (err == nil) || ok && (len(rest) != 0 || got != want) {
			t.Errorf("scanNumber(%q): got %v, rest %q, %v; strconv says %v, %v", text, got, rest, ok, want, err)
		}
	}
	for _, text := range []string{
		"9007199254740992", "9007199254740993", "9007199254740991e22", "9007199254740991e-22", "1e23", "1e-23", "8.41e21",
		"123456789012345678901234567890", "0.1", "0.000000000000000000000000000001", "5e-324", "2e-324", "1.7976931348623157e308",
		"1.7976931348623159e308", "1e-400", "000000000000000000000000000001.5", "1.00000000000000000000000000000000000001",
		"18446744073709551616", "99999999999999999999e-20", "-9007199254740993", "1e1000000000000", "0e999999999999",
	} {
		check(t, text)
	}
	rapid.Check(t, func(rt *rapid.T) {
		check(rt, rapid.StringMatching(`[+-]?([0-9]{1,20}\.?[0-9]{0,20}|\.[0-9]{1,25})([eE][+-]?[0-9]{1,3})?`).Draw(rt, "number"))
	})
}

func TestQuantityAs(t *testing.T) {
	t.Parallel()
	rate := mustQuantity(t, "300 seeds/m2")
	mass, ok := rate.As(DimMass, 38)
	if !ok || mass.Dim != DimMassPerArea {
		t.Fatalf("300 seeds/m2 of 38 g as mass: got %+v, %v", mass, ok)
	}
	near(t, "300 seeds/m2 of 38 g per 1000 in kg/ha", in(t, mass, "kg/ha"), 114, 1e-12) // 300 x 38 mg = 11.4 g/m2
	back, ok := mass.As(DimCount, 38)
	if !ok || math.Abs(back.SI-rate.SI) > 1e-12 || back.Dim != rate.Dim {
		t.Errorf("and back: got %+v, %v, want %+v", back, ok, rate)
	}
	flow, ok := mustQuantity(t, "1000 seeds/s").As(DimMass, 38)
	if !ok || flow.Dim != DimMassPerTime || math.Abs(flow.SI-0.038) > 1e-15 {
		t.Errorf("1000 seeds/s of 38 g: got %+v, %v, want 0.038 kg/s", flow, ok)
	}
	for _, c := range []struct {
		q      Quantity
		amount Dim
		tkg    float64
	}{
		{rate, DimMass, 0}, {rate, DimMass, -1}, {rate, DimMass, math.NaN()}, {rate, DimMass, math.Inf(1)},
		{rate, DimVolume, 38}, {mustQuantity(t, "5 l/ha"), DimMass, 38}, {mustQuantity(t, "5 l"), DimCount, 38},
		{mustQuantity(t, "5 km/h"), DimMass, 38}, {Quantity{}, DimMass, 38}, {rate, DimNone, 38}, {rate, DimMassPerArea, 38}, {rate, DimSpeed, 38},
	} {
		if got, ok := c.q.As(c.amount, c.tkg); ok {
			t.Errorf("%+v as %s with %g g: got %+v, want not known", c.q, c.amount, c.tkg, got)
		}
	}
}

func TestQuantityNotKnown(t *testing.T) {
	t.Parallel()
	flow, rate := mustQuantity(t, "24 l/min"), mustQuantity(t, "112 kg/ha")
	for _, c := range []struct{ speed, width float64 }{
		{0, 12}, {3, 0}, {-1, 12}, {3, -1}, {-3, -12}, {math.NaN(), 12}, {3, math.NaN()}, {1e-300, 1e-300}, {5e-324, 1},
	} {
		if got, ok := flow.OverGround(c.speed, c.width); ok {
			t.Errorf("24 l/min at %g m/s over %g m: got %+v, want not known", c.speed, c.width, got)
		}
	}
	if got, ok := rate.OverGround(3, 12); ok {
		t.Errorf("a rate over ground: got %+v, want not known", got)
	}
	if got, ok := flow.OverArea(100); ok {
		t.Errorf("a flow over an area: got %+v, want not known", got)
	}
	if got, ok := rate.OverArea(math.NaN()); ok {
		t.Errorf("a rate over not-a-number: got %+v, want not known", got)
	}
	if got, ok := rate.In(mustUnit(t, "l/ha")); ok {
		t.Errorf("kg/ha in l/ha: got %v, want not known", got)
	}
	if got, ok := (Quantity{}).In(Unit{}); ok {
		t.Errorf("nothing in nothing: got %v, want not known", got)
	}
}
