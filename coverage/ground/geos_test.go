package ground

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"os"
	"os/exec"
	"sync"
	"testing"

	"drawbar/coverage/plane"
)

// python is Debian's own, whose package python3-shapely brings GEOS.
const python = "/usr/bin/python3"

var haveShapely = sync.OnceValue(func() error {
	return exec.Command(python, "-c", "import shapely").Run()
})

// question is what testdata/union.py is asked.
type question struct {
	quads    []Quad
	outline  []Polygon
	boundary []Polygon
	twice    bool
}

// answer is what it says.
type answer struct {
	GrossM2      float64  `json:"gross_m2"`
	UnionM2      float64  `json:"union_m2"`
	UnionS       float64  `json:"union_s"`
	Bad          []string `json:"bad"`           // of the outline
	OutlineM2    float64  `json:"outline_m2"`    // sum of its polygons
	ApartM2      float64  `json:"apart_m2"`      // union of its polygons
	DifferenceM2 float64  `json:"difference_m2"` // in the outline or in the union, but not in both
	WithinM2     float64  `json:"within_m2"`
	TwiceM2      float64  `json:"twice_m2"`
}

// needShapely skips the test without it; on CI it fails.
func needShapely(t testing.TB) {
	t.Helper()
	if err := haveShapely(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s cannot import shapely: install python3-shapely: %v", python, err)
		}
		t.Skipf("%s cannot import shapely: install python3-shapely: %v", python, err)
	}
}

// geos asks GEOS (https://libgeos.org) for the union of the quads.
func geos(t testing.TB, ask question) (a answer) {
	t.Helper()
	needShapely(t)
	var numbers []int64
	ring := func(r []plane.Coord) {
		for _, c := range r {
			numbers = append(numbers, c.X, c.Y)
		}
	}
	numbers = append(numbers, int64(len(ask.quads)))
	for _, q := range ask.quads {
		ring(q[:])
	}
	for _, polygons := range [][]Polygon{ask.outline, ask.boundary} {
		numbers = append(numbers, int64(len(polygons)))
		for _, p := range polygons {
			numbers = append(numbers, int64(len(p)))
			for _, r := range p {
				numbers = append(numbers, int64(len(r)))
				ring(r)
			}
		}
	}
	twice := int64(0)
	if ask.twice {
		twice = 1
	}
	numbers = append(numbers, twice)
	var in, out, complaint bytes.Buffer
	if err := binary.Write(&in, binary.NativeEndian, numbers); err != nil {
		t.Fatal(err)
	}
	run := exec.Command(python, "testdata/union.py")
	run.Stdin, run.Stdout, run.Stderr = &in, &out, &complaint
	if err := run.Run(); err != nil {
		t.Fatalf("run testdata/union.py: %v\n%s", err, complaint.String())
	}
	if err := json.Unmarshal(out.Bytes(), &a); err != nil {
		t.Fatalf("answer of testdata/union.py: %v\n%s", err, out.String())
	}
	return a
}
