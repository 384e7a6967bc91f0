package plane

import (
	"bytes"
	"math"
	"strconv"
	"testing"

	"drawbar/internal/testkit"
)

// inputs yields doubles in a fixed order by integer arithmetic alone, so that
// the table below does not rest on a random number generator.
type inputs uint64

func (s *inputs) next(lo, hi float64) float64 {
	*s = *s*6364136223846793005 + 1442695040888963407 // Knuth, TAOCP 2, 3.3.4
	unit := float64(*s>>11) / (1 << 53)
	return lo + float64(unit*(hi-lo))
}

// TestBits holds 200 results to the last bit. The file was written on amd64;
// every other processor must give the same.
func TestBits(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	row := func(name string, in []float64, results ...float64) {
		out.WriteString(name)
		for _, x := range in {
			out.WriteString(" " + strconv.FormatFloat(x, 'x', -1, 64))
		}
		out.WriteString(" =")
		for _, y := range results {
			out.WriteString(" " + strconv.FormatFloat(y, 'x', -1, 64))
		}
		out.WriteByte('\n')
	}
	in := inputs(1)
	for range 14 {
		x := in.next(-1e5, 1e5)
		row("sin", []float64{x}, Sin(x))
		x = in.next(-7, 7)
		row("cos", []float64{x}, Cos(x))
		row("tan", []float64{x}, Tan(x))
		row("wrappi", []float64{x}, WrapPi(x))
		x = in.next(-4, 4)
		row("atan", []float64{x}, Atan(x))
		row("exp", []float64{x}, Exp(x))
		x, y := in.next(-100, 100), in.next(-100, 100)
		row("atan2", []float64{x, y}, Atan2(x, y))
		row("hypot", []float64{x, y}, Hypot(x, y))
		row("log", []float64{math.Abs(x)}, Log(math.Abs(x)))
	}
	for range 24 {
		lat0, lon0 := in.next(-85, 85), in.next(-180, 180)
		p := New(lat0, lon0)
		lat, lon := lat0+in.next(-0.1, 0.1), lon0+in.next(-0.1, 0.1)
		x, y, _ := p.Forward(lat, lon)
		row("forward", []float64{lat0, lon0, lat, lon}, x, y)
		row("convergence", []float64{lat0, lon0, lat, lon}, p.Convergence(lat, lon))
		backLat, backLon := p.Inverse(x, y)
		row("inverse", []float64{lat0, lon0, x, y}, backLat, backLon)
	}
	row("sin", []float64{1e9}, Sin(1e9)) // beyond the exact reduction
	row("wrappi", []float64{1e9}, WrapPi(1e9))
	testkit.Golden(t, "testdata/bits.txt", out.Bytes())
	if rows := bytes.Count(out.Bytes(), []byte("\n")); rows != 200 {
		t.Errorf("rows of the table: got %d, want 200", rows)
	}
}
