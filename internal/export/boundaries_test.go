package export

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/internal/boundary"
	"drawbar/internal/testkit"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"
)

// What Boundaries writes is read back the same by us, is GeoJSON of RFC 7946
// (rings by the right-hand rule, section 3.1.6) and opens in GDAL.
func TestBoundaries(t *testing.T) {
	t.Parallel()
	fields := []boundary.Field{
		{Name: `Mill "Piece" ø`, AreaM2: 57369.7229, Outline: orb.MultiPolygon{{
			{{0.1, 53.4}, {0.1, 53.402}, {0.104, 53.402}, {0.104, 53.4}, {0.1, 53.4}}, // clockwise
			{{0.101, 53.4005}, {0.102, 53.401}, {0.101, 53.401}, {0.101, 53.4005}},    // anticlockwise
		}}},
		{Name: "", AreaM2: 1, Outline: orb.MultiPolygon{
			{{{0.11, 53.41}, {0.12, 53.41}, {0.12, 53.4112345678}, {0.11, 53.41}}},
			{{{0.13, 53.41}, {0.14, 53.41}, {0.14, 53.4112}, {0.13, 53.41}}},
		}},
	}
	path := filepath.Join(t.TempDir(), "fields.geojson")
	if err := Boundaries(path, fields); err != nil {
		t.Fatal(err)
	}
	got, err := boundary.Read(path, boundary.OpenFile, boundary.Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []boundary.Field{fields[0], fields[1]}
	want[0].Outline = orb.MultiPolygon{{
		{{0.1, 53.4}, {0.104, 53.4}, {0.104, 53.402}, {0.1, 53.402}, {0.1, 53.4}},
		{{0.101, 53.4005}, {0.101, 53.401}, {0.102, 53.401}, {0.101, 53.4005}},
	}}
	if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(boundary.Field{}, "AreaM2", "File", "At")); diff != "" {
		t.Errorf("read back (-want +got):\n%s", diff)
	}
	b, err := os.ReadFile(path)
	if err != nil || !json.Valid(b) {
		t.Errorf("%s: %v, want JSON", b, err)
	}
	out, err := exec.Command(testkit.Tool(t, "ogrinfo"), "-so", "-al", path).CombinedOutput()
	for _, words := range []string{"Feature Count: 2", "Extent: (0.100000, 53.400000) - (0.140000, 53.411235)"} {
		if err != nil || !strings.Contains(string(out), words) {
			t.Errorf("ogrinfo: %v, want %s: %s", err, words, out)
		}
	}

	if err := Boundaries(t.TempDir(), fields); err == nil {
		t.Error("written over a folder, want an error")
	}
	if err := Boundaries(filepath.Join(t.TempDir(), "none", "x.geojson"), fields); err == nil {
		t.Error("written into a folder that is not there, want an error")
	}
}
