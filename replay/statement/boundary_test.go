package statement_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/internal/testkit"
	"drawbar/replay/statement"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

const (
	ring   = `[[0.1,53.4],[0.104,53.4],[0.104,53.402],[0.1,53.402],[0.1,53.4]]`
	island = `[[0.101,53.4005],[0.101,53.401],[0.102,53.401],[0.101,53.4005]]`
	across = `[[0.105,53.4],[0.106,53.4],[0.106,53.401],[0.105,53.4]]`
)

func outline() orb.Ring {
	return orb.Ring{{0.1, 53.4}, {0.104, 53.4}, {0.104, 53.402}, {0.1, 53.402}, {0.1, 53.4}}
}

func parcel() orb.Ring {
	return orb.Ring{{0.105, 53.4}, {0.106, 53.4}, {0.106, 53.401}, {0.105, 53.4}}
}

func hole() orb.Ring {
	return orb.Ring{{0.101, 53.4005}, {0.101, 53.401}, {0.102, 53.401}, {0.101, 53.4005}}
}

// What a boundary file may hold, by RFC 7946.
func TestBoundaryFile(t *testing.T) {
	t.Parallel()
	polygon := `{"type":"Polygon","coordinates":[` + ring + `]}`
	one := orb.MultiPolygon{{outline()}}
	for _, c := range []struct {
		name, text string
		want       orb.MultiPolygon
	}{
		{"Polygon, section 3.1.6", polygon, one},
		{"a ring the other way round is accepted, section 3.1.6", `{"type":"Polygon","coordinates":[[[0.1,53.4],[0.1,53.402],[0.104,53.402],[0.104,53.4],[0.1,53.4]]]}`,
			orb.MultiPolygon{{{{0.1, 53.4}, {0.1, 53.402}, {0.104, 53.402}, {0.104, 53.4}, {0.1, 53.4}}}}},
		{"Polygon with a hole, appendix A.3", `{"type":"Polygon","coordinates":[` + ring + "," + island + `]}`, orb.MultiPolygon{{outline(), hole()}}},
		{"MultiPolygon, section 3.1.7", `{"type":"MultiPolygon","coordinates":[[` + ring + `],[` + across + `]]}`, orb.MultiPolygon{{outline()}, {parcel()}}},
		{"an altitude is passed over, section 3.1.1", `{"type":"Polygon","coordinates":[[[0.1,53.4,90],[0.104,53.4,91.5],[0.104,53.402,90],[0.1,53.402,90],[0.1,53.4,90]]]}`, one},
		{"foreign members, section 6.1", `{"type":"Polygon","bbox":[0.1,53.4,0.104,53.402],"title":{"a":[]},"coordinates":[` + ring + `]}`, one},
		{"Feature, section 3.2", `{"type":"Feature","id":7,"properties":null,"geometry":` + polygon + `}`, one},
		{"FeatureCollection, section 3.3", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":` + polygon +
			`},{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[` + across + `]}}]}`, orb.MultiPolygon{{outline()}, {parcel()}}},
		{"a Feature without a place, section 3.2", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":null},{"type":"Feature","properties":{},"geometry":` + polygon + `}]}`, one},
		{"an older file that names WGS 84", `{"type":"Polygon","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}},"coordinates":[` + ring + `]}`, one},
		{"a ring that is not closed, against section 3.1.6, is closed", `{"type":"Polygon","coordinates":[[[0.1,53.4],[0.104,53.4],[0.104,53.402],[0.1,53.402]]]}`, one},
		{"parcels that share a border", `{"type":"MultiPolygon","coordinates":[[` + ring + `],[[[0.104,53.4],[0.106,53.4],[0.104,53.402],[0.104,53.4]]]]}`,
			orb.MultiPolygon{{outline()}, {{{0.104, 53.4}, {0.106, 53.4}, {0.104, 53.402}, {0.104, 53.4}}}}},
		{"parcels that overlap by a hair, 7 cm", `{"type":"MultiPolygon","coordinates":[[` + ring + `],[[[0.103999,53.4001],[0.106,53.4],[0.104,53.402],[0.103999,53.4001]]]]}`,
			orb.MultiPolygon{{outline()}, {{{0.103999, 53.4001}, {0.106, 53.4}, {0.104, 53.402}, {0.103999, 53.4001}}}}},
		{"a hole that touches the outer ring, OGC 06-103r4 section 6.1.11", `{"type":"Polygon","coordinates":[` + ring + `,[[0.1,53.401],[0.102,53.401],[0.102,53.4012],[0.1,53.401]]]}`,
			orb.MultiPolygon{{outline(), {{0.1, 53.401}, {0.102, 53.401}, {0.102, 53.4012}, {0.1, 53.401}}}}},
		{"the outermost degrees", `{"type":"Polygon","coordinates":[[[-180,-90],[180,-90],[180,90],[-180,90],[-180,-90]]]}`,
			orb.MultiPolygon{{{{-180, -90}, {180, -90}, {180, 90}, {-180, 90}, {-180, -90}}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, faults := boundaryFile(t, c.text)
			if len(faults) > 0 {
				t.Fatalf("faults %v", faults)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestBoundaryFileFaults(t *testing.T) {
	t.Parallel()
	polygon := func(ring string) string { return `{"type":"Polygon","coordinates":[` + ring + `]}` }
	const wantType = "want a GeoJSON geometry of type Polygon or MultiPolygon"
	for _, c := range []struct{ name, text, want string }{
		{"no type", `{"coordinates":[]}`, "1:1: type: got nothing, " + wantType},
		{"a line", `{"type":"LineString","coordinates":[[0,0],[1,1]]}`, "1:9: type: got LineString, " + wantType},
		{"type in small letters, section 1.4", `{"type":"polygon","coordinates":[` + ring + `]}`, "1:9: type: got polygon, " + wantType},
		{"no coordinates", `{"type":"Polygon"}`, "1:1: coordinates: got nothing, want the rings of the outline"},
		{"empty coordinates", `{"type":"MultiPolygon","coordinates":[]}`, "1:38: coordinates: got an empty list, want the rings of the outline"},
		{"an empty part", `{"type":"MultiPolygon","coordinates":[[]]}`, "1:39: coordinates[0]: got an empty list, want a list of rings, the outer one first"},
		{"a ring that is none", `{"type":"Polygon","coordinates":[5]}`, "1:34: coordinates[0]: got 5, want a ring: a list of positions"},
		{"a Polygon nested as a MultiPolygon", polygon("[" + ring + "," + ring + "," + ring + "," + ring + "]"), "1:35: coordinates[0][0]: got a list, want a position [longitude, latitude] in degrees"},
		{"three positions, section 3.1.6", polygon(`[[0,0],[1,1],[0,0]]`), "1:34: coordinates[0]: got 3 positions, want a ring of at least 4, the last one the same as the first"},
		{"a bow-tie", polygon(`[[0,0],[1,1],[1,0],[0,1],[0,0]]`), "1:47: coordinates[0][2]: got a side by which the ring crosses itself at [0.5, 0.5], want a ring whose sides meet in its corners only"},
		{"pinched", polygon(`[[0,0],[2,0],[1,1],[2,2],[0,2],[1,1],[0,0]]`), "1:59: coordinates[0][4]: got a side by which the ring touches itself at [1, 1], want a ring whose sides meet in its corners only"},
		{"a spike", polygon(`[[0,0],[2,0],[2,2],[3,2],[1,2],[0,2],[0,0]]`), "1:53: coordinates[0][3]: got a side by which the ring touches itself at [2, 2], want a ring whose sides meet in its corners only"},
		{"a hole across the border, OGC 06-103r4 section 6.1.11", polygon(`[[0,0],[4,0],[4,4],[0,4],[0,0]],[[3,1],[5,1],[5,2],[3,2],[3,1]]`), "1:66: coordinates[1]: got a ring that crosses ring 0 at [4, 1], want rings that do not cross"},
		{"a hole outside", polygon(`[[0,0],[4,0],[4,4],[0,4],[0,0]],[[6,1],[7,1],[7,2],[6,1]]`), "1:66: coordinates[1]: got a hole that is outside at [6, 1], want holes inside the outer ring"},
		{"a hole in a hole", polygon(`[[0,0],[9,0],[9,9],[0,9],[0,0]],[[1,1],[8,1],[8,8],[1,8],[1,1]],[[2,2],[3,2],[3,3],[2,2]]`), "1:98: coordinates[2]: got a hole that lies in or around hole 1 at [2.75, 2.5], want holes apart from one another"},
		{"a pond as a polygon of its own", `{"type":"MultiPolygon","coordinates":[[` + ring + `],[` + island + `]]}`, "1:1: got polygons 1 and 2 that overlap at [0.101, 53.4005], want polygons apart from one another, an island as a hole of its polygon"},
		{"the same polygon twice", `{"type":"MultiPolygon","coordinates":[[` + ring + `],[` + ring + `]]}`, "1:1: got polygons 1 and 2 that overlap at [0.102, 53.401], want polygons apart from one another, an island as a hole of its polygon"},
		{"on one line", polygon(`[[0,0],[1,1],[2,2],[0,0]]`), "1:34: coordinates[0]: got positions on one line, want a ring that encloses ground"},
		{"one position only", polygon(`[[1,1],[1,1],[1,1],[1,1]]`), "1:34: coordinates[0]: got positions on one line, want a ring that encloses ground"},
		{"latitude first", polygon(`[[-12.1,-145.8],[-12.1,-145.7],[-12.0,-145.7],[-12.1,-145.8]]`), "1:35: coordinates[0][0]: got [-12.1, -145.8], want WGS 84 degrees, longitude (-180 to 180) before latitude (-90 to 90)"},
		{"metres of a map", polygon(`[[531000,381000],[532000,381000],[532000,382000],[531000,381000]]`), "1:35: coordinates[0][0]: got [531000, 381000], want WGS 84 degrees, longitude (-180 to 180) before latitude (-90 to 90)"},
		{"a number beyond all numbers", polygon(`[[0,1e999],[1,0],[1,1],[0,1e999]]`), "1:35: coordinates[0][0]: got [0, 1e999], want WGS 84 degrees, longitude (-180 to 180) before latitude (-90 to 90)"},
		{"a position of one number", polygon(`[[0],[1,0],[1,1],[0]]`), "1:35: coordinates[0][0]: got a list, want a position [longitude, latitude] in degrees"},
		{"a position in words", polygon(`[["0","53"],[1,0],[1,1],[0,0]]`), "1:35: coordinates[0][0]: got a list, want a position [longitude, latitude] in degrees"},
		{"a Feature without a geometry", `{"type":"Feature","properties":{}}`, "1:1: geometry: got nothing, want a Polygon or MultiPolygon"},
		{"a Feature without a place", `{"type":"Feature","properties":{},"geometry":null}`, "1:1: got no outline, want at least one Polygon or MultiPolygon"},
		{"a collection of nothing", `{"type":"FeatureCollection","features":[]}`, "1:1: got no outline, want at least one Polygon or MultiPolygon"},
		{"a collection without features", `{"type":"FeatureCollection"}`, "1:1: features: got nothing, want a list of features"},
		{"a collection of geometries", `{"type":"FeatureCollection","features":[{"type":"Polygon","coordinates":[` + ring + `]}]}`, "1:49: features[0].type: got Polygon, want Feature"},
		{"a gate among the fields", "{\"type\":\"FeatureCollection\",\"features\":[\n{\"type\":\"Feature\",\"properties\":{},\"geometry\":{\"type\":\"Point\",\"coordinates\":[0,53]}}]}",
			"2:54: features[0].geometry.type: got Point, " + wantType},
		{"another reference system", `{"type":"Polygon","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::25832"}},"coordinates":[` + ring + `]}`,
			"1:61: crs: got urn:ogc:def:crs:EPSG::25832, want WGS 84 longitude and latitude and no other reference system"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, faults := boundaryFile(t, c.text)
			if len(faults) != 1 || faults[0].Error() != c.want || got != nil {
				t.Errorf("of %s\n got %v, outline %v\nwant %s", c.text, faults, got, c.want)
			}
		})
	}
}

func boundaryFile(t *testing.T, text string) (orb.MultiPolygon, []statement.Fault) {
	t.Helper()
	n, err := statement.FromJSON([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	var faults statement.Faults
	b, ok := statement.BoundaryFile(n, "", &faults)
	if ok != (faults.Len() == 0) {
		t.Errorf("ok = %v with faults %v", ok, faults.List())
	}
	return b, faults.List()
}

// Recorded outlines of real fields: each alone as a Feature, its geometry alone
// as an operator states it, and all of them as one file.
func TestRealOutlines(t *testing.T) {
	t.Parallel()
	dir := testkit.SharedData(t)
	for _, name := range []string{"denmark-2026.geojson", "bahia-brazil-2020.geojson"} {
		text, err := os.ReadFile(filepath.Join(dir, "boundaries", name))
		if err != nil {
			t.Fatal(err)
		}
		var collection struct {
			Features []json.RawMessage `json:"features"`
		}
		if err := json.Unmarshal(text, &collection); err != nil {
			t.Fatal(err)
		}
		all, faults := boundaryFile(t, string(text))
		if len(faults) > 0 || len(collection.Features) != 100 {
			t.Errorf("%s: %d features with faults %v, want 100 without", name, len(collection.Features), faults)
		}
		var joined orb.MultiPolygon
		for i, f := range collection.Features {
			alone, faults := boundaryFile(t, string(f))
			if len(faults) > 0 {
				t.Errorf("%s, feature %d: %v", name, i, faults)
			}
			joined = append(joined, alone...)
			geometry := struct {
				Geometry json.RawMessage `json:"geometry"`
			}{}
			if err := json.Unmarshal(f, &geometry); err != nil {
				t.Fatal(err)
			}
			op, faults := statement.ParseLine([]byte(`{"boundary":` + string(geometry.Geometry) + `}`))
			if len(faults) > 0 || !op.HasBoundary || !op.Boundary.Equal(alone) {
				t.Errorf("%s, feature %d as an operator states it: %v", name, i, faults)
			}
		}
		if !joined.Equal(all) {
			t.Errorf("%s: the whole file is not the sum of its features", name)
		}
	}
}

func BenchmarkBoundaryFile(b *testing.B) {
	var text strings.Builder
	text.WriteString(`{"type":"Polygon","coordinates":[[[0,53]`)
	for i := range 360 { // out along a wavy line and back along another
		if i < 180 {
			fmt.Fprintf(&text, `,[%.7f,53.%04d123]`, float64(i+1)/1e4, i%7)
		} else {
			fmt.Fprintf(&text, `,[%.7f,53.1%04d23]`, float64(360-i)/1e4, i%8)
		}
	}
	text.WriteString(`,[0,53]]]}`)
	b.ReportAllocs()
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		n, err := statement.FromJSON([]byte(text.String()))
		if err != nil {
			b.Fatal(err)
		}
		var faults statement.Faults
		if _, ok := statement.BoundaryFile(n, "", &faults); !ok {
			b.Fatal(faults.List())
		}
	}
}
