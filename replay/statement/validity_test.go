package statement_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"drawbar/replay/statement"

	"github.com/peterstace/simplefeatures/geom"
	"pgregory.net/rapid"
)

// A ring is refused where simplefeatures, an independent reading of OGC
// 06-103r4 (rings are simple and closed), refuses it, and nowhere else.
func TestRingsLikeSimplefeatures(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.SampledFrom([]int{3, 5, 60}).Draw(t, "size")
		var json, wkt []string
		n := rapid.IntRange(3, 9).Draw(t, "corners")
		for range n {
			x, y := rapid.IntRange(0, size).Draw(t, "x"), rapid.IntRange(0, size).Draw(t, "y")
			json = append(json, fmt.Sprintf("[%d,%d]", x, y))
			wkt = append(wkt, fmt.Sprintf("%d %d", x, y))
		}
		json, wkt = append(json, json[0]), append(wkt, wkt[0])
		_, err := geom.UnmarshalWKT("POLYGON((" + strings.Join(wkt, ",") + "))")
		root, parseErr := statement.FromJSON([]byte(`{"type":"Polygon","coordinates":[[` + strings.Join(json, ",") + `]]}`))
		if parseErr != nil {
			t.Fatal(parseErr)
		}
		var faults statement.Faults
		statement.Boundary(root, "", &faults)
		if (err == nil) != (faults.Len() == 0) {
			t.Fatalf("ring %v: simplefeatures says %v, here %v", json, err, faults.List())
		}
	})
}

// A boundary made to take long is refused at once.
func TestBoundaryOfManyPositions(t *testing.T) {
	t.Parallel()
	var text strings.Builder
	text.WriteString(`{"type":"Polygon","coordinates":[[[0,53]`)
	for i := range 60_000 {
		fmt.Fprintf(&text, ",[%d,%.6f]", i%2, 53+float64(i)/1e6)
	}
	text.WriteString(`]]}`)
	root, err := statement.FromJSON([]byte(text.String()))
	if err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	var faults statement.Faults
	if _, ok := statement.Boundary(root, "", &faults); ok || time.Since(start) > 10*time.Second {
		t.Errorf("ok %v after %v, want it refused at once", ok, time.Since(start))
	}
}
