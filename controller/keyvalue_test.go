package controller

import "testing"

func newDecoder(t testing.TB, spec ProfileSpec, defaults Defaults) *Decoder {
	t.Helper()
	p, problems := Compile(spec, defaults)
	for _, problem := range problems {
		t.Errorf("Compile(%+v): %v", spec, problem)
	}
	if p == nil {
		t.FailNow()
	}
	return p.NewDecoder()
}

const typicalLine = "work=1 sections=1111 speed=8.1km/h tank.1.rate=112.5kg/ha tank.1.target=112kg/ha tank.1.total=1034.2kg tank.2.rate=8.2gal/ac tank.2.flow=41.2L/min"

func TestKeyValueAllocates(t *testing.T) {
	d := newDecoder(t, ProfileSpec{}, Defaults{})
	line := []byte(typicalLine)
	got := testing.AllocsPerRun(200, func() {
		if _, e := d.Line(line); e != nil {
			t.Fatal(e)
		}
	})
	if got != 0 {
		t.Errorf("allocations a line: got %v, want 0", got)
	}
}

func BenchmarkKeyValue(b *testing.B) {
	d := newDecoder(b, ProfileSpec{}, Defaults{})
	line := []byte(typicalLine)
	b.ReportAllocs()
	b.SetBytes(int64(len(line)))
	for b.Loop() {
		if r, e := d.Line(line); e != nil || len(r.Tanks) != 2 {
			b.Fatal(e)
		}
	}
}
