package plane

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"drawbar/internal/testkit"
)

// GeographicLib (C. F. F. Karney) measures areas and geodesics on the ellipsoid
// itself, without a projection, and has an exact transverse Mercator that shares
// no series with ours. Its programs are Debian's geographiclib-tools.

// pipe runs a program on in and returns its output lines, each cut in words.
func pipe(t testing.TB, in string, name string, args ...string) [][]string {
	t.Helper()
	cmd := exec.Command(testkit.Tool(t, name), args...)
	cmd.Stdin = strings.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %v: %v: %s", name, args, err, stderr.String())
	}
	var rows [][]string
	for line := range strings.Lines(string(out)) {
		rows = append(rows, strings.Fields(line))
	}
	return rows
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("read a number of an outside program: %v", err)
	}
	return v
}

type position struct{ latDeg, lonDeg float64 }

// String writes a position for GeographicLib's programs: all digits and no
// exponent, whose E they would take for east.
func (q position) String() string {
	return strconv.FormatFloat(q.latDeg, 'f', -1, 64) + " " + strconv.FormatFloat(q.lonDeg, 'f', -1, 64)
}

// geodesicAreasM2 are the areas of rings by Planimeter, anticlockwise positive.
func geodesicAreasM2(t testing.TB, rings [][]position) []float64 {
	t.Helper()
	var in strings.Builder
	for _, ring := range rings {
		for _, q := range ring {
			in.WriteString(q.String() + "\n")
		}
		in.WriteByte('\n')
	}
	rows := pipe(t, in.String(), "Planimeter", "-p", "8")
	if len(rows) != len(rings) {
		t.Fatalf("Planimeter: got %d areas of %d rings", len(rows), len(rings))
	}
	areas := make([]float64, len(rows))
	for i, row := range rows {
		areas[i] = number(t, row[2])
	}
	return areas
}

// planeAreaM2 is a ring's area on a plane as the program counts it, on the grid.
func planeAreaM2(t testing.TB, p *Plane, ring []position) float64 {
	t.Helper()
	coords := make([]Coord, len(ring))
	for i, q := range ring {
		c, ok := p.ForwardCoord(q.latDeg, q.lonDeg)
		if !ok {
			t.Fatalf("point %v is out of reach of the plane", q)
		}
		coords[i] = c
	}
	return AreaM2(Area2(coords))
}

// shoelaceM2 is a ring's area without the grid, and its perimeter.
func shoelaceM2(p *Plane, ring []position) (areaM2, perimeterM float64) {
	for i, q := range ring {
		next := ring[(i+1)%len(ring)]
		x0, y0, _ := p.Forward(q.latDeg, q.lonDeg)
		x1, y1, _ := p.Forward(next.latDeg, next.lonDeg)
		areaM2 += (x0*y1 - x1*y0) / 2
		perimeterM += math.Hypot(x1-x0, y1-y0)
	}
	return areaM2, perimeterM
}

// planimeterM2 is what Planimeter's manual claims for its own areas, of
// perimeters below 10 km; it tells for rings of a few square metres.
const planimeterM2 = 0.0013

// compareAreas checks each ring against Planimeter: the projection within 10
// ppm, and the area on the grid within 10 ppm and what the grid can do at worst,
// half a step's diagonal along the whole edge.
func compareAreas(t *testing.T, names []string, planes []*Plane, rings [][]position) {
	t.Helper()
	const ppm = 1e-6
	worst, worstGrid := 0.0, 0.0
	for i, want := range geodesicAreasM2(t, rings) {
		exact, perimeterM := shoelaceM2(planes[i], rings[i])
		off := math.Max(0, math.Abs(exact-want)-planimeterM2) / math.Abs(want)
		if !(off <= 10*ppm) {
			t.Errorf("%s: area on the plane got %.4f m2, Planimeter %.4f m2, off by %.2f ppm", names[i], exact, want, off/ppm)
		}
		got := planeAreaM2(t, planes[i], rings[i])
		offGrid := math.Abs(got - want)
		if !(offGrid <= planimeterM2+10*ppm*math.Abs(want)+perimeterM*math.Sqrt2/2/UnitsPerM) {
			t.Errorf("%s: area on the grid got %.4f m2, Planimeter %.4f m2, perimeter %.1f m", names[i], got, want, perimeterM)
		}
		worst = math.Max(worst, off)
		if math.Abs(want) >= 1e4 {
			worstGrid = math.Max(worstGrid, offGrid/math.Abs(want))
		}
	}
	t.Logf("%d rings, worst %.3f ppm; on the grid, of those from 1 ha, %.3f ppm", len(rings), worst/ppm, worstGrid/ppm)
	if worstGrid > 10*ppm {
		t.Errorf("area on the grid of a ring from 1 ha: off by up to %.2f ppm, want at most 10", worstGrid/ppm)
	}
}

// irregular draws an anticlockwise ring around an origin that reaches up to
// sizeM/2 from it, by arc lengths on a sphere: good enough to draw, not to
// measure.
func irregular(random *rand.Rand, lat0, lon0, sizeM float64) []position {
	const corners = 12
	ring := make([]position, corners)
	for i := range ring {
		angle := 2 * math.Pi * (float64(i) + 0.8*random.Float64()) / corners
		r := sizeM / 2 * (0.4 + 0.6*random.Float64())
		lat := lat0 + r*math.Sin(angle)/111200
		lon := lon0 + r*math.Cos(angle)/(111320*math.Cos(lat*math.Pi/180))
		ring[i] = position{lat, math.Remainder(lon, 360)}
	}
	return ring
}

func TestAreaOfMadeFields(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(53, 0))
	var names []string
	var planes []*Plane
	var rings [][]position
	for _, lat := range []float64{0, 33, -33, 53, -53, 70, -70} {
		for _, lon := range []float64{0, 180, -105.3, 0.02, 179.99} {
			for _, size := range []float64{100, 400, 1000, 5000, 20000} {
				names = append(names, fmt.Sprintf("%g m at %g, %g", size, lat, lon))
				planes = append(planes, New(lat, lon))
				rings = append(rings, irregular(random, lat, lon, size))
			}
		}
	}
	compareAreas(t, names, planes, rings)
}

// The documented polygons of GeographicLib that a field's plane can hold, with
// the published figures.
func TestPublishedArea(t *testing.T) {
	t.Parallel()
	// By GeographicLib 2.1.2; reversed the sign turns.
	ring := []position{{50, -105}, {50, -104.99}, {50.01, -104.99}, {50.01, -105}}
	p := New(50.005, -104.995)
	near(t, "field at 50 N 105 W, m2", planeAreaM2(t, p, ring), 797383.1357, 797383.1357*10e-6)
	reversed := []position{ring[3], ring[2], ring[1], ring[0]}
	near(t, "reversed, m2", planeAreaM2(t, p, reversed), -797383.1357, 797383.1357*10e-6)

	// GeographicLib, Planimeter manual: the UTM 18N square of 500 to 600 km east,
	// 4400 to 4500 km north has 10 007 388 597.19 m2 on the ellipsoid, 0.074 %
	// more than on the grid. On a plane of its own the error at 50 km is some
	// 20 ppm: far better than the grid, and stated as such.
	utm := newPlane(wgs84, 0.9996, 0, -75)
	var square []position
	for _, c := range [][2]float64{{0, 4400e3}, {100e3, 4400e3}, {100e3, 4500e3}, {0, 4500e3}} {
		square = append(square, utm.gridInverse(c[0], c[1]))
	}
	near(t, "UTM square, m2", planeAreaM2(t, New(40.2, -74.41), square), 10007388597.19, 10007388597.19*25e-6)
}

// gridInverse is Inverse with the northing from the equator: a shift of the
// origin, for the reach of a field does not hold there.
func (p *Plane) gridInverse(eastM, northM float64) position {
	q := *p
	q.northing += northM / p.radiusM
	lat, lon := q.Inverse(eastM, 0)
	return position{lat, lon}
}

func TestForwardAgainstExactProjection(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(7, 7))
	for _, lon0 := range []float64{0, 180, -105, 0.02} {
		var points []position
		var in strings.Builder
		for range 500 {
			lat := -89 + 178*random.Float64()
			reach := math.Min(2.6/math.Cos(lat*math.Pi/180), 60)
			q := position{lat, math.Remainder(lon0+reach*(2*random.Float64()-1), 360)}
			points = append(points, q)
			in.WriteString(q.String() + "\n")
		}
		rows := pipe(t, in.String(), "TransverseMercatorProj", "-l", strconv.FormatFloat(lon0, 'g', -1, 64), "-k", "1", "-p", "9")
		p := newPlane(wgs84, 1, 0, lon0)
		worst := 0.0
		for i, q := range points {
			e, n := p.gridM(t, q.latDeg, q.lonDeg)
			worst = math.Max(worst, math.Max(math.Abs(e-number(t, rows[i][0])), math.Abs(n-number(t, rows[i][1]))))
			near(t, fmt.Sprintf("%v about %v: east", q, lon0), e, number(t, rows[i][0]), 30e-9)
			near(t, fmt.Sprintf("%v about %v: north", q, lon0), n, number(t, rows[i][1]), 30e-9)
			near(t, fmt.Sprintf("%v about %v: convergence, degrees", q, lon0), p.Convergence(q.latDeg, q.lonDeg)*RadToDeg, number(t, rows[i][2]), 1e-11)
		}
		t.Logf("central meridian %v: worst %.2g m", lon0, worst)
	}
}

// Short lines on the plane are as long as the geodesic.
func TestDistanceAgainstGeodesic(t *testing.T) {
	t.Parallel()
	// GeodTest short line, and the line of the GeographicLib documentation that
	// caught a bad hypot.
	for _, c := range []struct{ lat1, lon1, lat2, lon2, wantM, tolM float64 }{
		{54.1589, 15.3872, 54.1591, 15.3877, 39.527686385, 5e-9},
		{37.757540000000006, -122.47018, 37.75754, -122.470177, 0.264, 0.0005},
	} {
		p := New(c.lat1, c.lon1)
		x, y, _ := p.Forward(c.lat2, c.lon2)
		near(t, fmt.Sprintf("length of %v", c), Hypot(x, y), c.wantM, c.tolM)
	}

	random := rand.New(rand.NewPCG(3, 4))
	var in strings.Builder
	var got []float64
	for range 300 {
		lat, lon := -80+160*random.Float64(), -180+360*random.Float64()
		p := New(lat, lon)
		x, y := 1e4*random.Float64()-5e3, 1e4*random.Float64()-5e3
		lat1, lon1 := p.Inverse(x, y)
		in.WriteString(position{lat, lon}.String() + " " + position{lat1, lon1}.String() + "\n")
		got = append(got, Hypot(x, y))
	}
	for i, row := range pipe(t, in.String(), "GeodSolve", "-i", "-p", "6") {
		want := number(t, row[2])
		near(t, fmt.Sprintf("line %d of %.0f m", i, want), got[i], want, 1e-9+want*0.4e-6)
	}
}

func TestAgainstGeoConvert(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(9, 9))
	var in strings.Builder
	var points []position
	for range 200 {
		q := position{84 * random.Float64(), 6 * random.Float64()} // zone 31
		points = append(points, q)
		in.WriteString(q.String() + "\n")
	}
	p := newPlane(wgs84, 0.9996, 0, 3)
	for i, row := range pipe(t, in.String(), "GeoConvert", "-u", "-z", "31", "-p", "6") {
		e, n := p.gridM(t, points[i].latDeg, points[i].lonDeg)
		near(t, fmt.Sprintf("%v: UTM east", points[i]), e+500e3, number(t, row[1]), 2e-6)
		near(t, fmt.Sprintf("%v: UTM north", points[i]), n, number(t, row[2]), 2e-6)
	}
}
