package boundary

import (
	"archive/zip"
	"bytes"
	"database/sql"
	"encoding/binary"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

func zipped(t testing.TB, files map[string][]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	var names []string
	for n := range files {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, n := range names {
		f, err := w.Create(n)
		if err == nil {
			_, err = f.Write(files[n])
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// shp writes a Shapefile of polygons by the published layout.
func shp(outlines ...[]orb.Ring) []byte {
	b := make([]byte, shpHeader)
	binary.BigEndian.PutUint32(b, 9994)
	binary.LittleEndian.PutUint32(b[28:], 1000)
	binary.LittleEndian.PutUint32(b[32:], shpPolygon)
	for i, rings := range outlines {
		c := binary.LittleEndian.AppendUint32(nil, shpPolygon)
		c = append(c, make([]byte, 32)...)
		points := 0
		for _, r := range rings {
			points += len(r)
		}
		c = binary.LittleEndian.AppendUint32(c, uint32(len(rings)))
		c = binary.LittleEndian.AppendUint32(c, uint32(points))
		first := 0
		for _, r := range rings {
			c = binary.LittleEndian.AppendUint32(c, uint32(first))
			first += len(r)
		}
		for _, r := range rings {
			for _, p := range r {
				c = binary.LittleEndian.AppendUint64(c, math.Float64bits(p[0]))
				c = binary.LittleEndian.AppendUint64(c, math.Float64bits(p[1]))
			}
		}
		b = binary.BigEndian.AppendUint32(b, uint32(i+1))
		b = binary.BigEndian.AppendUint32(b, uint32(len(c)/2))
		b = append(b, c...)
	}
	binary.BigEndian.PutUint32(b[24:], uint32(len(b)/2))
	return b
}

// table writes a .dbf with one column NAME of 20 bytes.
func table(names ...string) []byte {
	const width = 20
	b := make([]byte, 32)
	b[0] = 3
	binary.LittleEndian.PutUint32(b[4:], uint32(len(names)))
	binary.LittleEndian.PutUint16(b[8:], 65)
	binary.LittleEndian.PutUint16(b[10:], width+1)
	column := make([]byte, 32)
	copy(column, "NAME")
	column[11], column[16] = 'C', width
	b = append(append(b, column...), 0x0d)
	for _, n := range names {
		mark := byte(' ')
		if strings.HasPrefix(n, "*") {
			mark, n = '*', n[1:]
		}
		b = append(b, mark)
		b = append(b, n[:min(len(n), width)]...)
		b = append(b, bytes.Repeat([]byte{' '}, max(0, width-len(n)))...)
	}
	return b
}

const wgs84PRJ = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`

// box is a ring, clockwise as an outer ring of a Shapefile is.
func box(x, y, size float64) orb.Ring {
	return orb.Ring{{x, y}, {x, y + size}, {x + size, y + size}, {x + size, y}, {x, y}}
}

func turned(r orb.Ring) orb.Ring {
	r = slices.Clone(r)
	slices.Reverse(r)
	return r
}

func geometryBlob(t testing.TB, srs int32, g orb.Geometry) []byte {
	t.Helper()
	b := binary.LittleEndian.AppendUint32([]byte{'G', 'P', 0, 1}, uint32(srs))
	w, err := wkb.Marshal(g, binary.LittleEndian)
	if err != nil {
		t.Fatal(err)
	}
	return append(b, w...)
}

// geoPackage makes a GeoPackage with the smallest pages there are, and runs
// statements on it.
func geoPackage(t testing.TB, fields []Field, statements ...string) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "x.gpkg")
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	run := func(text string, args ...any) {
		t.Helper()
		if _, err := db.Exec(text, args...); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
	}
	run("PRAGMA page_size = 512")
	run("PRAGMA application_id = 0x47504B47")
	run("CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT, srs_id INTEGER PRIMARY KEY, organization TEXT, organization_coordsys_id INTEGER, definition TEXT)")
	run("INSERT INTO gpkg_spatial_ref_sys VALUES ('WGS 84', 4326, 'EPSG', 4326, 'undefined')")
	run("CREATE TABLE gpkg_contents (table_name TEXT PRIMARY KEY, data_type TEXT)")
	run("INSERT INTO gpkg_contents VALUES ('fields', 'features')")
	run("CREATE TABLE gpkg_geometry_columns (table_name TEXT, column_name TEXT, geometry_type_name TEXT, srs_id INTEGER)")
	run("INSERT INTO gpkg_geometry_columns VALUES ('fields', 'geom', 'MULTIPOLYGON', 4326)")
	run("CREATE TABLE fields (fid INTEGER PRIMARY KEY, geom BLOB, name TEXT)")
	for _, f := range fields {
		run("INSERT INTO fields (geom, name) VALUES (?, ?)", geometryBlob(t, 4326, f.Outline), f.Name)
	}
	for _, s := range statements {
		run(s)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return read(t, path)
}

const kmlHead = `<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder><name>Farm</name>`

func kmlFile(placemarks ...string) []byte {
	return []byte(kmlHead + strings.Join(placemarks, "\n") + "</Folder></Document></kml>")
}

func kmlPlacemark(name, coordinates string) string {
	return "<Placemark><name>" + name + "</name><MultiGeometry><Polygon><outerBoundaryIs><LinearRing><coordinates>" + coordinates +
		"</coordinates></LinearRing></outerBoundaryIs></Polygon></MultiGeometry></Placemark>"
}

const kmlRing = "0.1,53.4,10 0.104,53.4,10\n0.104,53.402,10 0.1,53.4"

// Every format cut off at every byte.
func TestCutOff(t *testing.T) {
	t.Parallel()
	fields := made()[:2]
	ring := []orb.Ring{box(0.1, 53.4, 0.01), turned(box(0.102, 53.402, 0.001))}
	shapefile := map[string][]byte{"x.shp": shp(ring, []orb.Ring{box(0.2, 53.4, 0.01)}), "x.dbf": table("Mill Piece", "Long Meadow"), "x.prj": []byte(wgs84PRJ)}
	archive := zipped(t, map[string][]byte{"x.shp": shapefile["x.shp"], "x.dbf": shapefile["x.dbf"], "x.prj": shapefile["x.prj"]})
	for _, c := range []struct {
		name, part string
		files      map[string][]byte
	}{
		{"x.geojson", "x.geojson", map[string][]byte{"x.geojson": asGeoJSON(t, fields)}},
		{"x.shp", "x.shp", shapefile},
		{"x.shp", "x.dbf", shapefile},
		{"x.shp", "x.prj", shapefile},
		{"x.kml", "x.kml", map[string][]byte{"x.kml": kmlFile(kmlPlacemark("Mill Piece", kmlRing))}},
		{"x.zip", "x.zip", map[string][]byte{"x.zip": archive}},
		{"x.gpkg", "x.gpkg", map[string][]byte{"x.gpkg": geoPackage(t, fields)}},
	} {
		t.Run(c.name+" "+c.part, func(t *testing.T) {
			t.Parallel()
			cut(t, c.name, c.files, c.part)
		})
	}
}

// Files that are wrong, or mean harm, are told of.
func TestHostile(t *testing.T) {
	t.Parallel()
	one := box(0.1, 53.4, 0.01)
	withNaN := slices.Clone(one)
	withNaN[2][1] = math.NaN()
	counts := shp([]orb.Ring{one})
	binary.LittleEndian.PutUint32(counts[shpHeader+8+36:], 0xffffffff)
	binary.LittleEndian.PutUint32(counts[shpHeader+8+40:], 0xffffffff)
	points := shp([]orb.Ring{one})
	binary.LittleEndian.PutUint32(points[32:], 1)
	long := shp([]orb.Ring{one})
	binary.BigEndian.PutUint32(long[shpHeader+4:], 0x7fffffff)
	parts := shp([]orb.Ring{one, one})
	binary.LittleEndian.PutUint32(parts[shpHeader+8+shpPointsAt+4:], 99)
	rows := table("Mill Piece")
	binary.LittleEndian.PutUint32(rows[4:], 0xffffffff)
	bow := orb.Ring{{0.1, 53.4}, {0.104, 53.402}, {0.104, 53.4}, {0.1, 53.402}, {0.1, 53.4}}
	hugeWKB := binary.LittleEndian.AppendUint32([]byte{'G', 'P', 0, 1, 0xe6, 0x10, 0, 0, 1, 3, 0, 0, 0}, 0xffffffff)
	prj := []byte(wgs84PRJ)
	for _, c := range []struct {
		name, file string
		files      map[string][]byte
		want       string
	}{
		{"nothing", "x.shp", map[string][]byte{"x.shp": {}}, "x.shp: got an empty file, want GeoJSON"},
		{"no such file", "x.shp", nil, "x.shp: got nothing to read (file does not exist), want a boundary file that can be read"},
		{"another format", "x.tif", map[string][]byte{"x.tif": []byte("II*\x00")}, "x.tif: got a file of another format, want GeoJSON, GeoPackage"},
		{"a part of a Shapefile", "x.dbf", map[string][]byte{"x.dbf": rows}, "x.dbf: got a part of a Shapefile, want its .shp"},
		{"too large", "x.kml", map[string][]byte{"x.kml": make([]byte, MaxBytes+1)}, "x.kml: got more than 64 MB, want a smaller file"},
		{"numbers beyond the record", "x.shp", map[string][]byte{"x.shp": counts, "x.prj": prj}, "x.shp: record 1: got a polygon whose numbers of parts and points do not fit its length"},
		{"a record beyond the file", "x.shp", map[string][]byte{"x.shp": long, "x.prj": prj}, "x.shp: record 1: got the end of the file"},
		{"parts out of order", "x.shp", map[string][]byte{"x.shp": parts, "x.prj": prj}, "x.shp: record 1: got a polygon whose numbers"},
		{"points", "x.shp", map[string][]byte{"x.shp": points, "x.prj": prj}, "x.shp: got a Shapefile of points, want one of polygons"},
		{"no number", "x.shp", map[string][]byte{"x.shp": shp([]orb.Ring{withNaN}), "x.prj": prj}, "x.shp: record 1, coordinates[0][0][2]: got [0.11, NaN], want WGS 84 degrees"},
		{"crossing itself", "x.shp", map[string][]byte{"x.shp": shp([]orb.Ring{bow}), "x.dbf": table("Mill Piece"), "x.prj": prj}, "x.shp: record 1 (Mill Piece), coordinates[0][0][2]: got a side by which the ring crosses itself at [0.102, 53.401], want"},
		{"rows beyond the table", "x.shp", map[string][]byte{"x.shp": shp([]orb.Ring{one}), "x.dbf": rows, "x.prj": prj}, "x.shp: got a .dbf that ends before its"},
		{"rows missing", "x.shp", map[string][]byte{"x.shp": shp([]orb.Ring{one}, []orb.Ring{box(0.2, 53.4, 0.01)}), "x.dbf": table("Mill Piece"), "x.prj": prj}, "x.shp: got 2 shapes with 1 rows in the .dbf"},
		{"an encoding that is not read", "x.shp", map[string][]byte{"x.shp": shp([]orb.Ring{one}), "x.dbf": table("\xcc\xb6"), "x.cpg": []byte("GB18030"), "x.prj": prj}, "x.shp: got a .dbf in the encoding GB18030, want one in UTF-8"},
		{"metres without a .prj", "x.shp", map[string][]byte{"x.shp": metres()}, "x.shp: got metres and no .prj that says on which map, want a .prj beside it, or degrees: export in WGS 84 (EPSG:4326)"},
		{"a .prj without end", "x.shp", map[string][]byte{"x.shp": shp([]orb.Ring{one}), "x.prj": []byte(strings.Repeat("A[", 9999))}, "another reference system: export in WGS 84"},
		{"XML without end", "x.kml", map[string][]byte{"x.kml": []byte(kmlHead + strings.Repeat("<Folder>", 200))}, "got KML that cannot be read (elements too deep in one another)"},
		{"entities that grow", "x.kml", map[string][]byte{"x.kml": []byte(`<!DOCTYPE kml [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]><kml><Placemark><name>&b;</name></Placemark></kml>`)}, "x.kml:1:90: got KML that cannot be read (line 1: invalid character entity &b;)"},
		{"XML of another kind", "x.xml", map[string][]byte{"x.xml": []byte("<gpx/>")}, "x.xml: got XML that is no KML, want GeoJSON"},
		{"blanks in coordinates", "x.kml", map[string][]byte{"x.kml": kmlFile(kmlPlacemark("Mill Piece", "0.1, 53.4 0.2, 53.4 0.2, 53.5"))}, "x.kml: Placemark 1 (Mill Piece): got the coordinates 0.1,, want longitude,latitude in degrees without a blank between"},
		{"NaN in coordinates", "x.kml", map[string][]byte{"x.kml": kmlFile(kmlPlacemark("Mill Piece", "NaN,53.4 0.2,53.4 0.2,53.5"))}, "x.kml: Placemark 1 (Mill Piece), coordinates[0][0][0]: got [NaN, 53.4], want WGS 84 degrees"},
		{"a Polygon without an outer boundary", "x.kml", map[string][]byte{"x.kml": kmlFile("<Placemark><name>Mill Piece</name><Polygon/></Placemark>")}, "x.kml: Placemark 1 (Mill Piece): got a Polygon with 0 outer boundaries, want one"},
		{"pins alone", "x.kml", map[string][]byte{"x.kml": kmlFile("<Placemark><Point><coordinates>0,53</coordinates></Point></Placemark>")}, "x.kml: got no outline, want at least one polygon"},
		{"a name without end", "x.kml", map[string][]byte{"x.kml": kmlFile(kmlPlacemark(strings.Repeat("x", 201), kmlRing))}, "x.kml: Placemark 1: got a name of 201 bytes, want at most 200"},
		{"an archive in an archive", "x.zip", map[string][]byte{"x.zip": zipped(t, map[string][]byte{"y.zip": zipped(t, map[string][]byte{"a.kml": kmlFile()})})}, "x.zip/y.zip: got an archive in an archive"},
		{"an archive that grows", "x.zip", map[string][]byte{"x.zip": zipped(t, map[string][]byte{"a.kml": make([]byte, MaxBytes+1)})}, "x.zip/a.kml: got a file that cannot be unpacked (more than 64 MB in all)"},
		{"an archive that grows with two files", "x.kmz", map[string][]byte{"x.kmz": zipped(t, map[string][]byte{"a.kml": append(kmlFile(kmlPlacemark("A", kmlRing)), bytes.Repeat([]byte{' '}, MaxBytes/2)...), "b.kml": bytes.Repeat([]byte{' '}, MaxBytes*3/4)})}, "x.kmz/b.kml: got a file that cannot be unpacked (more than 64 MB in all)"},
		{"an archive of nothing", "x.zip", map[string][]byte{"x.zip": zipped(t, map[string][]byte{"notes.txt": nil})}, "x.zip: got an archive without a boundary file"},
		{"an archive of many files", "x.zip", map[string][]byte{"x.zip": zipped(t, many())}, "x.zip: got an archive of 1001 files, want 1000 at most"},
		{"an SQLite file that is no GeoPackage", "x.gpkg", map[string][]byte{"x.gpkg": geoPackage(t, nil, "DROP TABLE gpkg_contents")}, "x.gpkg: got an SQLite file without the table gpkg_contents"},
		{"a table that is a view without end", "x.gpkg", map[string][]byte{"x.gpkg": geoPackage(t, nil, "DROP TABLE fields", "CREATE VIEW fields AS WITH RECURSIVE c(n) AS (SELECT 1 UNION ALL SELECT n FROM c) SELECT n AS fid, x'00' AS geom, 'a' AS name FROM c")}, "x.gpkg: table fields: got a view, or no table of that name"},
		{"the contents as a view", "x.gpkg", map[string][]byte{"x.gpkg": geoPackage(t, nil, "DROP TABLE gpkg_contents", "CREATE VIEW gpkg_contents AS SELECT 'fields' AS table_name, 'features' AS data_type")}, "x.gpkg: got an SQLite file without the table gpkg_contents"},
		{"a reference system that is not described", "x.gpkg", map[string][]byte{"x.gpkg": geoPackage(t, nil, "DELETE FROM gpkg_spatial_ref_sys")}, "x.gpkg: table fields: got the reference system 4326, which the file does not describe"},
		{"points in a GeoPackage", "x.gpkg", map[string][]byte{"x.gpkg": geoPackage(t, nil, "UPDATE gpkg_geometry_columns SET geometry_type_name = 'POINT'")}, "x.gpkg: got tables of points or lines alone"},
		{"a geometry with a count without end", "x.gpkg", map[string][]byte{"x.gpkg": geoPackage(t, nil, fmt.Sprintf("INSERT INTO fields (geom, name) VALUES (x'%x', 'Mill Piece')", hugeWKB))}, "x.gpkg: row 1 of fields (Mill Piece): got a geometry that is cut off"},
		{"a geometry of another system", "x.gpkg", map[string][]byte{"x.gpkg": geoPackage(t, nil, fmt.Sprintf("INSERT INTO fields (geom, name) VALUES (x'%x', 'Mill Piece')", geometryBlob(t, 25832, made()[0].Outline)))}, "x.gpkg: row 1 of fields (Mill Piece): got a geometry of the reference system 25832 in a table of 4326"},
		{"changes not yet taken in", "x.gpkg", map[string][]byte{"x.gpkg": geoPackage(t, nil), "x.gpkg-wal": {1}}, "x.gpkg: got changes in x.gpkg-wal that are not in the file yet"},
		{"too many fields", "x.geojson", map[string][]byte{"x.geojson": crowd(MaxFields + 1)}, "x.geojson: got more than 20000 fields"},
		{"a FeatureCollection in another", "x.geojson", map[string][]byte{"x.geojson": []byte(`{"type":"FeatureCollection","features":[{"type":"FeatureCollection","features":[]}]}`)}, "x.geojson:1:49: features[0].type: got FeatureCollection, want Feature"},
		{"lists without end", "x.geojson", map[string][]byte{"x.geojson": []byte(`{"type":"FeatureCollection","features":[` + strings.Repeat("[", 20000))}, "x.geojson:1:"},
		{"a crossing on the third line", "x.geojson", map[string][]byte{"x.geojson": []byte("{\"type\":\"FeatureCollection\",\n\"features\":[\n  {\"type\":\"Feature\",\"properties\":{\"Field_Name\":\"Bow\"},\"geometry\":{\"type\":\"Polygon\",\"coordinates\":[[[0,0],[1,1],[1,0],[0,1]]]}}]}")},
			"x.geojson:3:112: features[0].geometry.coordinates[0][2] (Bow): got a side by which the ring crosses itself at [0.5, 0.5], want"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, err := Read(c.file, memory(c.files), Options{})
			sound(t, got, err)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %d fields, %v\nwant %s", len(got), err, c.want)
			}
		})
	}
}

// metres is a Shapefile whose box is no degrees.
func metres() []byte {
	b := shp([]orb.Ring{box(531000, 381000, 100)})
	for i, v := range []float64{531000, 381000, 531100, 381100} {
		binary.LittleEndian.PutUint64(b[36+8*i:], math.Float64bits(v))
	}
	return b
}

func many() map[string][]byte {
	files := map[string][]byte{}
	for i := range maxFiles + 1 {
		files[fmt.Sprintf("%d.txt", i)] = nil
	}
	return files
}

// crowd is a GeoJSON file of n small fields.
func crowd(n int) []byte {
	var b strings.Builder
	b.WriteString(`{"type":"FeatureCollection","features":[`)
	for i := range n {
		if i > 0 {
			b.WriteByte(',')
		}
		x, y := float64(i%200)/100, 50+float64(i/200)/100
		fmt.Fprintf(&b, `{"type":"Feature","properties":{"name":"F %d"},"geometry":{"type":"Polygon","coordinates":[[[%.3f,%.3f],[%.3f,%.3f],[%.3f,%.3f]]]}}`, i, x, y, x+0.005, y, x, y+0.005)
	}
	b.WriteString("]}")
	return []byte(b.String())
}
