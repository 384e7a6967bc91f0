package server

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"

	"drawbar/internal/web"
)

// kindOf is the type of a file of the page, by its ending; empty: not known.
func kindOf(name string) string {
	switch path.Ext(name) {
	case ".html":
		return "text/html; charset=utf-8"
	case ".js", ".mjs":
		return "text/javascript; charset=utf-8"
	case ".css":
		return "text/css; charset=utf-8"
	case ".json":
		return "application/json"
	case ".webmanifest":
		return "application/manifest+json"
	case ".svg":
		return "image/svg+xml"
	case ".png":
		return "image/png"
	case ".ico":
		return "image/vnd.microsoft.icon"
	case ".woff2":
		return "font/woff2"
	case ".wasm":
		return "application/wasm"
	case ".pbf":
		return "application/x-protobuf"
	case ".txt":
		return "text/plain; charset=utf-8"
	}
	return ""
}

// IsPageFile tells whether an address is a file of the page, which holds nothing of
// the farm.
func IsPageFile(address string) bool {
	name := fileOf(address)
	info, err := fs.Stat(web.Files(), name)
	return err == nil && info.Mode().IsRegular() && kindOf(name) != ""
}

func fileOf(address string) string {
	switch address {
	case "/":
		return "index.html"
	case "/marks":
		return "marks.html"
	}
	return strings.TrimPrefix(address, "/")
}

// file is one of the page.
type file struct {
	body   []byte
	kind   string
	tag    func() string
	cache  string
	packed func() []byte // nil where that is not worth it
}

// pageAPI serves the files of the page.
func (s *Server) pageAPI(a *api) error {
	files := web.Files()
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		return s.serveFile(a, files, name)
	})
	if err != nil {
		return fmt.Errorf("read the page: %w", err)
	}
	for path, name := range map[string]string{"/{$}": "index.html", "/marks": "marks.html"} {
		if a.methods[path] == nil { // not built: the placeholder stands in
			if err := s.serveFile(a, files, name); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *Server) serveFile(a *api, files fs.FS, name string) error {
	body, err := fs.ReadFile(files, name)
	if err != nil {
		return err
	}
	f := file{body: body, kind: kindOf(name), tag: sync.OnceValue(func() string { return fmt.Sprintf("W/%q", digest(body)) }), cache: "no-cache"}
	if f.kind == "" {
		return nil
	}
	if strings.HasPrefix(name, "assets/") { // a hash of what is in it is in its name
		f.cache = "public, max-age=31536000, immutable"
	}
	switch path.Ext(name) {
	case ".png", ".ico", ".woff2":
	default:
		f.packed = sync.OnceValue(func() []byte { return pack(body) })
	}
	e := endpoint{method: "GET", path: "/" + name}
	if name == "marks.html" {
		a.plain(endpoint{
			method: "GET", path: "/marks", id: "marksPage", summary: "The page of marks", text: "For a second person's phone: marks by distance, ticked off.", done: "The page.",
		}, "", textContent("text/html"), s.fileHandler(f))
		return nil
	}
	if name == "index.html" {
		s.index = s.fileHandler(f)
		a.plain(endpoint{
			method: "GET", path: "/", id: "page", summary: "The page", text: "The screen for people; its files lie beside it.", done: "The page.",
		}, "/{$}", textContent("text/html"), s.index)
		return nil
	}
	a.mux.HandleFunc("GET "+e.path, s.fileHandler(f))
	a.took(e.method, e.path)
	return nil
}

func (s *Server) fileHandler(f file) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		tag := f.tag()
		h.Set("ETag", tag)
		h.Set("Cache-Control", f.cache)
		h.Set("Vary", "Accept-Encoding")
		if tagged(r, tag) {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		h.Set("Content-Type", f.kind)
		body := f.body
		if f.packed != nil && takes(r, "gzip") {
			h.Set("Content-Encoding", "gzip")
			body = f.packed()
		}
		h.Set("Content-Length", fmt.Sprint(len(body)))
		_, _ = w.Write(body) // the client is gone: nobody to tell
	}
}

func pack(body []byte) []byte {
	var b bytes.Buffer
	z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression) // the level is one there is
	_, _ = z.Write(body)
	_ = z.Close()
	return b.Bytes()
}
