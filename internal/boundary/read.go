package boundary

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"drawbar/controller"
	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

// Open reads a file whole, or as far as MaxBytes and one more. It is asked for
// the file that was named and for those that belong to it: beside a .shp the .dbf,
// the .prj and the .cpg. Of a folder it gives the error Folder.
type Open func(name string) ([]byte, error)

// Read reads all fields of a file, in its order. An error is an *Error; the fields
// that have no fault are given nevertheless, so that one can be picked while
// another is at fault. A file without a field is a fault.
func Read(name string, open Open, o Options) ([]Field, error) {
	b, err := open(name)
	if err != nil {
		return nil, &Error{Faults: []Fault{fileFault(name, err)}}
	}
	return parse(name, b, open, o)
}

func fileFault(name string, err error) Fault {
	var folder Folder
	if errors.As(err, &folder) {
		return Fault{File: name, Fault: plain("", "a folder", "a file")}
	}
	got := err.Error()
	var path *fs.PathError
	if errors.As(err, &path) {
		got = path.Err.Error()
	}
	return Fault{File: name, Fault: plain("", "nothing to read ("+got+")", "a boundary file that can be read")}
}

func plain(at, got, want string) statement.Fault {
	return statement.Fault{Problem: controller.Problem{Path: at, Got: got, Want: want}}
}

const wantFormat = "GeoJSON, GeoPackage, a Shapefile (.shp), KML, KMZ, or a .zip of these"

// parse reads the content of a file. open reads what belongs to it.
func parse(name string, b []byte, open Open, o Options) ([]Field, error) {
	r := &reader{file: name, open: open, options: o}
	r.content(b)
	return r.result()
}

// reader collects the fields and the faults of one file.
type reader struct {
	file    string
	open    Open
	options Options

	fields    []Field
	faults    []Fault
	more      int
	positions int
	full      bool     // the file has more than is read
	system    system   // of the places to come
	warnings  []string // of the fields to come
	known     []string // attributes seen, for a person who named another
	named     bool     // the attribute of the names was there
	inArchive bool
}

func (r *reader) result() ([]Field, error) {
	if len(r.faults) == 0 && len(r.fields) == 0 {
		r.fault("", "no outline", "at least one polygon")
	}
	if o := r.options.NameFrom; o != "" && !r.named && len(r.fields) > 0 {
		want := "an attribute that is there"
		if len(r.known) > 0 {
			want = "one of " + strings.Join(r.known[:min(len(r.known), 20)], ", ")
		}
		r.fault("", "no attribute "+clean(o)+" for the names", want)
	}
	if len(r.faults) > 0 {
		return r.fields, &Error{Faults: r.faults, More: r.more}
	}
	return r.fields, nil
}

// content reads a file by what it begins with.
func (r *reader) content(b []byte) {
	if len(b) > MaxBytes {
		r.fault("", fmt.Sprintf("more than %d MB", MaxBytes>>20), "a smaller file: export the fields that are farmed")
		return
	}
	text := bytes.TrimLeft(bytes.TrimPrefix(b, []byte("\xef\xbb\xbf")), " \t\r\n")
	ext := strings.ToLower(filepath.Ext(r.file))
	switch {
	case len(b) == 0:
		r.fault("", "an empty file", wantFormat)
	case bytes.HasPrefix(b, []byte("SQLite format 3\x00")):
		r.geoPackage(b)
	case bytes.HasPrefix(b, []byte{0, 0, 0x27, 0x0a}):
		if ext == ".shx" {
			r.fault("", "the index of a Shapefile", "its .shp")
			return
		}
		r.shapefile(b)
	case bytes.HasPrefix(b, []byte("PK\x03\x04")), bytes.HasPrefix(b, []byte("PK\x05\x06")):
		r.archive(b)
	case bytes.HasPrefix(text, []byte("{")):
		r.geoJSON(b)
	case bytes.HasPrefix(text, []byte("<")):
		r.kml(b)
	case ext == ".json" || ext == ".geojson":
		r.geoJSON(b) // says where it is no JSON
	case ext == ".dbf" || ext == ".prj" || ext == ".cpg":
		r.fault("", "a part of a Shapefile", "its .shp")
	default:
		r.fault("", "a file of another format", wantFormat)
	}
}

// fault notes what is wrong at a place of the file.
func (r *reader) fault(at, got, want string) { r.put(plain(at, got, want)) }

func (r *reader) put(f statement.Fault) {
	if len(r.faults) >= maxFaults {
		r.more++
		return
	}
	r.faults = append(r.faults, Fault{File: r.file, Fault: f})
}

// attributes notes which attributes the fields to come have, and gives the number
// of the one with the name, -1 = none.
func (r *reader) attributes(names []string) int {
	for _, n := range names {
		if n = clean(n); !slices.Contains(r.known, n) && len(r.known) < 100 {
			r.known = append(r.known, n)
		}
	}
	i := r.options.attribute(names)
	r.named = r.named || i >= 0
	return i
}

// add takes a field whose places are in the reference system in force. at is
// where it stands. An empty outline is an entry without a place, and no field.
func (r *reader) add(at, name string, outline orb.MultiPolygon) {
	if len(outline) == 0 || !r.room(outline) {
		return
	}
	name, ok := r.name(at, name)
	if !ok {
		return
	}
	at = called(at, name)
	var faults statement.Faults
	degrees, ok := r.toDegrees(at, outline)
	if !ok {
		return
	}
	if degrees, ok = statement.Outline(degrees, at+", coordinates", &faults); !ok {
		for _, f := range faults.List() {
			r.put(f)
		}
		r.more += faults.More()
		return
	}
	r.take(at, name, degrees)
}

// take keeps a field that is without fault.
func (r *reader) take(at, name string, outline orb.MultiPolygon) {
	area, ok := AreaM2(outline)
	if !ok {
		r.fault(at, "an outline of more than 300 km", "a field")
		return
	}
	r.fields = append(r.fields, Field{
		Name: name, Outline: outline, AreaM2: area, Warnings: slices.Clone(r.warnings), File: r.file, At: at,
	})
}

// room tells whether another field may be read.
func (r *reader) room(outline orb.MultiPolygon) bool {
	for _, p := range outline {
		for _, ring := range p {
			r.positions += len(ring)
		}
	}
	switch {
	case r.full:
	case len(r.fields) >= MaxFields:
		r.fault("", fmt.Sprintf("more than %d fields", MaxFields), "a smaller file: export the fields that are farmed")
		r.full = true
	case r.positions > MaxPositions:
		r.fault("", fmt.Sprintf("more than %d positions", MaxPositions), "a smaller file: export the fields that are farmed, or simplify their outlines")
		r.full = true
	}
	return !r.full
}

// name brings a name to the form that the rest of the program takes.
func (r *reader) name(at, name string) (string, bool) {
	name = strings.Join(strings.Fields(strings.ToValidUTF8(name, "")), " ")
	if len(name) > statement.MaxName {
		r.fault(at, fmt.Sprintf("a name of %d bytes", len(name)), fmt.Sprintf("at most %d", statement.MaxName))
		return "", false
	}
	if clean(name) != name {
		r.fault(at, "the name "+clean(name)+" with control characters", "a name without")
		return "", false
	}
	return name, true
}

// called is a place with the name of what stands there.
func called(at, name string) string {
	if name == "" {
		return at
	}
	return at + " (" + name + ")"
}

func (r *reader) toDegrees(at string, outline orb.MultiPolygon) (orb.MultiPolygon, bool) {
	out := make(orb.MultiPolygon, len(outline))
	for i, p := range outline {
		out[i] = make(orb.Polygon, len(p))
		for j, ring := range p {
			out[i][j] = make(orb.Ring, len(ring))
			for k, q := range ring {
				d, ok := r.system.degrees(q)
				if !ok {
					r.fault(fmt.Sprintf("%s, coordinates[%d][%d][%d]", at, i, j, k), fmt.Sprintf("[%g, %g]", q[0], q[1]), "a place on "+r.system.name)
					return nil, false
				}
				out[i][j][k] = d
			}
		}
	}
	return out, true
}
