package controller

import "testing"

func TestProblemError(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		in   Problem
		want string
	}{
		{Problem{"columns[1].unit", "furlong", "a unit of rate"}, "columns[1].unit: got furlong, want a unit of rate"},
		{Problem{"", "a list", "one JSON object"}, "got a list, want one JSON object"},
	} {
		if got := tt.in.Error(); got != tt.want {
			t.Errorf("%+v: got %q, want %q", tt.in, got, tt.want)
		}
	}
}
