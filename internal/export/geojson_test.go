package export

import (
	"bytes"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// write returns the text of a collection of one feature.
func write(t *testing.T, geometry func([]byte) []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	c := newCollection(&b, "x")
	c.feature(func(dst []byte) []byte { return append(dst, "{}"...) }, geometry)
	if err := c.close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// read takes the one geometry of a collection back with an independent reader.
func read(t *testing.T, text []byte) orb.Geometry {
	t.Helper()
	fc, err := geojson.UnmarshalFeatureCollection(text)
	if err != nil || len(fc.Features) != 1 {
		t.Fatalf("read %s: %v", text, err)
	}
	return fc.Features[0].Geometry
}

func TestEmptyCollection(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	if err := newCollection(&b, "skips").close(); err != nil {
		t.Fatal(err)
	}
	want := `{"type":"FeatureCollection","name":"skips","features":[]}` + "\n"
	if b.String() != want {
		t.Errorf("got %s, want %s", b.String(), want)
	}
	if fc, err := geojson.UnmarshalFeatureCollection(b.Bytes()); err != nil || len(fc.Features) != 0 {
		t.Errorf("read back: %v, %v", fc, err)
	}
}

// RFC 7946, section 3.1.6: exterior rings counter-clockwise, holes clockwise,
// closed; section 3.1.9: cut at the antimeridian; longitude comes first.
func TestPolygons(t *testing.T) {
	t.Parallel()
	cw := ring{{0, 53}, {0, 53.1}, {0.1, 53.1}, {0.1, 53}, {0, 53}}
	ccw := ring{{0, 53}, {0.1, 53}, {0.1, 53.1}, {0, 53.1}, {0, 53}}
	hole := ring{{0.02, 53.02}, {0.04, 53.02}, {0.04, 53.04}, {0.02, 53.04}, {0.02, 53.02}}
	tests := []struct {
		name string
		in   []polygon
		want string
	}{
		{"counter-clockwise", []polygon{{ccw}}, `{"type":"Polygon","coordinates":[[[0,53],[0.1,53],[0.1,53.1],[0,53.1],[0,53]]]}`},
		{"clockwise is turned", []polygon{{cw}}, `{"type":"Polygon","coordinates":[[[0,53],[0.1,53],[0.1,53.1],[0,53.1],[0,53]]]}`},
		{"hole is clockwise", []polygon{{cw, hole}}, `{"type":"Polygon","coordinates":[[[0,53],[0.1,53],[0.1,53.1],[0,53.1],[0,53]],[[0.02,53.02],[0.02,53.04],[0.04,53.04],[0.04,53.02],[0.02,53.02]]]}`},
		{"two", []polygon{{ccw}, {cw}}, `{"type":"MultiPolygon","coordinates":[[[[0,53],[0.1,53],[0.1,53.1],[0,53.1],[0,53]]],[[[0,53],[0.1,53],[0.1,53.1],[0,53.1],[0,53]]]]}`},
		{"none", nil, `null`},
		{"across the antimeridian", []polygon{{{{179.9, -17}, {-179.8, -17}, {-179.8, -16.9}, {179.9, -16.9}, {179.9, -17}}}},
			`{"type":"MultiPolygon","coordinates":[[[[180,-16.9],[179.9,-16.9],[179.9,-17],[180,-17],[180,-16.9]]],[[[-180,-17],[-179.8,-17],[-179.8,-16.9],[-180,-16.9],[-180,-17]]]]}`},
		{"across it, with a hole on one side", []polygon{{
			{{179.9, -17}, {-179.8, -17}, {-179.8, -16.9}, {179.9, -16.9}, {179.9, -17}},
			{{-179.9, -16.98}, {-179.9, -16.92}, {-179.85, -16.92}, {-179.85, -16.98}, {-179.9, -16.98}}}},
			`{"type":"MultiPolygon","coordinates":[[[[180,-16.9],[179.9,-16.9],[179.9,-17],[180,-17],[180,-16.9]]],[[[-180,-17],[-179.8,-17],[-179.8,-16.9],[-180,-16.9],[-180,-17]],[[-179.9,-16.98],[-179.9,-16.92],[-179.85,-16.92],[-179.85,-16.98],[-179.9,-16.98]]]]}`},
	}
	for _, tt := range tests {
		if got := string(appendPolygons(nil, tt.in)); got != tt.want {
			t.Errorf("%s: got %s\nwant %s", tt.name, got, tt.want)
		}
	}
}

func TestPolygonReadBack(t *testing.T) {
	t.Parallel()
	p := polygon{{{-0.1, 53}, {0.1, 53}, {0.1, 53.1}, {-0.1, 53}}}
	got := read(t, write(t, func(dst []byte) []byte { return appendPolygons(dst, []polygon{p}) }))
	want := orb.Polygon{{{-0.1, 53}, {0.1, 53}, {0.1, 53.1}, {-0.1, 53}}}
	if diff := cmp.Diff(orb.Geometry(want), got); diff != "" || want[0].Orientation() != orb.CCW {
		t.Errorf("read back (-want +got):\n%s", diff)
	}
}

func TestLines(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name string
		in   [][2]float64
		want string
	}{
		{"line", [][2]float64{{0, 53}, {-0.1, 53.5}}, `{"type":"LineString","coordinates":[[0,53],[-0.1,53.5]]}`},
		{"one fix", [][2]float64{{0, 53}}, `{"type":"Point","coordinates":[0,53]}`},
		{"eastward across", [][2]float64{{179.9, -17}, {-179.9, -16}, {-179.8, -16}}, `{"type":"MultiLineString","coordinates":[[[179.9,-17],[180,-16.5]],[[-180,-16.5],[-179.9,-16],[-179.8,-16]]]}`},
		{"westward and back", [][2]float64{{-179.9, -17}, {179.9, -16}, {-179.9, -15}},
			`{"type":"MultiLineString","coordinates":[[[-179.9,-17],[-180,-16.5]],[[180,-16.5],[179.9,-16],[180,-15.5]],[[-180,-15.5],[-179.9,-15]]]}`},
		{"along it", [][2]float64{{180, -17}, {-180, -17}}, `{"type":"MultiLineString","coordinates":[[[180,-17],[180,-17]],[[-180,-17],[-180,-17]]]}`},
	}
	for _, tt := range tests {
		if got := string(appendLine(nil, tt.in)); got != tt.want {
			t.Errorf("%s: got %s\nwant %s", tt.name, got, tt.want)
		}
	}
}

type fullDisk struct{ room int }

func (d *fullDisk) Write(p []byte) (int, error) {
	if d.room -= len(p); d.room < 0 {
		return 0, errors.New("no space left on device")
	}
	return len(p), nil
}

// The first error of writing stays, whatever is written after it.
func TestCollectionKeepsItsError(t *testing.T) {
	t.Parallel()
	c := newCollection(&fullDisk{room: 100}, "x")
	for range 10 {
		c.feature(func(dst []byte) []byte { return append(dst, "{}"...) }, func(dst []byte) []byte { return appendPoint(dst, [2]float64{0, 53}) })
	}
	if err := c.close(); err == nil || err.Error() != "no space left on device" {
		t.Errorf("close = %v, want the error of the disk", err)
	}
}
