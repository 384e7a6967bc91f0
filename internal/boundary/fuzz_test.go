package boundary

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// Whatever stands in a file: fields that are sound, or faults, and no panic.

func FuzzGeoJSON(f *testing.F) {
	f.Add(asGeoJSON(f, made()))
	f.Add([]byte(`{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"EPSG:27700"}},"features":[]}`))
	f.Add([]byte(`{"type":"Feature","properties":{"name":5},"geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1]]]}}`))
	f.Add([]byte(`{"type":"FeatureCollection","features":[null,{"type":"Feature","geometry":null}]} x`))
	f.Add([]byte("\xef\xbb\xbf{}"))
	f.Fuzz(func(t *testing.T, b []byte) {
		fields, err := Read("x.geojson", memory(map[string][]byte{"x.geojson": b}), Options{})
		sound(t, fields, err)
	})
}

func FuzzGeoPackage(f *testing.F) {
	f.Add(geoPackage(f, made()))
	f.Add(geoPackage(f, made()[:1], "DROP TABLE fields", "CREATE VIEW fields AS SELECT 1 AS fid, x'' AS geom, 'a' AS name"))
	f.Add(geoPackage(f, made()[:1], "ALTER TABLE fields ADD COLUMN other TEXT DEFAULT 'x'", "VACUUM"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) > 1<<16 {
			return
		}
		fields, err := Read("x.gpkg", memory(map[string][]byte{"x.gpkg": b}), Options{})
		sound(t, fields, err)
	})
}

func FuzzGeometry(f *testing.F) {
	for _, m := range made() {
		f.Add(geometryBlob(f, 4326, m.Outline))
	}
	f.Add(geometryBlob(f, 4326, orb.Collection{made()[0].Outline[0], orb.Collection{made()[1].Outline}}))
	f.Add([]byte("GP\x00\x11\xe6\x10\x00\x00"))
	f.Add([]byte("GP\x00\x0b\xe6\x10\x00\x00"))
	f.Fuzz(func(t *testing.T, b []byte) {
		outline, err := readGeometry(b, 4326)
		if err != nil && outline != nil || err != nil && err.Error() == "" {
			t.Errorf("of %x got %v and %v, want one of them", b, outline, err)
		}
		r := &reader{file: "x.gpkg"}
		r.add("row 1", "Mill Piece", outline)
		fields, err := r.result()
		sound(t, fields, err)
	})
}

func FuzzShapefile(f *testing.F) {
	ring := []orb.Ring{box(0.1, 53.4, 0.01), turned(box(0.102, 53.402, 0.001))}
	f.Add(shp(ring, []orb.Ring{box(0.2, 53.4, 0.01)}), table("Mill Piece", "*Long Meadow"), []byte(wgs84PRJ), "UTF-8")
	f.Add(shp(ring), table("M\xf8lle"), []byte(strings.Replace(wgs84PRJ, "1984", "1972", 1)), "")
	f.Add(metres(), table("A"), []byte(utm31PRJ), "1252")
	f.Fuzz(func(t *testing.T, b, dbf, prj []byte, cpg string) {
		fields, err := Read("x.shp", memory(map[string][]byte{"x.shp": b, "x.dbf": dbf, "x.prj": prj, "x.cpg": []byte(cpg)}), Options{})
		sound(t, fields, err)
	})
}

func FuzzKML(f *testing.F) {
	f.Add(kmlFile(kmlPlacemark("Mill Piece", kmlRing)), "")
	f.Add(kmlFile(`<Placemark><ExtendedData><Data name="Nr"><value>5</value></Data><SchemaData><SimpleData name="name">A</SimpleData></SchemaData></ExtendedData>`+
		`<Polygon><outerBoundaryIs><LinearRing><coordinates>`+kmlRing+`</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>`), "Nr")
	f.Add([]byte(`<?xml version="1.0" encoding="ISO-8859-1"?><kml><Placemark><name>M`+"\xf8"+`lle</name></Placemark></kml>`), "")
	f.Add([]byte(`<!DOCTYPE kml SYSTEM "x"><kml><![CDATA[x]]><Placemark><Polygon/></Placemark></kml>`), "")
	f.Fuzz(func(t *testing.T, b []byte, name string) {
		fields, err := Read("x.kml", memory(map[string][]byte{"x.kml": b}), Options{NameFrom: name})
		sound(t, fields, err)
	})
}

func FuzzArchive(f *testing.F) {
	f.Add(zipped(f, map[string][]byte{"a.kml": kmlFile(kmlPlacemark("Mill Piece", kmlRing)), "b.geojson": asGeoJSON(f, made())}))
	f.Add(zipped(f, map[string][]byte{"A.SHP": shp([]orb.Ring{box(0.1, 53.4, 0.01)}), "a.dbf": table("A"), "a.PRJ": []byte(wgs84PRJ)}))
	f.Add(zipped(f, map[string][]byte{"a.zip": nil, "../b.kml": nil}))
	f.Fuzz(func(t *testing.T, b []byte) {
		fields, err := Read("x.zip", memory(map[string][]byte{"x.zip": b}), Options{})
		sound(t, fields, err)
	})
}

func FuzzWKT(f *testing.F) {
	f.Add(wgs84PRJ)
	f.Add(utm31PRJ)
	f.Add(`COMPD_CS["x",` + wgs84PRJ + `,VERT_CS["h"]]`)
	f.Add(`A("b",C[1e999],D[])`)
	f.Fuzz(func(t *testing.T, text string) {
		s, ok := fromWKT(text)
		if !ok {
			return
		}
		p, ok := s.degrees(orb.Point{500000, 5900000})
		if s.name == "" || ok && s.project != nil && !(p[0] >= -180 && p[0] <= 180 && p[1] >= -90 && p[1] <= 90) {
			t.Errorf("system %q of %q puts a place at %v", s.name, text, p)
		}
	})
}

const utm31PRJ = `PROJCS["WGS_1984_UTM_Zone_31N",` + wgs84PRJ + `,PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",3.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`
