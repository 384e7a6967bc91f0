package ground

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"os"
	"os/exec"
	"testing"

	"drawbar/coverage/plane"
)

// python is Debian's own, whose package python3-shapely brings GEOS.
const python = "/usr/bin/python3"

// geosAnswer is what testdata/union.py says.
type geosAnswer struct {
	GrossM2      float64  `json:"gross_m2"`
	UnionM2      float64  `json:"union_m2"`
	UnionS       float64  `json:"union_s"`
	Bad          []string `json:"bad"`
	OutlineM2    float64  `json:"outline_m2"`
	ApartM2      float64  `json:"apart_m2"`
	DifferenceM2 float64  `json:"difference_m2"`
}

// geos asks GEOS (https://libgeos.org) for the union of the quads and the
// validity of an outline. Without it the test is skipped, on CI it fails.
func geos(t testing.TB, quads []Quad, outline []Polygon) geosAnswer {
	t.Helper()
	if err := exec.Command(python, "-c", "import shapely").Run(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s cannot import shapely: install python3-shapely: %v", python, err)
		}
		t.Skipf("%s cannot import shapely: install python3-shapely: %v", python, err)
	}
	var numbers []int64
	ring := func(r []plane.Coord) {
		for _, c := range r {
			numbers = append(numbers, c.X, c.Y)
		}
	}
	numbers = append(numbers, int64(len(quads)))
	for _, q := range quads {
		ring(q[:])
	}
	numbers = append(numbers, int64(len(outline)))
	for _, p := range outline {
		numbers = append(numbers, int64(len(p)))
		for _, r := range p {
			numbers = append(numbers, int64(len(r)))
			ring(r)
		}
	}
	var in, out, complaint bytes.Buffer
	if err := binary.Write(&in, binary.NativeEndian, numbers); err != nil {
		t.Fatal(err)
	}
	run := exec.Command(python, "testdata/union.py")
	run.Stdin, run.Stdout, run.Stderr = &in, &out, &complaint
	if err := run.Run(); err != nil {
		t.Fatalf("run testdata/union.py: %v\n%s", err, complaint.String())
	}
	var a geosAnswer
	if err := json.Unmarshal(out.Bytes(), &a); err != nil {
		t.Fatalf("answer of testdata/union.py: %v\n%s", err, out.String())
	}
	return a
}
