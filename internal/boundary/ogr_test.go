package boundary

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/internal/testkit"
)

// Files that GDAL's ogr2ogr wrote from known fields, in every format and many
// reference systems, give these fields back.
func TestFilesOfGDAL(t *testing.T) {
	t.Parallel()
	const datumE, datumN = "ETRS89 is taken", "NAD83 is taken"
	for _, c := range []struct {
		name, file string
		lon, lat   float64 // the fields moved by so many degrees
		args       []string
		within     float64 // degrees
		warning    string
	}{
		{"GeoJSON", "f.geojson", 0, 0, []string{"-lco", "RFC7946=YES", "-lco", "COORDINATE_PRECISION=9"}, 1e-9, ""},
		{"GeoJSON with crs 84", "f.geojson", 0, 0, []string{"-lco", "COORDINATE_PRECISION=9"}, 1e-9, ""},
		{"GeoPackage", "f.gpkg", 0, 0, nil, 0, ""},
		{"GeoPackage 1.4 in WAL mode", "f.gpkg", 0, 0, []string{"--config", "OGR_SQLITE_JOURNAL", "WAL"}, 0, ""},
		{"GeoPackage with heights", "f.gpkg", 0, 0, []string{"-dim", "XYZM"}, 0, ""},
		{"GeoPackage, UTM 31N", "f.gpkg", 0, 0, []string{"-t_srs", "EPSG:32631"}, 5e-8, ""},
		{"GeoPackage, UTM 30N, beyond its edge", "f.gpkg", 0, 0, []string{"-t_srs", "EPSG:32630"}, 5e-8, ""},
		{"GeoPackage, UTM 23S", "f.gpkg", -45, -65.6, []string{"-t_srs", "EPSG:32723"}, 5e-8, ""},
		{"GeoPackage, ETRS89", "f.gpkg", 0, 0, []string{"-t_srs", "EPSG:4258"}, 1e-7, datumE},
		{"GeoPackage, ETRS89 UTM 32N", "f.gpkg", 9.5, 2, []string{"-t_srs", "EPSG:25832"}, 5e-8, datumE},
		{"GeoPackage, NAD83", "f.gpkg", -106.7, -1.4, []string{"-t_srs", "EPSG:4269"}, 1e-7, datumN},
		{"GeoPackage, NAD83 UTM 13N", "f.gpkg", -106.7, -1.4, []string{"-t_srs", "EPSG:26913"}, 5e-8, datumN},
		{"GeoPackage, Web Mercator", "f.gpkg", 0, 0, []string{"-t_srs", "EPSG:3857"}, 1e-9, ""},
		{"Shapefile", "f.shp", 0, 0, []string{"-lco", "ENCODING=UTF-8"}, 0, ""},
		{"Shapefile in Latin-1", "f.shp", 0, 0, nil, 0, ""},
		{"Shapefile with heights", "f.shp", 0, 0, []string{"-lco", "SHPT=POLYGONZ"}, 0, ""},
		{"Shapefile with measures", "f.shp", 0, 0, []string{"-lco", "SHPT=POLYGONM"}, 0, ""},
		{"Shapefile, UTM 31N", "f.shp", 0, 0, []string{"-t_srs", "EPSG:32631"}, 5e-8, ""},
		{"Shapefile, UTM 56S", "f.shp", 151, -80, []string{"-t_srs", "EPSG:32756"}, 5e-8, ""},
		{"Shapefile, ETRS89", "f.shp", 0, 0, []string{"-t_srs", "EPSG:4258"}, 1e-7, datumE},
		{"Shapefile, ETRS89 UTM 33N", "f.shp", 14, -1, []string{"-t_srs", "EPSG:25833"}, 5e-8, datumE},
		{"Shapefile, NAD83", "f.shp", -97, -4, []string{"-t_srs", "EPSG:4269"}, 1e-7, datumN},
		{"Shapefile, NAD83 UTM 14N", "f.shp", -97, -4, []string{"-t_srs", "EPSG:26914"}, 5e-8, datumN},
		{"Shapefile, Web Mercator", "f.shp", 0, 0, []string{"-t_srs", "EPSG:3857"}, 1e-9, ""},
		{"zipped Shapefile", "f.shz", 0, 0, []string{"-lco", "ENCODING=UTF-8"}, 0, ""},
		{"KML", "f.kml", 0, 0, []string{"-f", "KML"}, 1e-9, ""},
		{"KML of another writer", "f.kml", 0, 0, []string{"-f", "LIBKML"}, 1e-9, ""},
		{"KMZ", "f.kmz", 0, 0, []string{"-f", "LIBKML"}, 1e-9, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			want := shifted(made(), c.lon, c.lat)
			in := lay(t, dir, "in.json", asGeoJSON(t, want))
			out := ogr2ogr(t, filepath.Join(dir, c.file), in, c.args...)
			before := listing(t, dir)
			got, err := Read(out, OpenFile, Options{})
			if err != nil {
				t.Fatal(err)
			}
			sound(t, got, err)
			sameFields(t, c.name, got, want, c.within)
			checkAreas(t, c.name, got)
			for _, f := range got {
				if all := strings.Join(f.Warnings, "; "); (c.warning == "") != (all == "") || !strings.Contains(all, c.warning) {
					t.Errorf("warnings of %s: got %q, want %q", f.Name, all, c.warning)
				}
			}
			if after := listing(t, dir); after != before {
				t.Errorf("reading changed the folder from %s to %s", before, after)
			}
		})
	}
}

func listing(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, e.Name()+info.ModTime().String())
	}
	return strings.Join(names, " ")
}

// Other reference systems are refused with what to do.
func TestForeignSystems(t *testing.T) {
	t.Parallel()
	const advice = "export in WGS 84 (EPSG:4326)"
	for _, c := range []struct{ name, file, code, want string }{
		{"OSGB36 in a GeoPackage", "f.gpkg", "EPSG:27700", "OSGB36 / British National Grid (EPSG:27700), another reference system: " + advice},
		{"OSGB36 in a Shapefile", "f.shp", "EPSG:27700", "the .prj British_National_Grid, another reference system: " + advice},
		{"US feet in a Shapefile", "f.shp", "EPSG:2264", "another reference system: " + advice},
		{"a conic map", "f.gpkg", "EPSG:3035", "another reference system: " + advice},
		{"OSGB36 in an old GeoJSON", "f.geojson", "EPSG:27700", "crs: got urn:ogc:def:crs:EPSG::27700, want WGS 84 longitude and latitude and no other reference system: " + advice},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			out := ogr2ogr(t, filepath.Join(dir, c.file), lay(t, dir, "in.json", asGeoJSON(t, made())), "-t_srs", c.code)
			got, err := Read(out, OpenFile, Options{})
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") || len(got) > 0 {
				t.Errorf("got %d fields, %v\nwant one fault with %s", len(got), err, c.want)
			}
		})
	}
}

// Real outlines, converted by GDAL and read back, are what they were.
func TestRealOutlines(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ file, name string }{{"denmark-2026.geojson", "Marknr"}, {"bahia-brazil-2020.geojson", "id"}} {
		t.Run(c.file, func(t *testing.T) {
			t.Parallel()
			in := filepath.Join(testkit.SharedData(t), "boundaries", c.file)
			o := Options{NameFrom: c.name}
			want, err := Read(in, OpenFile, o)
			if err != nil || len(want) != 100 {
				t.Fatalf("got %d fields, %v, want 100", len(want), err)
			}
			checkAreas(t, c.file, want)
			dir := t.TempDir()
			for _, out := range []string{"x.gpkg", "x.shp", "x.kml", "x.shz"} {
				args := []string{}
				if out == "x.kml" {
					args = []string{"-f", "KML", "-dsco", "NameField=" + c.name}
				}
				got, err := Read(ogr2ogr(t, filepath.Join(dir, out), in, args...), OpenFile, forKML(out, o))
				if err != nil {
					t.Fatalf("%s: %v", out, err)
				}
				sameFields(t, out, got, want, 0)
			}
		})
	}
}

// forKML reads a KML file's names from its Placemarks.
func forKML(file string, o Options) Options {
	if strings.HasSuffix(file, ".kml") {
		return Options{}
	}
	return o
}

// An archive with files of several formats gives all their fields, in the order
// of the names.
func TestArchive(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	fields := made()
	files := map[string][]byte{}
	for i, name := range []string{"b.gpkg", "c.kml", "a.shp"} {
		out := ogr2ogr(t, filepath.Join(dir, name), lay(t, dir, name+".json", asGeoJSON(t, fields[i:i+1])))
		files["fields/"+name] = read(t, out)
	}
	for _, ext := range []string{"dbf", "prj", "shx"} {
		files["fields/A."+strings.ToUpper(ext)] = read(t, filepath.Join(dir, "a."+ext))
	}
	files["fields/d.geojson"] = asGeoJSON(t, fields[3:])
	files["__MACOSX/fields/._a.shp"] = []byte("a fork")
	got, err := Read("x.zip", memory(map[string][]byte{"x.zip": zipped(t, files)}), Options{})
	if err != nil {
		t.Fatal(err)
	}
	sameFields(t, "archive", got, []Field{fields[2], fields[0], fields[1], fields[3]}, 1e-9)
	if got[1].File != "x.zip/fields/b.gpkg" {
		t.Errorf("got file %s, want that in the archive", got[1].File)
	}
}

func read(t testing.TB, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return bytes.Clone(b)
}
