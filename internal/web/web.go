// Package web holds the cab screen: the page that shows the machine, its ground
// and its figures. It is written in TypeScript under src and built by Vite into
// dist, which is embedded.
//
// A program built without Node.js embeds only dist/placeholder.html, which says
// how to build the screen.
package web

import (
	"embed"
	"errors"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

const (
	index       = "index.html"
	marks       = "marks.html" // of a second person
	placeholder = "placeholder.html"
)

// Files is the built page: index.html, marks.html, sw.js, manifest.webmanifest, icons, and
// everything with a hash in its name under assets, which never changes and may be
// cached for good. Where the page was not built, both are the placeholder.
func Files() fs.FS {
	built, err := fs.Sub(dist, "dist")
	if err != nil {
		panic(err) // the name is valid
	}
	return page{built}
}

// Built tells whether the page was built into the program.
func Built() bool {
	_, err := fs.Stat(dist, "dist/"+index)
	return err == nil
}

// page is the built files, the placeholder standing in for a missing index.html or marks.html.
type page struct{ fs.FS }

func (p page) Open(name string) (fs.File, error) {
	f, err := p.FS.Open(name)
	if (name == index || name == marks) && errors.Is(err, fs.ErrNotExist) {
		return p.FS.Open(placeholder)
	}
	return f, err
}
