package marks

import (
	"bytes"
	"fmt"
	"math"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"drawbar/internal/testkit"

	"pgregory.net/rapid"
)

// geodSolve is what GeographicLib's GeodSolve (C. F. F. Karney, J. Geod. 87:43-55,
// 2013) says of pairs of places: distance and azimuth, on the same ellipsoid.
func geodSolve(t testing.TB, pairs [][4]float64) (out [][2]float64) {
	t.Helper()
	var in strings.Builder
	for _, p := range pairs {
		for _, v := range []float64{p[1], p[0], p[3], p[2]} { // latitude first
			in.WriteString(strconv.FormatFloat(v, 'f', -1, 64) + " ")
		}
		in.WriteByte('\n')
	}
	cmd := exec.Command(testkit.Tool(t, "GeodSolve"), "-i", "-p", "8")
	cmd.Stdin = strings.NewReader(in.String())
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	text, err := cmd.Output()
	if err != nil {
		t.Fatalf("GeodSolve: %v: %s", err, stderr.String())
	}
	for line := range strings.Lines(string(text)) {
		var first, second, distance float64
		if _, err := fmt.Sscan(line, &first, &second, &distance); err != nil {
			t.Fatalf("GeodSolve said %q: %v", line, err)
		}
		out = append(out, [2]float64{distance, first})
	}
	return out
}

// The distance and the bearing are those of GeographicLib, near and far.
func TestInverseAgainstGeographicLib(t *testing.T) {
	t.Parallel()
	testkit.Tool(t, "GeodSolve")
	rapid.Check(t, func(rt *rapid.T) {
		var pairs [][4]float64
		for range 200 {
			lon, lat := rapid.Float64Range(-180, 180).Draw(rt, "lon"), rapid.Float64Range(-85, 85).Draw(rt, "lat")
			reach := math.Pow(10, rapid.Float64Range(-6, 1).Draw(rt, "reach")) // a decimetre to a thousand kilometres
			pairs = append(pairs, [4]float64{lon, lat, lon + reach*rapid.Float64Range(-1, 1).Draw(rt, "east"), max(-89.9, min(89.9, lat+reach*rapid.Float64Range(-1, 1).Draw(rt, "north")))})
		}
		for i, want := range geodSolve(t, pairs) {
			p := pairs[i]
			distance, bearing, ok := Inverse(p[0], p[1], p[2], p[3])
			if !ok || math.Abs(distance-want[0]) > 0.001 {
				rt.Errorf("%v: got %v m, %v, want %v m", p, distance, ok, want[0])
			}
			off := math.Abs(math.Remainder(bearing-want[1], 360)) * math.Pi / 180 * distance // m to the side
			if off > 0.001 || !(bearing >= 0 && bearing < 360) {
				rt.Errorf("%v: got %v degrees, want %v: %v m to the side of %v m", p, bearing, want[1], off, distance)
			}
		}
	})
}

func TestInverse(t *testing.T) {
	t.Parallel()
	for _, x := range []struct {
		name              string
		from, to          [2]float64
		distance, bearing float64
		ok                bool
	}{
		{"the same place", [2]float64{0, 53.35}, [2]float64{0, 53.35}, 0, 0, true},
		{"the same place a turn off", [2]float64{-180, 53.35}, [2]float64{180, 53.35}, 0, 0, true},
		// A minute of arc of the equator is a·π/10800 = 1855.3248 m, by the definition
		// of the ellipsoid.
		{"a minute of the equator", [2]float64{0, 0}, [2]float64{1.0 / 60, 0}, 1855.3248, 90, true},
		{"over the date line", [2]float64{179.99166666666667, 0}, [2]float64{-179.99166666666667, 0}, 1855.3248, 90, true},
		{"westward", [2]float64{0, 0}, [2]float64{-1.0 / 60, 0}, 1855.3248, 270, true},
		// The quarter of a meridian of WGS 84 is 10 001 965.7293 m (from memory, of
		// many handbooks).
		{"a quarter of a meridian", [2]float64{7, 0}, [2]float64{7, 90}, 10_001_965.7293, 0, true},
		{"the other side of the Earth", [2]float64{0, 0}, [2]float64{179.9, 0.1}, 0, 0, false},
		{"no latitude", [2]float64{0, 91}, [2]float64{0, 0}, 0, 0, false},
		{"no number", [2]float64{math.NaN(), 0}, [2]float64{0, 0}, 0, 0, false},
		{"endless", [2]float64{math.Inf(1), 0}, [2]float64{0, 0}, 0, 0, false},
	} {
		distance, bearing, ok := Inverse(x.from[0], x.from[1], x.to[0], x.to[1])
		if ok != x.ok || math.Abs(distance-x.distance) > 0.0001 || math.Abs(bearing-x.bearing) > 1e-6 {
			t.Errorf("%s: got %v m, %v degrees, %v, want %v, %v, %v", x.name, distance, bearing, ok, x.distance, x.bearing, x.ok)
		}
	}
}
