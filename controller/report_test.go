package controller

import "testing"

func TestSections(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ asked, want int }{{-1, 0}, {0, 0}, {1, 1}, {64, 64}, {65, 65}, {256, 256}, {257, 256}} {
		all, none := AllSections(c.asked), NewSections(c.asked)
		if all.Len() != c.want || none.Len() != c.want || all.Any() != (c.want > 0) || none.Any() {
			t.Errorf("%d sections: got all %s, none %s, want %d of each", c.asked, all, none, c.want)
		}
		for i := range c.want {
			one := none
			one.Set(i, true)
			if !one.On(i) || !one.Any() || !all.On(i) || none.On(i) {
				t.Errorf("section %d of %d: got %s", i, c.want, one)
			}
			if one.Set(i, false); one != none {
				t.Errorf("section %d of %d, switched off again: got %s", i, c.want, one)
			}
		}
		for _, i := range []int{-1, c.want, 1 << 30} {
			if none.Set(i, true); none.On(i) || none.Any() {
				t.Errorf("section %d of %d: got it on", i, c.want)
			}
		}
	}
}
