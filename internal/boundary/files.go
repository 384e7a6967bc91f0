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

// ReadAll reads all fields of a file or of a folder as ReadEach does. Every field
// must have a name, and no two the same.
func ReadAll(name string, open Open, o Options) ([]Field, error) {
	all, err := ReadEach(name, open, o)
	e := &Error{}
	errors.As(err, &e)
	return e.distinct(all), e.orNil()
}

// ReadEach reads all fields of a file, or of every boundary file in a folder
// (those with the extension of one), in the order of the files' names. An error is
// an *Error; the fields without a fault are given nevertheless.
func ReadEach(name string, open Open, o Options) ([]Field, error) {
	b, err := open(name)
	var folder Folder
	switch {
	case err == nil:
		return parse(name, b, open, o)
	case !errors.As(err, &folder):
		return nil, &Error{Faults: []Fault{fileFault(name, err)}}
	}
	return readFolder(name, folder, open, o)
}

// orNil is an error only where there are faults.
func (e *Error) orNil() error {
	if len(e.Faults) == 0 {
		return nil
	}
	if over := len(e.Faults) - maxFaults; over > 0 {
		e.Faults, e.More = e.Faults[:maxFaults], e.More+over
	}
	return e
}

func (e *Error) add(file, got, want string) {
	e.Faults = append(e.Faults, Fault{File: file, Fault: plain("", got, want)})
}

func readFolder(name string, folder Folder, open Open, o Options) (all []Field, err error) {
	e := &Error{}
	names := slices.Clone(folder)
	slices.Sort(names)
	files := 0
	for _, n := range names {
		if strings.HasPrefix(n, ".") || !slices.Contains(extensions(), strings.ToLower(filepath.Ext(n))) {
			continue
		}
		files++
		found, err := Read(filepath.Join(name, n), open, o)
		all = append(all, found...)
		var faults *Error
		if errors.As(err, &faults) {
			e.Faults, e.More = append(e.Faults, faults.Faults...), e.More+faults.More
		}
	}
	switch {
	case len(folder) > maxFiles:
		e.add(name, fmt.Sprintf("a folder of more than %d files", maxFiles), "a folder of boundary files alone")
	case files == 0:
		e.add(name, "a folder without a boundary file", "files with the extension .geojson, .gpkg, .shp, .kml, .kmz or .zip")
	}
	return all, e.orNil()
}

// distinct are the fields that have a name of their own; others are faults.
func (e *Error) distinct(all []Field) (out []Field) {
	seen := map[string]int{}
	faulty := len(e.Faults) > 0 // a name that is missing may follow from those
	for i, f := range all {
		if f.Name == "" && faulty {
			continue
		}
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
