package plane

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"drawbar/internal/testkit"
)

// TestAreaOfRealFields measures every ring, holes included, of the recorded
// field outlines on a plane centred on its field.
func TestAreaOfRealFields(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob(filepath.Join(testkit.SharedData(t), "boundaries", "*.geojson"))
	if err != nil || len(files) == 0 {
		t.Fatalf("find field outlines: %d files, %v", len(files), err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			var names []string
			var planes []*Plane
			var rings [][]position
			for i, field := range readOutlines(t, file) {
				p := New(centre(field))
				for j, ring := range field {
					names = append(names, fmt.Sprintf("feature %d, ring %d", i, j))
					planes = append(planes, p)
					rings = append(rings, ring)
				}
			}
			if len(rings) < 100 {
				t.Fatalf("%s: got %d rings, want at least 100", file, len(rings))
			}
			compareAreas(t, names, planes, rings)
		})
	}
}

// readOutlines returns the rings of each feature.
func readOutlines(t *testing.T, file string) [][][]position {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Features []struct {
			Geometry struct {
				Type        string
				Coordinates json.RawMessage
			}
		}
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatalf("read %s: %v", file, err)
	}
	var fields [][][]position
	for _, f := range doc.Features {
		var polygons [][][][2]float64
		switch f.Geometry.Type {
		case "Polygon":
			polygons = make([][][][2]float64, 1)
			err = json.Unmarshal(f.Geometry.Coordinates, &polygons[0])
		case "MultiPolygon":
			err = json.Unmarshal(f.Geometry.Coordinates, &polygons)
		default:
			err = fmt.Errorf("geometry %q", f.Geometry.Type)
		}
		if err != nil {
			t.Fatalf("read %s: %v", file, err)
		}
		var rings [][]position
		for _, polygon := range polygons {
			for _, points := range polygon {
				ring := make([]position, 0, len(points))
				for _, q := range points[:len(points)-1] {
					ring = append(ring, position{latDeg: q[1], lonDeg: q[0]})
				}
				rings = append(rings, ring)
			}
		}
		fields = append(fields, rings)
	}
	return fields
}

// centre is the middle of the box around a field.
func centre(rings [][]position) (latDeg, lonDeg float64) {
	lo, hi := rings[0][0], rings[0][0]
	for _, ring := range rings {
		for _, q := range ring {
			lo = position{min(lo.latDeg, q.latDeg), min(lo.lonDeg, q.lonDeg)}
			hi = position{max(hi.latDeg, q.latDeg), max(hi.lonDeg, q.lonDeg)}
		}
	}
	return (lo.latDeg + hi.latDeg) / 2, (lo.lonDeg + hi.lonDeg) / 2
}
