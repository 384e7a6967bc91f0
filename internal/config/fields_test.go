package config_test

import (
	"encoding/json"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/internal/boundary"
	"drawbar/internal/config"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

// square is a GeoJSON Feature one by one milli-degree large, its corner so many
// milli-degrees east of 0.1.
func square(name string, east int) string {
	x := []string{}
	for _, p := range [][2]int{{0, 0}, {1, 0}, {1, 1}, {0, 1}, {0, 0}} {
		b, _ := json.Marshal([2]float64{float64(100+east+p[0]) / 1000, float64(53400+p[1]) / 1000})
		x = append(x, string(b))
	}
	properties, _ := json.Marshal(map[string]string{"Name": name})
	return `{"type":"Feature","properties":` + string(properties) + `,"geometry":{"type":"Polygon","coordinates":[[` + strings.Join(x, ",") + `]]}}`
}

func collection(features ...string) string {
	return `{"type":"FeatureCollection","features":[` + strings.Join(features, ",") + `]}`
}

const bowTie = `{"type":"Feature","properties":{"name":"Bow"},"geometry":{"type":"Polygon","coordinates":[[[0.1,53.4],[0.104,53.402],[0.104,53.4],[0.1,53.402],[0.1,53.4]]]}}`

// Which outline the field of the start has.
func TestFieldOutline(t *testing.T) {
	t.Parallel()
	dir := lay(t, map[string]string{
		"fields.geojson":        collection(square("Mill Piece", 0), square(" LONG  MEADOW ", 5), square("", 9)),
		"faulty.geojson":        collection(bowTie, square("Far Reach", 7)),
		"unnamed.geojson":       collection(square("", 0), square("", 5)),
		"alone.geojson":         square("F-17", 3),
		"folder/a.geojson":      square("Mill Piece", 0),
		"folder/b.json":         collection(square("Long Meadow", 5)),
		"folder/notes.txt":      "not a boundary",
		"folder/.hidden.json":   "{",
		"twice/a.geojson":       square("Mill Piece", 0),
		"twice/b.geojson":       square("mill piece", 5),
		"nameless.geojson":      square("", 0),
		"empty/notes.txt":       "",
		"marks.geojson":         strings.ReplaceAll(collection(square("M 12", 0), square("M 13", 5)), `"Name"`, `"Mark"`),
		"fourteen.geojson":      collection(letters(14)...),
		"namesakes.geojson":     collection(square("Mill Piece", 0), square("Mill piece", 5)),
		"overlapping.geojson":   collection(square("", 0), square("", 0)),
		"folder-with/a.geojson": "{",
	})
	for _, c := range []struct {
		name, text string
		east       []int  // of the squares of the outline
		known      int    // fields
		want       string // fault
	}{
		{"one of several, by its name", "field: {name: Mill Piece, boundary: fields.geojson}", []int{0}, 0, ""},
		{"whatever the case and the blanks", "field: {name: long meadow, boundary: fields.geojson}", []int{5}, 0, ""},
		{"the only one, whatever its name", "field: {name: Mill Piece, boundary: alone.geojson}", []int{3}, 0, ""},
		{"all, where none has a name", "field: {name: Mill Piece, boundary: unnamed.geojson}", []int{0, 5}, 0, ""},
		{"beside one that is at fault", "field: {name: Far Reach, boundary: faulty.geojson}", []int{7}, 0, ""},
		{"no such name", "field: {name: Far Reach, boundary: fields.geojson}", nil, 0, "fields.geojson: got no field Far Reach, want one of LONG MEADOW, Mill Piece"},
		{"no such name among many", "field: {name: Far Reach, boundary: fourteen.geojson}", nil, 0, "fourteen.geojson: got no field Far Reach, want one of A, B, C, D, E, F, G, H, I, J and 4 more"},
		{"a name twice", "field: {name: Mill Piece, boundary: namesakes.geojson}", nil, 0, "namesakes.geojson: got two fields Mill Piece: features[0] (Mill Piece) and features[1] (Mill piece), want one: name them apart, or make them one field of several parts"},
		{"without names and over one another", "field: {name: Mill Piece, boundary: overlapping.geojson}", nil, 0, "overlapping.geojson: the outlines together: got polygons 1 and 2 that overlap at [0.1005, 53.4005], want polygons apart from one another, an island as a hole of its polygon"},
		{"at fault itself", "field: {name: Bow, boundary: faulty.geojson}", nil, 0, "faulty.geojson:1:158: features[0].geometry.coordinates[0][2] (Bow): got a side by which the ring crosses itself at [0.102, 53.401], want a ring whose sides meet in its corners only"},
		{"a folder for a boundary", "field: {name: Mill Piece, boundary: folder}", nil, 0, "folder: got a folder, want a file"},
		{"of the known fields", "fields: fields2.geojson\nfield: {name: mill piece}", nil, 0, "c.yaml:1:9: fields: got fields2.geojson, want a file or a folder of boundary files that can be read, its path as seen from the configuration's folder (no such file or directory)"},
		{"of a folder of files", "field: {name: mill piece}\nfields: folder", []int{0}, 2, ""},
		{"of its own file before that of the known", "field: {name: Mill Piece, boundary: alone.geojson}\nfields: folder", []int{3}, 2, ""},
		{"not among the known", "field: {name: Far Reach}\nfields: folder", nil, 2, ""},
		{"known fields alone", "fields: folder", nil, 2, ""},
		{"names from another attribute", "fields: {path: marks.geojson, name_from: MARK}\nfield: {name: m 13}", []int{5}, 2, ""},
		{"names from an attribute that is not there", "fields: {path: marks.geojson, name_from: Nr}", nil, 0, "marks.geojson: got no attribute Nr for the names, want one of Mark"},
		{"known fields as a number", "fields: 5", nil, 0, "c.yaml:1:9: fields: got 5, want a file or a folder of boundary files as a text in quotes: \"5\""},
		{"known fields without a path", "fields: {name_from: Nr}", nil, 0, "c.yaml:1:9: fields.path: got nothing, want a file or a folder of boundary files"},
		{"a known field without a name", "fields: nameless.geojson", nil, 0, "nameless.geojson: got the only one, a field without a name, want one in an attribute name, or the attribute that holds it stated"},
		{"two known fields of a name", "fields: twice", nil, 0, "twice/b.geojson: got the only one (mill piece), the name of which twice/a.geojson, the only one (Mill Piece) has too, want each field's name once"},
		{"a known field at fault", "fields: faulty.geojson", nil, 0, "faulty.geojson:1:158: features[0].geometry.coordinates[0][2] (Bow): got a side by which the ring crosses itself at [0.102, 53.401], want a ring whose sides meet in its corners only"},
		{"a folder without fields", "fields: empty", nil, 0, "empty: got a folder without a boundary file, want files with the extension .geojson, .gpkg, .shp, .kml, .kmz or .zip"},
		{"a folder with a broken file", "fields: folder-with", nil, 0, "folder-with/a.geojson:1:2: got the end of the text, want the JSON to go on"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			f, err := config.Parse("c.yaml", []byte(c.text), func(name string) ([]byte, error) {
				return boundary.OpenFile(filepath.Join(dir, name))
			})
			if c.want != "" {
				if err == nil || err.Error() != c.want {
					t.Fatalf("of %q\n got %v\nwant %s", c.text, err, c.want)
				}
				return
			}
			if err != nil || len(f.Fields.Known) != c.known {
				t.Fatalf("of %q got %d known fields, %v, want %d", c.text, len(f.Fields.Known), err, c.known)
			}
			var want orb.MultiPolygon
			for _, east := range c.east {
				lo, hi := float64(100+east)/1000, float64(101+east)/1000
				want = append(want, orb.Polygon{{{lo, 53.4}, {hi, 53.4}, {hi, 53.401}, {lo, 53.401}, {lo, 53.4}}})
			}
			if diff := cmp.Diff(want, f.Field.Boundary); diff != "" {
				t.Errorf("outline of %q (-want +got):\n%s", c.text, diff)
			}

			// A recording has the text and the outline, and no files: the replay has
			// the same outline to the last bit.
			outline, err := f.Outline()
			if err != nil {
				t.Fatal(err)
			}
			again, err := config.ParseRecorded("recorded", []byte(c.text), outline)
			if err != nil {
				t.Fatalf("recorded %q with outline %s: %v", c.text, outline, err)
			}
			if diff := cmp.Diff(f.Setup(), again.Setup(), ignore); diff != "" {
				t.Errorf("recorded %q (-live +recorded):\n%s", c.text, diff)
			}
		})
	}
}

// letters are fields A, B, C ... apart from one another, without Far Reach.
func letters(n int) (out []string) {
	for i := range n {
		out = append(out, square(string(rune('A'+i)), 2*i))
	}
	return out
}

// A recording whose configuration names files that were not kept is refused
// where the field's own outline is missing, and replayed where only the known
// fields are.
func TestParseRecordedWithoutFiles(t *testing.T) {
	t.Parallel()
	if f, err := config.ParseRecorded("recorded", []byte("fields: far/away.gpkg\nfield: {name: Mill Piece}"), ""); err != nil || f.Field.Name != "Mill Piece" || f.Fields.From != "far/away.gpkg" {
		t.Errorf("known fields absent: got %+v, %v, want the field without an outline", f.Field, err)
	}
	_, err := config.ParseRecorded("recorded", []byte("field: {name: Mill Piece, boundary: far/away.shp}"), "")
	var faults *config.Error
	if !errors.As(err, &faults) || !strings.Contains(err.Error(), "recorded:1:37: field.boundary: got far/away.shp, want") {
		t.Errorf("outline absent: got %v, want a fault at field.boundary", err)
	}
}
