package export

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"

	"drawbar/coverage"
	"drawbar/coverage/plane"
	"drawbar/internal/units"
	"drawbar/nmea"
	"drawbar/replay"
)

// gaps is work of 12 m passes of 100 m with gaps of the given widths between
// them, each pass in its own minute.
func gaps(widthsM ...float64) []*coverage.Operation {
	e := coverage.NewEngine(coverage.Setup{
		Implement: &coverage.Implement{Operation: "seeding", SectionsM: []float64{3, 3, 3, 3}},
		Field:     "Mill Piece", Limits: coverage.DefaultLimits(), AlwaysOn: true, WatchSkips: true,
	})
	p := plane.New(53.378, 0)
	x := 0.0
	for n := range len(widthsM) + 1 {
		for i := range 101 {
			lat, lon := p.Inverse(x, float64(i))
			e.Fix(nmea.Fix{Time: morning.Add(time.Duration(n)*time.Minute + time.Duration(i)*250*time.Millisecond), LatDeg: lat, LonDeg: lon, Quality: nmea.QualityRTK})
		}
		if n < len(widthsM) {
			x += 12 + widthsM[n]
		}
	}
	e.Finish()
	return e.Operations()
}

func TestSkipsFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Finish([]byte("{}\n"), gaps(1, 0.3, -0.2), nil); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, "skips.geojson"))
	if err != nil {
		t.Fatal(err)
	}
	c, err := geojson.UnmarshalFeatureCollection(text)
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	if len(c.Features) != 2 {
		t.Fatalf("%d skips, want 2: %s", len(c.Features), text)
	}
	for i, want := range []float64{100, 30} {
		f := c.Features[i]
		if got := f.Properties.MustFloat64("area_m2"); math.Abs(got-want) > 0.5 {
			t.Errorf("skip %d: area_m2 %g, want %g", i, got, want)
		}
		if got := f.Properties.MustFloat64("width_m"); math.Abs(got-want/100) > 0.05 {
			t.Errorf("skip %d: width_m %g, want %g", i, got, want/100)
		}
		if got := f.Properties.MustFloat64("length_m"); math.Abs(got-100) > 1 {
			t.Errorf("skip %d: length_m %g, want 100", i, got)
		}
		if got := f.Properties.MustString("field") + "/" + f.Properties.MustString("name"); got != "Mill Piece/seeding" {
			t.Errorf("skip %d: %s", i, got)
		}
		since, err := time.Parse(time.RFC3339, f.Properties.MustString("since"))
		if from := morning.Add(time.Duration(i+1) * time.Minute); err != nil || since.Before(from) || since.After(from.Add(10*time.Second)) {
			t.Errorf("skip %d: since %v (%v), want from %v on", i, since, err, from)
		}
		if f.Properties["closed"] != nil || f.Properties.MustInt("operation") != 1 {
			t.Errorf("skip %d: %v", i, f.Properties)
		}
		bound := f.Geometry.Bound()
		if at := (orb.Point{f.Properties.MustFloat64("lon"), f.Properties.MustFloat64("lat")}); !bound.Contains(at) {
			t.Errorf("skip %d: place %v is outside %v", i, at, bound)
		}
	}
	// The first is far from the bar, the second within its width.
	if got := c.Features[0].Properties.MustString("state") + " " + c.Features[1].Properties.MustString("state"); got != "open provisional" {
		t.Errorf("states %s", got)
	}
	if !json.Valid(text) {
		t.Errorf("not JSON: %s", text)
	}
}

func TestTextNamesTheLargestSkips(t *testing.T) {
	t.Parallel()
	op := gaps(0.3, 0.5, 0.4, 0.8, 0.7, 0.6)[0]
	total, ok := op.SkipM2()
	if !ok {
		t.Fatal("skips are not known")
	}
	s := replay.Summary{Operations: []replay.OperationFigures{replay.Figures(op)}}
	got := string(Text{Units: units.Metric}.Append(nil, s))
	if want := units.Metric.Show(units.Area, total) + " in 6 places, the 5 largest:"; !strings.Contains(got, want) {
		t.Errorf("no %q in\n%s", want, got)
	}
	var areas []int
	for _, m := range regexp.MustCompile(`(?m)^ +([0-9.]+) m2, 0\.`).FindAllStringSubmatch(got, -1) {
		v, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		areas = append(areas, int(math.Round(v)))
	}
	if want := []int{80, 70, 60, 50, 40}; !slices.Equal(areas, want) {
		t.Errorf("areas of the skips named: %v, want %v in\n%s", areas, want, got)
	}
}
