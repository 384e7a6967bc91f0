package server

import (
	"bytes"
	"compress/gzip"
	"io"
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"drawbar/internal/web"
)

// Every file of the page is served by its type, packed where the client takes that,
// and kept only as long as its name says what is in it.
func TestPageFiles(t *testing.T) {
	t.Parallel()
	s := serverOf(t, Config{})
	count := 0
	err := fs.WalkDir(web.Files(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		count++
		address := "/" + name
		switch name {
		case "index.html":
			address = "/"
		case "marks.html":
			address = "/marks"
		}
		want, err := fs.ReadFile(web.Files(), name)
		if err != nil {
			return err
		}
		w := ask(s, "GET", address, "")
		h := w.Header()
		if w.Code != 200 || !bytes.Equal(w.Body.Bytes(), want) || h.Get("Content-Type") != kindOf(name) || kindOf(name) == "" || !IsPageFile(address) {
			t.Errorf("%s: got %d, %d bytes of %q", address, w.Code, w.Body.Len(), h.Get("Content-Type"))
		}
		keep := h.Get("Cache-Control")
		if hashed := strings.HasPrefix(name, "assets/"); hashed != strings.Contains(keep, "immutable") || hashed == (keep == "no-cache") {
			t.Errorf("%s: kept by %q", address, keep)
		}
		if w := ask(s, "GET", address, "", "If-None-Match", h.Get("ETag")); w.Code != 304 {
			t.Errorf("%s again: got %d, want 304", address, w.Code)
		}
		if w := ask(s, "GET", address, "", "Accept-Encoding", "gzip"); w.Header().Get("Content-Encoding") == "gzip" {
			z, err := gzip.NewReader(w.Body)
			if err != nil {
				return err
			}
			if got, err := io.ReadAll(z); err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s packed: got %d bytes, %v", address, len(got), err)
			}
		} else if strings.HasSuffix(name, ".js") || strings.HasSuffix(name, ".html") {
			t.Errorf("%s came as it is, want it packed", address)
		}
		return nil
	})
	if err != nil || count == 0 {
		t.Fatalf("%d files, %v", count, err)
	}
	for _, none := range []string{"/assets/", "/assets", "/../go.mod", "/index.htm", "/%2e%2e/go.mod", "//"} {
		if w := ask(s, "GET", none, ""); w.Code == 200 || IsPageFile(none) {
			t.Errorf("%s: got %d", none, w.Code)
		}
	}
	for _, farm := range []string{"/api/state", "/metrics", "/events", "/openapi.json", "/healthz", "/tiles/swaths/1/0/0.mvt"} {
		if IsPageFile(farm) {
			t.Errorf("%s is taken for a file of the page", farm)
		}
	}
}

// The page runs nothing inline, which the policy would stop, and what it refers to
// is there and from here.
func TestPageFitsItsPolicy(t *testing.T) {
	t.Parallel()
	s := serverOf(t, Config{})
	html := ask(s, "GET", "/", "").Body.String()
	for what, re := range map[string]string{
		"inline script": `(?i)<script(?:[^>]*)>[^<]`, "inline style": `(?i)<style|\sstyle=`, "inline handler": `(?i)\son[a-z]+=`,
	} {
		if found := regexp.MustCompile(re).FindString(html); found != "" {
			t.Errorf("%s: %q", what, found)
		}
	}
	for _, m := range regexp.MustCompile(`(?:href|src)="([^"]+)"`).FindAllStringSubmatch(html, -1) {
		if w := ask(s, "GET", m[1], ""); w.Code != 200 {
			t.Errorf("the page refers to %s: got %d", m[1], w.Code)
		}
	}
}
