package coverage

import "testing"

// A rectangle worked with gaps gives its outline: as a boundary it holds all that
// was covered and nothing remains but the skips.
func TestBoundaryFromWork(t *testing.T) {
	t.Parallel()
	d := newDriver(t, Setup{Implement: rigid(3, 3, 3, 3)})
	for k, x := range []float64{0, 12.4, 24.2, 37} {
		t0 := float64(k) * 1000
		d.drive(t0, t0+60, 10, "1111", func(now float64) (float64, float64) { return x, 2.5 * (now - t0) })
	}
	d.e.Finish()
	op := d.e.Operations()[0]
	b, ok := op.BoundaryFromWork()
	if !ok || len(b) != 1 || len(b[0]) != 1 {
		t.Fatalf("got %v, %v: want one ring", b, ok)
	}
	op.Boundary = b
	field, _ := op.FieldAreaM2()
	near(t, "field", field, 49*150, 8)
	outside, _ := op.OutsideM2()
	near(t, "outside", outside, 0, 3)
	skip, _ := op.SkipM2()
	near(t, "skip", skip, 150*(0.4+0.8), 4)
	remaining, _ := op.RemainingM2()
	near(t, "remaining", remaining, 0, 4)
	if _, ok := (&Operation{}).BoundaryFromWork(); ok {
		t.Error("no work: a boundary is offered")
	}
}
