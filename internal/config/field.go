package config

import (
	"encoding/json"
	"errors"
	"io/fs"

	"drawbar/internal/boundary"
	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

const wantBoundary = "a file of GeoJSON, GeoPackage, Shapefile, KML or KMZ that can be read, its path as seen from the configuration's folder"

// field reads the field of the start. Its outline is that of the file it names,
// else that of the known field of its name.
func (r *reader) field(n *statement.Node) {
	o, ok := statement.Open(n, "field", &r.faults, []string{"name", "boundary"})
	if !ok {
		return
	}
	if o.Get("name") == nil {
		o.Missing("name", "the field's name")
	}
	f := &r.file.Field
	f.Name, _ = o.Name("name", "the field's name")
	if section(o, "boundary") == nil {
		r.knownOutline()
		return
	}
	path, ok := o.Name("boundary", "the name of a boundary file")
	if !ok {
		return
	}
	f.BoundaryFile = path
	if open := r.opened(o, "boundary", path, wantBoundary); open != nil {
		r.outline(path, open)
	}
}

// knownOutline gives the field the outline of the known field of its name.
func (r *reader) knownOutline() {
	f := &r.file.Field
	if r.recorded && r.file.Fields.From != "" {
		if text, err := r.open(r.file.Fields.From); err == nil {
			r.outline(r.file.Fields.From, func(string) ([]byte, error) { return text, nil })
		}
		return
	}
	for _, k := range r.file.Fields.Known {
		if boundary.Same(k.Name, f.Name) {
			f.Boundary, f.Warnings = k.Outline, k.Warnings
			return
		}
	}
}

// outline takes the field's outline out of a boundary file. What is wrong with
// other fields of the file does not matter.
func (r *reader) outline(path string, open boundary.Open) {
	f := &r.file.Field
	found, err := boundary.Read(path, open, boundary.Options{})
	if err != nil && !anyCalled(found, f.Name) {
		r.elsewhere(err)
		return
	}
	one, err := boundary.Pick(path, found, f.Name)
	if err != nil {
		r.elsewhere(err)
		return
	}
	f.Boundary, f.Warnings = one.Outline, one.Warnings
}

func anyCalled(fields []boundary.Field, name string) bool {
	for _, f := range fields {
		if f.Name != "" && boundary.Same(f.Name, name) {
			return true
		}
	}
	return false
}

// fields reads where the known fields are: a path, or {path, name_from}.
func (r *reader) fields(o statement.Object) {
	const want = "a file or a folder of boundary files"
	at := &r.file.Fields
	key := "fields"
	if n := o.Get(key); n.Kind == statement.KindMap {
		inner, ok := statement.Open(n, key, &r.faults, []string{"path", "name_from"})
		if !ok {
			return
		}
		if o, key = inner, "path"; o.Get(key) == nil {
			o.Missing(key, want)
			return
		}
		at.NameFrom, _ = o.Name("name_from", "the attribute that holds the fields' names")
	}
	path, ok := o.Name(key, want)
	if !ok {
		return
	}
	at.From = path
	if r.recorded {
		return
	}
	open := r.opened(o, key, path, want+" that can be read, its path as seen from the configuration's folder")
	if open == nil {
		return
	}
	var err error
	if at.Known, err = boundary.ReadAll(path, open, boundary.Options{NameFrom: at.NameFrom}); err != nil {
		r.elsewhere(err)
	}
}

// opened opens a file or a folder that the configuration names, nil where that is
// a fault. The Open that it gives has what was read already.
func (r *reader) opened(o statement.Object, key, path, want string) boundary.Open {
	if r.open == nil {
		o.Fault(key, path, "no file to be named here")
		return nil
	}
	b, err := r.open(path)
	var folder boundary.Folder
	if err != nil && !errors.As(err, &folder) {
		o.Fault(key, path, want+" ("+reason(err)+")")
		return nil
	}
	return func(name string) ([]byte, error) {
		switch {
		case name == path:
			return b, err
		case r.recorded:
			return nil, fs.ErrNotExist // one file is all there is
		default:
			return r.open(name)
		}
	}
}

// elsewhere takes over what is wrong in boundary files.
func (r *reader) elsewhere(err error) {
	var faults *boundary.Error
	if !errors.As(err, &faults) {
		return
	}
	for _, f := range faults.Faults {
		r.outlines.Entries = append(r.outlines.Entries, Entry{File: f.File, Fault: f.Fault})
	}
	r.outlines.More += faults.More
}

// Outline is the field's outline as a GeoJSON Feature with its name, for a
// recording: whatever the file was that it came from, reading this again gives the
// same numbers. "" without one.
func (f File) Outline() (string, error) {
	if len(f.Field.Boundary) == 0 {
		return "", nil
	}
	type geometry struct {
		Type        string           `json:"type"`
		Coordinates orb.MultiPolygon `json:"coordinates"`
	}
	b, err := json.Marshal(struct {
		Type       string            `json:"type"`
		Properties map[string]string `json:"properties"`
		Geometry   geometry          `json:"geometry"`
	}{"Feature", map[string]string{"name": f.Field.Name}, geometry{"MultiPolygon", f.Field.Boundary}})
	return string(b), err
}
