package boundary

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
	"pgregory.net/rapid"
)

// How rings are put together: "ESRI Shapefile Technical Description", July 1998,
// page 8: an outer ring runs clockwise, a hole anticlockwise.
func TestPolygonsOf(t *testing.T) {
	t.Parallel()
	outer, pond, island := box(0, 0, 10), turned(box(2, 2, 5)), box(3, 3, 2)
	far, farPond := box(20, 0, 10), turned(box(22, 2, 1))
	onBorder := turned(orb.Ring{{0, 2}, {2, 4}, {2, 2}, {0, 2}})
	for _, c := range []struct {
		name string
		in   []orb.Ring
		want orb.MultiPolygon
	}{
		{"one ring", []orb.Ring{outer}, orb.MultiPolygon{{outer}}},
		{"a pond", []orb.Ring{outer, pond}, orb.MultiPolygon{{outer, pond}}},
		{"a pond before its field", []orb.Ring{pond, outer}, orb.MultiPolygon{{outer, pond}}},
		{"an island in a pond", []orb.Ring{outer, pond, island}, orb.MultiPolygon{{outer, pond}, {island}}},
		{"a pond on the island goes to the island", []orb.Ring{outer, pond, island, turned(box(3.5, 3.5, 0.5))}, orb.MultiPolygon{{outer, pond}, {island, turned(box(3.5, 3.5, 0.5))}}},
		{"two parts, ponds in any order", []orb.Ring{farPond, outer, pond, far}, orb.MultiPolygon{{outer, pond}, {far, farPond}}},
		{"an outer ring the wrong way round", []orb.Ring{turned(outer)}, orb.MultiPolygon{{turned(outer)}}},
		{"a pond that touches the border", []orb.Ring{outer, onBorder}, orb.MultiPolygon{{outer, onBorder}}},
	} {
		if diff := cmp.Diff(c.want, polygonsOf(c.in)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

// What a Shapefile's table says of names, and what is mended.
func TestShapefileNames(t *testing.T) {
	t.Parallel()
	two := shp([]orb.Ring{box(0.1, 53.4, 0.01)}, []orb.Ring{turned(box(0.2, 53.4, 0.01))[:4]})
	for _, c := range []struct {
		name, cpg string
		rows      []string
		want      []string
	}{
		{"UTF-8 without a .cpg", "", []string{"Møllestykket", "Long Meadow"}, []string{"Møllestykket", "Long Meadow"}},
		{"Latin-1 without a .cpg", "", []string{"M\xf8llestykket", "Long Meadow"}, []string{"Møllestykket", "Long Meadow"}},
		{"Latin-1 by the .cpg, although it could be UTF-8", "ISO-8859-1\r\n", []string{"M\xc3\xb8lle", "A"}, []string{"MÃ¸lle", "A"}},
		{"code page 1252", "1252", []string{"Dairy \x93top\x94 \x80", "A"}, []string{"Dairy “top” €", "A"}},
		{"UTF-8 by the .cpg", "UTF-8", []string{"Ærø", "A"}, []string{"Ærø", "A"}},
		{"a letter cut by the end of the column", "UTF-8", []string{"nineteen letters...ø", "A"}, []string{"nineteen letters...", "A"}},
		{"an unknown encoding of plain letters", "Big5", []string{"Mill Piece", "A"}, []string{"Mill Piece", "A"}},
		{"blanks around and within", "", []string{"  Mill   Piece ", "A"}, []string{"Mill Piece", "A"}},
		{"a row that was deleted", "", []string{"*Mill Piece", "A"}, []string{"A"}},
		{"a name of nothing", "", []string{"", "A"}, []string{"", "A"}},
	} {
		got, err := Read("x.shp", memory(map[string][]byte{"x.shp": two, "x.dbf": table(c.rows...), "x.cpg": []byte(c.cpg), "x.prj": []byte(wgs84PRJ)}), Options{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var names []string
		for _, f := range got {
			names = append(names, f.Name)
			if n := f.Corners(); n != 4 || len(f.Outline[0][0]) != 5 {
				t.Errorf("%s: field %s: got %d corners, %v, want 4 and the ring closed", c.name, f.Name, n, f.Outline)
			}
		}
		if diff := cmp.Diff(c.want, names); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
	got, err := Read("x.shp", memory(map[string][]byte{"x.shp": two}), Options{})
	if err != nil || len(got) != 2 || len(got[0].Warnings) != 1 || !strings.Contains(got[0].Warnings[0], "no .prj states") {
		t.Errorf("without .prj and .dbf: got %+v, %v, want two fields with a warning", got, err)
	}
}

// Which attribute is the name.
func TestNameAttribute(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		from  string
		names []string
		want  int
	}{
		{"", []string{"id", "NAME", "field"}, 1},
		{"", []string{"FIELD", "Field_Name"}, 1},
		{"", []string{"id", " Label "}, 1},
		{"", []string{"id", "crop"}, -1},
		{"", nil, -1},
		{"Marknr", []string{"name", "MARKNR"}, 1},
		{"Marknr", []string{"name"}, -1},
	} {
		if got := (Options{NameFrom: c.from}).attribute(c.names); got != c.want {
			t.Errorf("name from %q of %q: got %d, want %d", c.from, c.names, got, c.want)
		}
	}
}

// Descriptions of reference systems; those that are read were written by GDAL 3.6
// or stand in OGC 01-009.
func TestWKT(t *testing.T) {
	t.Parallel()
	change := func(s, old, with string) string {
		t.Helper()
		if !strings.Contains(s, old) {
			t.Fatalf("%s is not in %s", old, s)
		}
		return strings.ReplaceAll(s, old, with)
	}
	for _, c := range []struct{ name, text, want string }{
		{"WGS 84", wgs84PRJ, "WGS 84 (degrees)"},
		{"with line ends, in round brackets", strings.NewReplacer("[", "(\n ", "]", "\n)").Replace(wgs84PRJ), "WGS 84 (degrees)"},
		{"UTM", utm31PRJ, "WGS 84 / UTM zone 31N"},
		{"UTM of the south", change(utm31PRJ, `"False_Northing",0.0`, `"False_Northing",10000000.0`), "WGS 84 / UTM zone 31S"},
		{"UTM by its parameters, whatever its name", change(utm31PRJ, "WGS_1984_UTM_Zone_31N", "Farm_Grid"), "WGS 84 / UTM zone 31N"},
		{"UTM on ETRS89", change(change(utm31PRJ, "D_WGS_1984", "D_ETRS_1989"), `"WGS_1984",6378137.0,298.257223563`, `"GRS_1980",6378137.0,298.257222101`), "ETRS89 / UTM zone 31N"},
		{"with heights", `COMPD_CS["x",` + utm31PRJ + `,VERT_CS["h",VERT_DATUM["d",2005]]]`, "WGS 84 / UTM zone 31N"},
		{"another scale", change(utm31PRJ, "0.9996", "1.0"), ""},
		{"another meridian", change(utm31PRJ, `"Central_Meridian",3.0`, `"Central_Meridian",2.0`), ""},
		{"another false easting", change(utm31PRJ, "500000.0", "400000.0"), ""},
		{"in feet", change(utm31PRJ, `UNIT["Meter",1.0]`, `UNIT["Foot_US",0.3048006096]`), ""},
		{"another datum", change(wgs84PRJ, "D_WGS_1984", "D_OSGB_1936"), ""},
		{"a datum on another ellipsoid", change(wgs84PRJ, "6378137.0,298.257223563", "6377563.396,299.3249646"), ""},
		{"another prime meridian", change(wgs84PRJ, `"Greenwich",0.0`, `"Paris",2.337229167`), ""},
		{"in grads", change(wgs84PRJ, "0.0174532925199433", "0.0157079632679"), ""},
		{"a datum that is shifted", change(wgs84PRJ, "]],PRIMEM", "],TOWGS84[100,0,0,0,0,0,0]],PRIMEM"), ""},
		{"a plane of its own", `LOCAL_CS["x",UNIT["Meter",1]]`, ""},
		{"nothing", "", ""},
		{"cut off", utm31PRJ[:200], ""},
	} {
		s, ok := fromWKT(c.text)
		if ok != (c.want != "") || ok && s.name != c.want {
			t.Errorf("%s: got %q, %v, want %q", c.name, s.name, ok, c.want)
		}
	}
}

// Web Mercator: EPSG Guidance Note 7-2 (2019), method 1024, worked example:
// 24 22 54.433 N, 100 20 0 W is E -11 169 055.58, N 2 800 000.00.
func TestWebMercator(t *testing.T) {
	t.Parallel()
	p, ok := webMercator().project(orb.Point{-11169055.58, 2800000})
	wantLon, wantLat := -(100 + 20./60), 24+22./60+54.433/3600
	if !ok || math.Abs(p[0]-wantLon) > 1e-7 || math.Abs(p[1]-wantLat) > 2e-7 {
		t.Errorf("got %.9f %.9f, %v, want %.9f %.9f", p[0], p[1], ok, wantLon, wantLat)
	}
	for _, beyond := range []orb.Point{{2.1e7, 0}, {0, -2.1e7}, {math.NaN(), 0}, {0, math.Inf(1)}} {
		if got, ok := webMercator().project(beyond); ok {
			t.Errorf("%v: got %v, want none", beyond, got)
		}
	}
}

// Polygons are read out of well-known binary as orb reads them, and with a height
// and a measure to each place they are the same.
func TestWKBBesideOrb(t *testing.T) {
	t.Parallel()
	number := rapid.Float64Range(-180, 180)
	ring := rapid.Custom(func(t *rapid.T) orb.Ring {
		return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) orb.Point {
			return orb.Point{number.Draw(t, "x"), number.Draw(t, "y")}
		}), 0, 6).Draw(t, "ring")
	})
	rapid.Check(t, func(t *rapid.T) {
		var want orb.MultiPolygon
		for range rapid.IntRange(1, 3).Draw(t, "parts") {
			want = append(want, rapid.SliceOfN(ring, 1, 3).Draw(t, "rings"))
		}
		for _, order := range []appendOrder{binary.LittleEndian, binary.BigEndian} {
			b, err := wkb.Marshal(want, order)
			if err != nil {
				t.Fatal(err)
			}
			for _, dimensions := range []uint32{0, 1000, 2000, 3000} {
				got, err := readWKB(withNumbers(want, order, dimensions, b))
				if err != nil || !got.Equal(want) {
					t.Fatalf("type + %d: got %v, %v, want %v", dimensions, got, err, want)
				}
			}
		}
	})
}

// appendOrder reads and writes numbers.
type appendOrder interface {
	binary.ByteOrder
	binary.AppendByteOrder
}

// withNumbers writes a multipolygon with a height, a measure or both (ISO 13249-3);
// plain is what orb wrote.
func withNumbers(m orb.MultiPolygon, order appendOrder, dimensions uint32, plain []byte) []byte {
	if dimensions == 0 {
		return plain
	}
	head := func(b []byte, typ, n int) []byte {
		mark := byte(1)
		if order == appendOrder(binary.BigEndian) {
			mark = 0
		}
		b = append(b, mark)
		b = order.AppendUint32(b, uint32(typ)+dimensions)
		return order.AppendUint32(b, uint32(n))
	}
	b := head(nil, wkbMultiPolygon, len(m))
	for _, p := range m {
		b = head(b, wkbPolygon, len(p))
		for _, r := range p {
			b = order.AppendUint32(b, uint32(len(r)))
			for _, q := range r {
				numbers := []float64{q[0], q[1], 7, 8}[:2+map[uint32]int{1000: 1, 2000: 1, 3000: 2}[dimensions]]
				for _, v := range numbers {
					b = order.AppendUint64(b, math.Float64bits(v))
				}
			}
		}
	}
	return b
}

// The names in KML: the Placemark's own, else its data; folders lie in one
// another, and lines and pins are passed over.
func TestKML(t *testing.T) {
	t.Parallel()
	outer := func(c string) string {
		return "<Polygon><outerBoundaryIs><LinearRing><coordinates>" + c + "</coordinates></LinearRing></outerBoundaryIs>"
	}
	inner := "<innerBoundaryIs><LinearRing><coordinates>0.102,53.4005 0.103,53.4005 0.103,53.401 0.102,53.4005</coordinates></LinearRing></innerBoundaryIs>"
	text := kmlFile(
		"<Placemark><name>Gate</name><Point><coordinates>0.1,53.4</coordinates></Point></Placemark>",
		"<Folder><name>North</name><Folder><Placemark><Style><name>no name</name></Style><name> <![CDATA[Mill & Piece]]> </name><MultiGeometry>"+
			outer(kmlRing)+inner+"</Polygon><LineString><coordinates>0,53 1,53</coordinates></LineString><MultiGeometry>"+
			outer("0.2,53.4 0.21,53.4 0.21,53.41")+"</Polygon></MultiGeometry></MultiGeometry></Placemark></Folder></Folder>",
		"<Placemark><ExtendedData><Data name=\"Nr\"><displayName>x</displayName><value>17</value></Data><SchemaData><SimpleData name=\"NAME\">Long Meadow</SimpleData></SchemaData></ExtendedData>"+
			outer("0.3,53.4 0.31,53.4 0.31,53.41")+"</Polygon></Placemark>",
	)
	want := []Field{
		{Name: "Mill & Piece", Outline: orb.MultiPolygon{
			{{{0.1, 53.4}, {0.104, 53.4}, {0.104, 53.402}, {0.1, 53.4}}, {{0.102, 53.4005}, {0.103, 53.4005}, {0.103, 53.401}, {0.102, 53.4005}}},
			{{{0.2, 53.4}, {0.21, 53.4}, {0.21, 53.41}, {0.2, 53.4}}},
		}},
		{Name: "Long Meadow", Outline: orb.MultiPolygon{{{{0.3, 53.4}, {0.31, 53.4}, {0.31, 53.41}, {0.3, 53.4}}}}},
	}
	got, err := Read("x.kml", memory(map[string][]byte{"x.kml": text}), Options{})
	if err != nil {
		t.Fatal(err)
	}
	sameFields(t, "KML", got, want, 0)
	if got, err = Read("x.kml", memory(map[string][]byte{"x.kml": text}), Options{NameFrom: "nr"}); err != nil || len(got) != 2 || got[0].Name != "" || got[1].Name != "17" {
		t.Errorf("names from Nr: got %+v, %v, want none and 17", got, err)
	}
}

// A GeoPackage left in WAL mode is read as it stands, and nothing is written
// beside it.
func TestGeoPackageWAL(t *testing.T) {
	t.Parallel()
	b := geoPackage(t, made(), "PRAGMA journal_mode = WAL")
	if b[18] != 2 || b[19] != 2 {
		t.Fatalf("bytes 18 and 19: got %d %d, want 2, WAL", b[18], b[19])
	}
	dir := t.TempDir()
	path := lay(t, dir, "x.gpkg", b)
	before := listing(t, dir)
	got, err := Read(path, OpenFile, Options{})
	if err != nil {
		t.Fatal(err)
	}
	sameFields(t, "WAL", got, made(), 0)
	if after := listing(t, dir); after != before || string(read(t, path)) != string(b) {
		t.Errorf("reading changed the folder from %s to %s, or the file", before, after)
	}
}

// The area across the 180th meridian is that of the same ring elsewhere.
func TestAreaAcrossTheDateLine(t *testing.T) {
	t.Parallel()
	at := func(lon float64) orb.MultiPolygon {
		ring := orb.Ring{{lon, -17}, {lon + 0.02, -17}, {lon + 0.02, -16.99}, {lon, -16.99}, {lon, -17}}
		for i := range ring {
			if ring[i][0] > 180 {
				ring[i][0] -= 360
			}
		}
		return orb.MultiPolygon{{ring}}
	}
	want, _ := AreaM2(at(100))
	got, ok := AreaM2(at(179.99))
	if !ok || math.Abs(got-want) > 1e-6*want {
		t.Errorf("got %v m2, %v, want %v", got, ok, want)
	}
	if got, ok := AreaM2(orb.MultiPolygon{{{{0, 0}, {20, 0}, {20, 20}, {0, 0}}}}); ok {
		t.Errorf("a continent: got %v m2, want none", got)
	}
}

func BenchmarkReadFields(b *testing.B) {
	files := map[string][]byte{"x.geojson": crowd(5000), "x.gpkg": geoPackage(b, shifted(made(), 0, 0))}
	for _, name := range []string{"x.geojson", "x.gpkg"} {
		b.Run(fmt.Sprintf("%s of %d kB", name, len(files[name])>>10), func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(files[name])))
			for b.Loop() {
				if _, err := Read(name, memory(files), Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
