package export

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb/geojson"

	"drawbar/coverage"
	"drawbar/coverage/plane"
	"drawbar/internal/testkit"
	"drawbar/nmea"
)

var morning = time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)

// box is a closed square of the given side, its corner at x, y, all in metres.
func box(x, y, side float64) []plane.Coord {
	c := func(x, y float64) plane.Coord {
		return plane.Coord{X: int64(x * plane.UnitsPerM), Y: int64(y * plane.UnitsPerM)}
	}
	return []plane.Coord{c(x, y), c(x+side, y), c(x+side, y+side), c(x, y+side), c(x, y)}
}

func writeSample(t *testing.T, dir string) {
	t.Helper()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	p := plane.New(53.378, 0)
	op := &coverage.Operation{Field: "Mill Piece", Name: "seeding", Plane: p}
	f.Swath(coverage.Swath{
		Operation: op, Number: 1, Section: 2, Start: morning, End: morning.Add(1500 * time.Millisecond), Plane: p,
		Rings: [][]plane.Coord{box(-10, 0, 20)},
		Tanks: []coverage.SwathTank{
			{Tank: 1, Product: "Spring oats", Unit: "kg", RatePerM2: 0.01125, HasRate: true, TargetPerM2: 0.0112, HasTarget: true},
			{Tank: 3, Unit: "l"},
		},
	})
	f.Swath(coverage.Swath{Operation: op, Number: 1, Section: 1, Start: morning, End: morning, Plane: p,
		Rings: [][]plane.Coord{box(0, 0, 5), box(20, 20, 5)}})
	for i := range 2500 {
		q := nmea.QualityRTK
		if i >= 2400 {
			q = nmea.QualityFloat
		}
		f.Fix(coverage.TrackPoint{Time: morning.Add(time.Duration(i) * 100 * time.Millisecond), LatDeg: 53.378 + float64(i)*1e-6, LonDeg: -0.0005, Quality: q, Broken: i == 0 || i == 2450 || i == 2499})
	}
	marks := []coverage.Mark{
		{Time: morning, Kind: "stone", Note: "by the \"old\" oak", LatDeg: 53.379, LonDeg: -0.001, Known: true},
		{Time: morning, Kind: "weeds"},
	}
	if err := f.Err(); err != nil {
		t.Fatal(err)
	}
	if err := f.Finish([]byte("{}\n"), []*coverage.Operation{op}, marks); err != nil {
		t.Fatal(err)
	}
}

var names = []string{"covered.geojson", "marks.geojson", "overlap.geojson", "skips.geojson", "summary.json", "swaths.geojson", "track.geojson"}

// list is the names in dir, the hidden ones of files half written too.
func list(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	return got
}

func TestFiles(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "new", "folder")
	writeSample(t, dir)
	if diff := cmp.Diff(names, list(t, dir)); diff != "" {
		t.Fatalf("files (-want +got):\n%s", diff)
	}
	load := func(name string) *geojson.FeatureCollection {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), `"crs"`) {
			t.Errorf("%s has a crs member, which RFC 7946 took out", name)
		}
		fc, err := geojson.UnmarshalFeatureCollection(text)
		if err != nil {
			t.Fatalf("read %s: %v", name, err)
		}
		return fc
	}

	swaths := load("swaths.geojson").Features
	if len(swaths) != 2 || swaths[0].Geometry.GeoJSONType() != "Polygon" || swaths[1].Geometry.GeoJSONType() != "MultiPolygon" {
		t.Fatalf("swaths: %v", swaths)
	}
	want := geojson.Properties{
		"start": "2026-05-14T13:05:10.000Z", "end": "2026-05-14T13:05:11.500Z", "section": 2.0, "operation": 1.0, "field": "Mill Piece",
		"tanks": []any{
			map[string]any{"tank": 1.0, "product": "Spring oats", "unit": "kg", "rate": 0.01125, "target": 0.0112},
			map[string]any{"tank": 3.0, "product": nil, "unit": "l", "rate": nil, "target": nil},
		},
	}
	if diff := cmp.Diff(want, swaths[0].Properties); diff != "" {
		t.Errorf("swath properties (-want +got):\n%s", diff)
	}

	// 0–2399 RTK in lines of at most 1000 points that share their ends, then
	// float, broken twice.
	var lines []string
	fixes := 0.0
	for _, f := range load("track.geojson").Features {
		lines = append(lines, f.Properties["quality"].(string)+" "+f.Geometry.GeoJSONType())
		fixes += f.Properties["fixes"].(float64)
	}
	if diff := cmp.Diff([]string{"rtk LineString", "rtk LineString", "rtk LineString", "float LineString", "float LineString", "float Point"}, lines); diff != "" || fixes != 2500 {
		t.Errorf("track, %v fixes (-want +got):\n%s", fixes, diff)
	}

	marks := load("marks.geojson").Features
	if len(marks) != 2 || marks[0].Point() != [2]float64{-0.001, 53.379} || marks[0].Properties["note"] != `by the "old" oak` || marks[1].Geometry != nil {
		t.Errorf("marks: %v", marks)
	}
}

// The same results give the same bytes, and replace what was there.
func TestFilesAreDeterministic(t *testing.T) {
	t.Parallel()
	a, b := t.TempDir(), t.TempDir()
	writeSample(t, a)
	writeSample(t, b)
	writeSample(t, b)
	for _, name := range names {
		first, err1 := os.ReadFile(filepath.Join(a, name))
		second, err2 := os.ReadFile(filepath.Join(b, name))
		if err1 != nil || err2 != nil || string(first) != string(second) {
			t.Errorf("%s differs between two runs: %v %v", name, err1, err2)
		}
	}
}

func TestDiscardLeavesNothing(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	f.Discard()
	f.Discard()
	if got := list(t, dir); got != nil {
		t.Errorf("left behind: %v", got)
	}
}

func TestOpenRefusals(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(path, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(path); err == nil || !strings.Contains(err.Error(), path) {
		t.Errorf("Open of a file: %v, want an error that names it", err)
	}
}

// A folder that cannot take the last file leaves no summary.json behind, which
// would say that the others are whole.
func TestFinishFailure(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "marks.geojson"), 0o755); err != nil {
		t.Fatal(err)
	}
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Finish([]byte("{}\n"), nil, nil); err == nil || !strings.Contains(err.Error(), "marks.geojson") {
		t.Errorf("Finish: %v, want an error that names marks.geojson", err)
	}
	for _, name := range list(t, dir) {
		if name == "summary.json" || strings.HasSuffix(name, ".tmp") {
			t.Errorf("%s was left behind", name)
		}
	}
}

// GEOS reads what we write and finds the geometry valid, of the area that was
// put in (20 x 20 m, by the geodesic scale at that latitude).
func TestGEOSReadsSwaths(t *testing.T) {
	t.Parallel()
	python := testkit.Python(t)
	dir := t.TempDir()
	writeSample(t, dir)
	const script = `
import json, math, sys
from shapely.geometry import shape
lat = math.radians(53.378)
e2 = 0.0066943799901413165  # WGS 84
n = 6378137 / math.sqrt(1 - e2 * math.sin(lat) ** 2)
m = n * (1 - e2) / (1 - e2 * math.sin(lat) ** 2)
scale = math.radians(1) ** 2 * n * math.cos(lat) * m
out = []
for f in json.load(open(sys.argv[1]))["features"]:
    g = shape(f["geometry"])
    out.append([g.is_valid, g.exterior.is_ccw if g.geom_type == "Polygon" else None, g.area * scale])
print(json.dumps(out))
`
	text, err := exec.Command(python, "-c", script, filepath.Join(dir, "swaths.geojson")).Output()
	if err != nil {
		t.Fatal(err)
	}
	var got [][3]any
	if err := json.Unmarshal(text, &got); err != nil || len(got) != 2 {
		t.Fatalf("%s: %v", text, err)
	}
	for i, want := range []float64{400, 50} {
		if area := got[i][2].(float64); got[i][0] != true || got[i][1] == false || area < want*0.9999 || area > want*1.0001 {
			t.Errorf("swath %d: valid %v, counter-clockwise %v, %v m2, want %v", i, got[i][0], got[i][1], area, want)
		}
	}
}

// GDAL reads every file as a layer of its name.
func TestGDALReadsFiles(t *testing.T) {
	t.Parallel()
	ogrinfo := testkit.Tool(t, "ogrinfo")
	dir := t.TempDir()
	writeSample(t, dir)
	for name, features := range map[string]string{"swaths": "Feature Count: 2", "track": "Feature Count: 6", "marks": "Feature Count: 2", "skips": "Feature Count: 0"} {
		text, err := exec.Command(ogrinfo, "-so", filepath.Join(dir, name+".geojson"), name).CombinedOutput()
		if err != nil || !strings.Contains(string(text), features) {
			t.Errorf("ogrinfo %s: %v, want %q in:\n%s", name, err, features, text)
		}
	}
}

// A swath of a section at 10 Hz, 25 s long: 501 corners.
func BenchmarkSwath(b *testing.B) {
	f, err := Open(b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	defer f.Discard()
	p := plane.New(53.378, 0)
	var right, left []plane.Coord
	for i := range 250 {
		right = append(right, plane.Coord{X: 30_000 + int64(i%7), Y: int64(i) * 3_000})
		left = append(left, plane.Coord{X: int64(i % 5), Y: int64(249-i) * 3_000})
	}
	ring := append(append(right, left...), right[0])
	s := coverage.Swath{Operation: &coverage.Operation{}, Number: 1, Section: 1, Plane: p, Rings: [][]plane.Coord{ring}}
	b.ReportAllocs()
	for b.Loop() {
		f.Swath(s)
	}
	if err := f.Err(); err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(ring)), "ns/corner")
}
