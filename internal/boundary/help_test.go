package boundary

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"drawbar/internal/testkit"

	"github.com/paulmach/orb"
)

// made are made-up fields: one with a pond, one of two parts, one with two ponds
// on the other side of longitude 0, one with letters beyond ASCII.
func made() []Field {
	return []Field{
		{Name: "Mill Piece", Outline: orb.MultiPolygon{{
			{{0.1, 53.4}, {0.104, 53.4}, {0.1045, 53.402}, {0.1, 53.4023}, {0.1, 53.4}},
			{{0.101, 53.4005}, {0.101, 53.401}, {0.102, 53.401}, {0.101, 53.4005}},
		}}},
		{Name: "Long Meadow", Outline: orb.MultiPolygon{
			{{{0.11, 53.41}, {0.12, 53.41}, {0.12, 53.4112}, {0.11, 53.41}}},
			{{{0.11, 53.415}, {0.12, 53.4152}, {0.115, 53.418}, {0.11, 53.415}}},
		}},
		{Name: "Far Reach", Outline: orb.MultiPolygon{{
			{{-0.03, 53.3}, {-0.01, 53.3}, {-0.01, 53.31}, {-0.03, 53.31}, {-0.03, 53.3}},
			{{-0.028, 53.302}, {-0.028, 53.304}, {-0.025, 53.304}, {-0.028, 53.302}},
			{{-0.02, 53.302}, {-0.02, 53.304}, {-0.015, 53.304}, {-0.02, 53.302}},
		}}},
		{Name: "Møllestykket è", Outline: orb.MultiPolygon{{{{0.2, 53.5}, {0.21, 53.5}, {0.21, 53.51}, {0.2, 53.5}}}}},
	}
}

// shifted are fields moved by degrees, to lie in another zone.
func shifted(fields []Field, lon, lat float64) []Field {
	out := slices.Clone(fields)
	for i := range out {
		var outline orb.MultiPolygon
		for _, p := range out[i].Outline {
			var moved orb.Polygon
			for _, r := range p {
				var ring orb.Ring
				for _, q := range r {
					ring = append(ring, orb.Point{math.Round((q[0]+lon)*1e7) / 1e7, math.Round((q[1]+lat)*1e7) / 1e7})
				}
				moved = append(moved, ring)
			}
			outline = append(outline, moved)
		}
		out[i].Outline = outline
	}
	return out
}

// asGeoJSON writes fields for an outside program to convert.
func asGeoJSON(t testing.TB, fields []Field) []byte {
	t.Helper()
	type feature struct {
		Type       string            `json:"type"`
		Properties map[string]string `json:"properties"`
		Geometry   struct {
			Type        string           `json:"type"`
			Coordinates orb.MultiPolygon `json:"coordinates"`
		} `json:"geometry"`
	}
	doc := struct {
		Type     string    `json:"type"`
		Features []feature `json:"features"`
	}{Type: "FeatureCollection"}
	for _, f := range fields {
		v := feature{Type: "Feature", Properties: map[string]string{"name": f.Name}}
		v.Geometry.Type, v.Geometry.Coordinates = "MultiPolygon", f.Outline
		doc.Features = append(doc.Features, v)
	}
	b, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// lay writes a file into a folder of the test.
func lay(t testing.TB, dir, name string, b []byte) string {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// ogr2ogr converts in to out with GDAL.
func ogr2ogr(t testing.TB, out, in string, args ...string) string {
	t.Helper()
	cmd := exec.Command(testkit.Tool(t, "ogr2ogr"), append(args, out, in)...)
	if text, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("ogr2ogr %v %s: %v: %s", args, out, err, text)
	}
	return out
}

// canonical is an outline that does not tell where a ring begins, which way round
// it runs, and the order of holes and parts.
func canonical(outline orb.MultiPolygon) orb.MultiPolygon {
	var out orb.MultiPolygon
	for _, p := range outline {
		var polygon orb.Polygon
		for _, r := range p {
			ring := slices.Clone(r[:len(r)-1])
			if signedArea(r) < 0 {
				slices.Reverse(ring)
			}
			least := 0
			for i := range ring {
				if comparePoints(ring[i], ring[least]) < 0 {
					least = i
				}
			}
			polygon = append(polygon, append(ring[least:], ring[:least]...))
		}
		slices.SortFunc(polygon[1:], func(a, b orb.Ring) int { return comparePoints(a[0], b[0]) })
		out = append(out, polygon)
	}
	slices.SortFunc(out, func(a, b orb.Polygon) int { return comparePoints(a[0][0], b[0][0]) })
	return out
}

// comparePoints orders by places to 1e-6 degrees, so that the hair's breadth of a
// projection does not matter.
func comparePoints(a, b orb.Point) int {
	step := func(v float64) float64 { return math.Round(v * 1e6) }
	return cmp.Or(cmp.Compare(step(a[0]), step(b[0])), cmp.Compare(step(a[1]), step(b[1])))
}

// sameFields compares names, and every corner within a number of degrees.
func sameFields(t *testing.T, what string, got, want []Field, within float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: got %d fields, want %d", what, len(got), len(want))
	}
	for i := range want {
		if got[i].Name != want[i].Name {
			t.Errorf("%s, field %d: got name %q, want %q", what, i, got[i].Name, want[i].Name)
		}
		a, b := canonical(got[i].Outline), canonical(want[i].Outline)
		worst, shape := 0.0, len(a) == len(b)
		for j := 0; shape && j < len(a); j++ {
			shape = len(a[j]) == len(b[j])
			for k := 0; shape && k < len(a[j]); k++ {
				shape = len(a[j][k]) == len(b[j][k])
				for m := 0; shape && m < len(a[j][k]); m++ {
					p, q := a[j][k][m], b[j][k][m]
					worst = max(worst, math.Abs(p[0]-q[0]), math.Abs(p[1]-q[1]))
				}
			}
		}
		if !shape || worst > within {
			t.Errorf("%s, field %s: corners %g degrees off, want %g at most\n got %v\nwant %v", what, want[i].Name, worst, within, a, b)
		}
	}
}

// checkAreas compares areas with those of GeographicLib's Planimeter, which
// measures on the ellipsoid itself, within 1 ppm.
func checkAreas(t *testing.T, what string, fields []Field) {
	t.Helper()
	var in strings.Builder
	for _, f := range fields {
		for _, p := range f.Outline {
			for _, r := range p {
				for _, q := range r[:len(r)-1] {
					in.WriteString(strconv.FormatFloat(q[1], 'f', -1, 64) + " " + strconv.FormatFloat(q[0], 'f', -1, 64) + "\n")
				}
				in.WriteString("\n")
			}
		}
	}
	cmd := exec.Command(testkit.Tool(t, "Planimeter"), "-p", "9")
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("Planimeter: %v", err)
	}
	rows := strings.Split(strings.TrimSpace(string(out)), "\n")
	worst := 0.0
	for _, f := range fields {
		want := 0.0
		for _, p := range f.Outline {
			for i := range p {
				words := strings.Fields(rows[0])
				rows = rows[1:]
				a, err := strconv.ParseFloat(words[2], 64)
				if err != nil {
					t.Fatal(err)
				}
				if a = math.Abs(a); i > 0 {
					a = -a
				}
				want += a
			}
		}
		ppm := math.Abs(f.AreaM2-want) / want * 1e6
		worst = max(worst, ppm)
		if ppm > 1 {
			t.Errorf("%s, field %s: got %.4f m2, Planimeter %.4f, %.3f ppm off", what, f.Name, f.AreaM2, want, ppm)
		}
	}
	t.Logf("%s: areas of %d fields within %.4f ppm of Planimeter", what, len(fields), worst)
}

// memory is an Open of files that are held by name.
func memory(files map[string][]byte) Open {
	return func(name string) ([]byte, error) {
		if b, ok := files[name]; ok {
			return b, nil
		}
		return nil, fs.ErrNotExist
	}
}

// sound fails unless fields and faults are what the package promises, whatever
// was read.
func sound(t testing.TB, fields []Field, err error) {
	t.Helper()
	for _, f := range fields {
		if !(f.AreaM2 > 0) || math.IsInf(f.AreaM2, 0) || len(f.Outline) == 0 || f.At == "" || f.File == "" || clean(f.Name) != f.Name {
			t.Errorf("field %+v: want an area, an outline, a place and a clean name", f)
		}
		for _, p := range f.Outline {
			for _, r := range p {
				if len(r) < 4 || r[0] != r[len(r)-1] {
					t.Errorf("ring %v of %s: want it closed", r, f.At)
				}
				for _, q := range r {
					if !(math.Abs(q[0]) <= 180 && math.Abs(q[1]) <= 90) {
						t.Errorf("position %v of %s: want it on the Earth", q, f.At)
					}
				}
			}
		}
	}
	if err == nil {
		if len(fields) == 0 {
			t.Error("got neither a field nor a fault")
		}
		return
	}
	var faults *Error
	if !errors.As(err, &faults) || len(faults.Faults) == 0 {
		t.Fatalf("got %v, want faults", err)
	}
	for _, f := range faults.Faults {
		if f.File == "" || f.Got == "" || f.Want == "" {
			t.Errorf("fault %+v: want a file and words", f)
		}
		if s := f.Error(); strings.ContainsFunc(s, unicode.IsControl) {
			t.Errorf("fault %q is not one clean line", s)
		}
	}
}

// cut reads a file cut off at every byte: a fault, or what the whole file gives.
func cut(t *testing.T, name string, files map[string][]byte, part string) {
	t.Helper()
	whole, err := Read(name, memory(files), Options{})
	if err != nil {
		t.Fatalf("the whole file: %v", err)
	}
	b := files[part]
	silent := 0
	for n := range len(b) {
		cutOff := map[string][]byte{}
		for k, v := range files {
			cutOff[k] = v
		}
		cutOff[part] = bytes.Clone(b[:n])
		got, err := Read(name, memory(cutOff), Options{})
		sound(t, got, err)
		if err == nil {
			silent++
			sameFields(t, "cut at byte "+strconv.Itoa(n)+" of "+part, got, whole, 0)
		}
		if t.Failed() {
			t.Fatalf("cut at byte %d of %d of %s", n, len(b), part)
		}
	}
	t.Logf("%s cut at each of its %d bytes: %d told, %d without loss", part, len(b), len(b)-silent, silent)
}
