package picture

import (
	"testing"

	"pgregory.net/rapid"
)

// Bars left out lie within the tolerance of the straight lines between those kept,
// for both ends, on any way, to and fro included.
func TestThinnerKeepsWithinTheTolerance(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		tolerance := rapid.Int64Range(1, 5000).Draw(t, "tolerance")
		step := rapid.Int32Range(-300, 20_000)
		side := rapid.Int32Range(-400, 400)
		at := bar{0, 0, 360_000, 0}
		all := []bar{at}
		for range rapid.IntRange(1, 200).Draw(t, "bars") {
			l, r := step.Draw(t, "left"), step.Draw(t, "right")
			at = bar{at.lx + side.Draw(t, "x"), at.ly + l, at.rx + side.Draw(t, "x"), at.ry + r}
			all = append(all, at)
		}
		var thin thinner
		thin.begin(all[0])
		for _, b := range all[1:] {
			thin.add(b, tolerance)
		}
		kept := thin.bars(nil)
		if kept[0] != all[0] || kept[len(kept)-1] != at {
			t.Fatalf("the first or last of %d bars is not kept", len(all))
		}
		k := 0 // between kept k and k+1
		for _, b := range all[1:] {
			if k+1 < len(kept)-1 && b == kept[k+1] {
				k++
				continue
			}
			left, right := kept[k].to(kept[k+1])
			l, r := kept[k].to(b)
			limit := float64(tolerance*tolerance) * 1.000001
			if got := max(off(left, l), off(right, r)); got > limit {
				t.Fatalf("%v is off by the square root of %g between %v and %v, want %d at most", b, got, kept[k], kept[k+1], tolerance)
			}
		}
	})
}

// off is the square of the distance of p from the way v; both begin at the same
// place.
func off(v, p vector) float64 {
	along, vv := dot(v, p), dot(v, v)
	switch {
	case along <= 0 || vv == 0:
		return dot(p, p)
	case along >= vv:
		return dot(vector{p.x - v.x, p.y - v.y}, vector{p.x - v.x, p.y - v.y})
	}
	across := cross(heading{float64(v.x), float64(v.y)}, heading{float64(p.x), float64(p.y)})
	return across * across / vv
}
