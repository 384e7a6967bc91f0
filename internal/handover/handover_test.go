package handover_test

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"drawbar/internal/handover"
	"drawbar/internal/testkit"

	"pgregory.net/rapid"
)

func places() []handover.Place {
	return []handover.Place{
		{Name: "stone 1", Kind: "stone", Note: "big, <by> the \"oak\" & deep\nsecond line", Field: "Mill Piece", LonDeg: -0.00012345, LatDeg: 53.35123456, Left: time.Date(2026, 5, 14, 13, 5, 10, 200_000_000, time.UTC)},
		{Name: "wet spot 2", Kind: "wet spot", LonDeg: 0.0021, LatDeg: 53.3534, Left: time.Date(2025, 9, 20, 8, 0, 0, 0, time.FixedZone("", 3600)), Done: true},
		{Name: "edge", Kind: "post", LonDeg: 180, LatDeg: -90},
	}
}

func written(t testing.TB, f handover.Format, title string, of []handover.Place) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := handover.Write(&b, f, title, of); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestWritten(t *testing.T) {
	t.Parallel()
	for f := range handover.Format(3) {
		testkit.Golden(t, "testdata/places"+f.Ending(), written(t, f, "Mill Piece & others", places()))
	}
}

// GDAL, an independent reader, finds every place where it was put. Its drivers: GPX
// (waypoints) and KML or LIBKML, https://gdal.org/drivers/vector/.
func TestGDALReads(t *testing.T) {
	t.Parallel()
	ogrinfo := testkit.Tool(t, "ogrinfo")
	for f := range handover.Format(3) {
		file := filepath.Join(t.TempDir(), "marks"+f.Ending())
		if err := os.WriteFile(file, written(t, f, "Mill Piece", places()), 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(ogrinfo, "-ro", "-al", "-q", file).CombinedOutput()
		if err != nil || bytes.Contains(out, []byte("ERROR")) || bytes.Contains(out, []byte("Warning")) {
			t.Errorf("%s: %v\n%s", f.Ending(), err, out)
		}
		points := regexp.MustCompile(`POINT(?: Z)? \(([-0-9.]+) ([-0-9.]+)`).FindAllStringSubmatch(string(out), -1)
		var got []string
		for _, p := range points {
			got = append(got, p[1]+" "+p[2])
		}
		east := "-180"
		if f == handover.GeoJSON {
			east = "180" // RFC 7946 has both
		}
		if want := []string{"-0.00012345 53.35123456", "0.0021 53.3534", east + " -90"}; !slices.Equal(got, want) {
			t.Errorf("%s: GDAL finds %q, want %q\n%s", f.Ending(), got, want, out)
		}
		for _, want := range []string{"stone 1", `big, <by> the "oak" & deep`, "2026/05/14 13:05:10", "2025/09/20 07:00:00"} {
			if !strings.Contains(string(out), want) {
				t.Errorf("%s: GDAL does not find %q in\n%s", f.Ending(), want, out)
			}
		}
	}
}

// order tells whether the children of an element stand in the order of a schema.
func order(t *testing.T, text []byte, parent string, schema ...string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(text))
	var path []string
	last := -1
	for {
		token, err := d.Token()
		if err == io.EOF {
			return
		}
		if err != nil {
			t.Fatalf("no XML: %v\n%s", err, text)
		}
		switch e := token.(type) {
		case xml.StartElement:
			if n := len(path); n > 0 && path[n-1] == parent {
				at := slices.Index(schema, e.Name.Local)
				if at < 0 || at < last {
					t.Errorf("%s in %s stands out of order", e.Name.Local, parent)
				}
				last = at
			}
			if e.Name.Local == parent {
				last = -1
			}
			path = append(path, e.Name.Local)
		case xml.EndElement:
			path = path[:len(path)-1]
		}
	}
}

// The children of a waypoint stand in the order of wptType in
// https://www.topografix.com/GPX/1/1/gpx.xsd, those of a placemark in that of
// AbstractFeatureType and PlacemarkType in http://schemas.opengis.net/kml/2.2.0/ogckml22.xsd
// (both from memory; the sequences are also in the documentation of the formats).
func TestOrderOfSchemas(t *testing.T) {
	t.Parallel()
	gpx, kml := written(t, handover.GPX, "Mill Piece", places()), written(t, handover.KML, "Mill Piece", places())
	order(t, gpx, "gpx", "metadata", "wpt", "rte", "trk", "extensions")
	order(t, gpx, "wpt", "ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type", "fix", "sat")
	order(t, kml, "Document", "name", "description", "Style", "Schema", "Placemark")
	order(t, kml, "Placemark", "name", "visibility", "open", "address", "Snippet", "description", "LookAt", "TimeStamp", "styleUrl", "Style", "Region", "ExtendedData", "Point")
	for text, space := range map[string]string{string(gpx): `<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="drawbar">`, string(kml): `<kml xmlns="http://www.opengis.net/kml/2.2">`} {
		if !strings.Contains(text, space) {
			t.Errorf("want %s in\n%s", space, text)
		}
	}
}

// Whatever somebody writes in a note, the file can be read and says it again, but for
// what XML cannot carry; positions are right to a millimetre.
func TestAnyText(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		p := handover.Place{
			Name: rapid.String().Draw(rt, "name"), Kind: rapid.String().Draw(rt, "kind"), Note: rapid.String().Draw(rt, "note"), Field: rapid.String().Draw(rt, "field"),
			LonDeg: rapid.Float64Range(-180, 180).Draw(rt, "lon"), LatDeg: rapid.Float64Range(-90, 90).Draw(rt, "lat"),
		}
		carried := func(s string) string {
			return strings.Map(func(r rune) rune {
				if r == '\t' || r == '\n' || r == '\r' || r >= 0x20 && r <= 0xd7ff || r >= 0xe000 && r <= 0xfffd || r >= 0x10000 {
					return r
				}
				return '\ufffd'
			}, strings.ToValidUTF8(s, "\ufffd"))
		}
		var gpx struct {
			Wpt []struct {
				Lat  float64 `xml:"lat,attr"`
				Lon  float64 `xml:"lon,attr"`
				Name string  `xml:"name"`
				Type string  `xml:"type"`
			} `xml:"wpt"`
		}
		if err := xml.Unmarshal(written(t, handover.GPX, p.Note, []handover.Place{p}), &gpx); err != nil || len(gpx.Wpt) != 1 {
			rt.Fatalf("GPX: %v", err)
		}
		w := gpx.Wpt[0]
		if w.Name != carried(p.Name) || w.Type != carried(p.Kind) || math.Abs(w.Lat-p.LatDeg) > 6e-9 || math.Abs(math.Remainder(w.Lon-p.LonDeg, 360)) > 6e-9 || !(w.Lon >= -180 && w.Lon < 180) {
			rt.Errorf("GPX: got %+v of %+v", w, p)
		}
		var kml struct {
			Placemark []struct {
				Name        string `xml:"name"`
				Coordinates string `xml:"Point>coordinates"`
			} `xml:"Document>Placemark"`
		}
		if err := xml.Unmarshal(written(t, handover.KML, p.Note, []handover.Place{p}), &kml); err != nil || len(kml.Placemark) != 1 || kml.Placemark[0].Name != carried(p.Name) {
			rt.Errorf("KML: got %+v, %v of %+v", kml, err, p)
		}
		var features struct {
			Features []struct {
				Properties struct{ Name, Note string }
			}
		}
		if err := json.Unmarshal(written(t, handover.GeoJSON, "", []handover.Place{p}), &features); err != nil || len(features.Features) != 1 || features.Features[0].Properties.Name != strings.ToValidUTF8(p.Name, "\ufffd") {
			rt.Errorf("GeoJSON: got %+v, %v of %+v", features, err, p)
		}
	})
}

func TestFormatOf(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]handover.Format{"a.gpx": handover.GPX, "b.KML": handover.KML, "c.geojson": handover.GeoJSON} {
		if got, ok := handover.FormatOf(name); !ok || got != want {
			t.Errorf("%s: got %v, %v", name, got, ok)
		}
	}
	if _, ok := handover.FormatOf("marks.txt"); ok {
		t.Error("marks.txt has a format")
	}
}
