package coverage

import "testing"

// A day with an hour that a correction moved out of it, and another operation behind.
func TestOperationAt(t *testing.T) {
	t.Parallel()
	op := func(from, to float64) *Operation { return &Operation{Start: at(from), End: at(to), worked: true} }
	day, hour, later := op(0, 30_000), op(10_000, 13_600), op(40_000, 50_000)
	idle := &Operation{Start: at(0), End: at(60_000)}
	for s, want := range map[float64]*Operation{-1: nil, 0: day, 9999: day, 10_000: hour, 12_000: hour, 13_601: day, 30_000: day, 35_000: nil, 45_000: later, 50_001: nil} {
		if got := OperationAt([]*Operation{idle, day, hour, later}, at(s)); got != want {
			t.Errorf("at %g s: got %p, want %p (day %p, hour %p, later %p)", s, got, want, day, hour, later)
		}
	}
}
