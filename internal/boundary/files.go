package boundary

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Folder is what an Open gives as the error for a folder: the names of the files
// in it.
type Folder []string

func (Folder) Error() string { return "a folder" }

// Files opens files as they lie on the disk.
func Files() Open { return OpenFile }

// OpenFile is an Open of the disk.
func OpenFile(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !info.IsDir() {
		return io.ReadAll(io.LimitReader(f, MaxBytes+1))
	}
	entries, err := f.Readdirnames(maxFiles + 1)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	return nil, Folder(entries)
}

// ReadAll reads all fields of a file, or of every boundary file in a folder (those
// with the extension of one), in the order of the files' names. Every field must
// have a name, and no two the same. An error is an *Error; the fields without a
// fault are given nevertheless.
func ReadAll(name string, open Open, o Options) ([]Field, error) {
	b, err := open(name)
	var folder Folder
	if err != nil && !errors.As(err, &folder) {
		return nil, &Error{Faults: []Fault{fileFault(name, err)}}
	}
	var all []Field
	var e Error
	take := func(fields []Field, err error) {
		all = append(all, fields...)
		var faults *Error
		if errors.As(err, &faults) {
			e.Faults, e.More = append(e.Faults, faults.Faults...), e.More+faults.More
		}
	}
	if err == nil {
		take(parse(name, b, open, o))
	} else if !readFolder(name, folder, open, o, take) {
		e.add(name, fmt.Sprintf("a folder without a boundary file, or of more than %d files", maxFiles), "files with the extension .geojson, .gpkg, .shp, .kml, .kmz or .zip")
	}
	kept := e.distinct(all)
	if len(e.Faults) > 0 {
		if over := len(e.Faults) - maxFaults; over > 0 {
			e.Faults, e.More = e.Faults[:maxFaults], e.More+over
		}
		return kept, &e
	}
	return kept, nil
}

func (e *Error) add(file, got, want string) {
	e.Faults = append(e.Faults, Fault{File: file, Fault: plain("", got, want)})
}

// readFolder reads the boundary files of a folder; false = it has none or too
// many.
func readFolder(name string, folder Folder, open Open, o Options, take func([]Field, error)) bool {
	if len(folder) > maxFiles {
		return false
	}
	names := slices.Clone(folder)
	slices.Sort(names)
	found := false
	for _, n := range names {
		if strings.HasPrefix(n, ".") || !slices.Contains(extensions(), strings.ToLower(filepath.Ext(n))) {
			continue
		}
		found = true
		take(Read(filepath.Join(name, n), open, o))
	}
	return found
}

// distinct are the fields that have a name of their own; others are faults.
func (e *Error) distinct(all []Field) (out []Field) {
	seen := map[string]int{}
	for i, f := range all {
		if f.Name == "" {
			e.add(f.File, f.At+", a field without a name", "one in an attribute name, or the attribute that holds it stated")
			continue
		}
		key := strings.ToLower(f.Name)
		if j, twice := seen[key]; twice {
			e.add(f.File, fmt.Sprintf("%s, the name of which %s has too", f.At, all[j].place()), "each field's name once")
			continue
		}
		seen[key] = i
		out = append(out, f)
	}
	return out
}
