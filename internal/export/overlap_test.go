package export

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/paulmach/orb/planar"

	"drawbar/coverage"
	"drawbar/coverage/plane"
	"drawbar/internal/testkit"
	"drawbar/nmea"
)

// crossed is work of 12 m: three passes of 100 m north with overlaps of 0.5 m and
// 1 m, then one east across all of them, then the same one again.
func crossed() []*coverage.Operation {
	e := coverage.NewEngine(coverage.Setup{
		Implement: &coverage.Implement{Operation: "seeding", SectionsM: []float64{3, 3, 3, 3}},
		Field:     "Mill Piece", Limits: coverage.DefaultLimits(), AlwaysOn: true,
	})
	p := plane.New(53.378, 0)
	for n, line := range [][4]float64{{0, 0, 0, 100}, {11.5, 100, 11.5, 0}, {22.5, 0, 22.5, 100}, {-20, 50, 60, 50}, {-20, 50, 60, 50}} {
		steps := 4 * (math.Abs(line[2]-line[0]) + math.Abs(line[3]-line[1]))
		for i := range int(steps) + 1 {
			s := float64(i) / steps
			lat, lon := p.Inverse(line[0]+(line[2]-line[0])*s, line[1]+(line[3]-line[1])*s)
			e.Fix(nmea.Fix{Time: morning.Add(time.Duration(n)*time.Minute + time.Duration(i)*100*time.Millisecond), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK})
		}
	}
	e.Finish()
	return e.Operations()
}

// Joins of 0.5 m and 1 m by 100 m are worked again between passes; the fourth pass
// crosses 34.5 m of them (12 m by 34.5 m, of which the joins, 18 m2, a third time); the
// fifth goes over it once more: 12 m by 80 m in its own direction, of which
// 34.5 m by 12 m are already there. What is worked again n times is counted n
// times and shown once.
func TestOverlapFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	ops := crossed()
	if err := f.Finish([]byte("{}\n"), ops, nil); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "overlap.geojson")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	c, err := geojson.UnmarshalFeatureCollection(text)
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	type row struct {
		cause         string
		areaM2, shown float64
	}
	want := []row{
		{"headland", 0, 0}, // found for the first metre on the joins, before the ways are known
		{"between_passes", 150 + 12*80, 150 + 12*(80-34.5)},
		{"sections", 12 * 34.5, 12*34.5 - 18},
	}
	if len(c.Features) != len(want) {
		t.Fatalf("%d features, want %d", len(c.Features), len(want))
	}
	sum := 0.0
	for i, w := range want {
		f := c.Features[i]
		if got := f.Properties.MustString("cause"); got != w.cause {
			t.Errorf("feature %d: cause %s, want %s", i, got, w.cause)
		}
		if got := f.Properties.MustString("field") + "/" + f.Properties.MustString("name"); got != "Mill Piece/seeding" || f.Properties.MustInt("operation") != 1 {
			t.Errorf("feature %d: %v", i, f.Properties)
		}
		// A cause begins and ends to a metre of the way of 12 m.
		if got := f.Properties.MustFloat64("area_m2"); math.Abs(got-w.areaM2) > 2*12 {
			t.Errorf("%s: area_m2 %g, want %g", w.cause, got, w.areaM2)
		}
		if got := f.Properties.MustFloat64("ground_m2"); math.Abs(got-w.shown) > 2*12 {
			t.Errorf("%s: ground_m2 %g, want %g", w.cause, got, w.shown)
		}
		sum += f.Properties.MustFloat64("area_m2")
		var areas []float64
		switch g := f.Geometry.(type) {
		case orb.Polygon:
			areas = []float64{planar.Area(g)}
		case orb.MultiPolygon:
			for _, p := range g {
				areas = append(areas, planar.Area(p))
			}
		}
		if !slices.IsSortedFunc(areas, func(a, b float64) int {
			if a > b {
				return -1
			}
			return 1
		}) || len(areas) < 2 && w.areaM2 > 0 {
			t.Errorf("%s: want at least two pieces, largest first: %v", w.cause, areas)
		}
	}
	if all := ops[0].Overlap().M2(); math.Abs(sum-all) > 1e-6 {
		t.Errorf("causes add up to %.6f m2, overlap %.6f", sum, all)
	}
	ogrinfo := testkit.Tool(t, "ogrinfo")
	out, err := exec.Command(ogrinfo, "-q", "-where", "cause='sections'", path, "overlap").CombinedOutput()
	if err != nil || strings.Count(string(out), "OGRFeature(overlap)") != 1 || !strings.Contains(string(out), "MULTIPOLYGON") {
		t.Errorf("ogrinfo: %v, want one feature of the cause with its pieces:\n%.600s", err, out)
	}
}
