package replay

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// A boundary that cannot be the worked field's is told of: the area outside it
// alone would pass for careless driving.
func TestBoundaryDoubt(t *testing.T) {
	t.Parallel()
	square := func(lon, lat float64) Outline {
		return Outline{{orb.Ring{{lon, lat}, {lon + 0.01, lat}, {lon + 0.01, lat + 0.01}, {lon, lat + 0.01}, {lon, lat}}}}
	}
	for _, tt := range []struct {
		name     string
		boundary Outline
		want     string // in the warning; empty: none
	}{
		{"none", nil, ""},
		{"right", square(0.005, 53.295), ""},
		{"the work reaches out of it", square(0.005, 53.3005), ""},
		{"latitude first", square(53.295, 0.005), "operation 1: the boundary reaches too far from the work"},
		{"the neighbour's", square(0.02, 53.295), "operation 1: all of the work lies outside the boundary"},
	} {
		tp := newTape()
		tp.pass(0, 60, 0, on)
		setup := drill()
		setup.Boundary = tt.boundary
		_, sum := run(t, setup, tp.String())
		switch got := strings.Join(sum.Warnings, "\n"); {
		case tt.want == "" && got != "":
			t.Errorf("%s: got warning %q, want none", tt.name, got)
		case tt.want != "" && (!strings.HasPrefix(got, tt.want) || len(sum.Warnings) != 1):
			t.Errorf("%s: got %q, want one warning %q…", tt.name, got, tt.want)
		}
	}
}
