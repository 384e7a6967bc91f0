package boundary

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// archive reads every boundary file in a .zip or a .kmz, in the order of their
// names. What an archive holds may take MaxBytes unpacked, all together.
func (r *reader) archive(b []byte) {
	if r.inArchive {
		r.fault("", "an archive in an archive", "the files themselves in one archive")
		return
	}
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		r.fault("", "an archive that cannot be read ("+clean(err.Error())+")", "an undamaged file")
		return
	}
	if len(z.File) > maxFiles {
		r.fault("", fmt.Sprintf("an archive of %d files", len(z.File)), fmt.Sprintf("%d at most", maxFiles))
		return
	}
	a := &archived{left: MaxBytes, files: map[string]*zip.File{}}
	var names []string
	for _, f := range z.File {
		base := path.Base(f.Name)
		if f.FileInfo().IsDir() || strings.HasPrefix(base, ".") || strings.HasPrefix(f.Name, "__MACOSX/") {
			continue
		}
		key := strings.ToLower(f.Name)
		if a.files[key] != nil {
			r.fault("", "an archive with "+clean(f.Name)+" twice", "each file once")
			return
		}
		a.files[key] = f
		if slices.Contains(extensions(), path.Ext(key)) {
			names = append(names, f.Name)
		}
	}
	if len(names) == 0 {
		r.fault("", "an archive without a boundary file", wantFormat)
		return
	}
	slices.Sort(names)
	for _, name := range names {
		r.member(name, a)
		if r.full {
			return
		}
	}
}

// extensions are those of files that are looked for in archives and folders.
func extensions() []string {
	return []string{".geojson", ".json", ".gpkg", ".shp", ".kml", ".kmz", ".zip"}
}

// member reads one file of the archive with a reader of its own, whose findings
// are this one's.
func (r *reader) member(name string, a *archived) {
	inner := &reader{
		file: r.file + "/" + clean(name), options: r.options, inArchive: true, positions: r.positions,
		fields: r.fields, faults: r.faults, more: r.more, known: r.known, named: r.named,
	}
	inner.open = func(n string) ([]byte, error) { return a.read(strings.TrimPrefix(n, r.file+"/")) }
	b, err := a.read(name)
	if err != nil {
		inner.fault("", "a file that cannot be unpacked ("+clean(err.Error())+")", "an undamaged archive")
	} else {
		inner.content(b)
	}
	r.fields, r.faults, r.more = inner.fields, inner.faults, inner.more
	r.known, r.named, r.full, r.positions = inner.known, inner.named, inner.full, inner.positions
}

// archived are the files of an archive by their names in small letters.
type archived struct {
	files map[string]*zip.File
	left  int64 // bytes that may still be unpacked
}

func (a *archived) read(name string) ([]byte, error) {
	f := a.files[strings.ToLower(name)]
	if f == nil {
		return nil, fs.ErrNotExist
	}
	in, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer in.Close()
	b, err := io.ReadAll(io.LimitReader(in, a.left+1))
	if err != nil {
		return nil, err
	}
	if a.left -= int64(len(b)); a.left < 0 {
		return nil, fmt.Errorf("more than %d MB in all", MaxBytes>>20)
	}
	return b, nil
}
