package server

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"strings"
	"testing"

	"drawbar/internal/tiles"
)

func TestTile(t *testing.T) {
	t.Parallel()
	data := bytes.Repeat([]byte("vector tile "), 100)
	d := &drawer{tile: tiles.Tile{Data: data, ETag: `"abc"`, Revision: 7}}
	s := serverOf(t, Config{Tiles: d})
	w := ask(s, "GET", "/tiles/overlap/16/32750/21000.mvt?operation=2&v=9", "")
	if want := (tiles.Request{Layer: "overlap", Z: 16, X: 32750, Y: 21000, Operation: 2}); d.got != want {
		t.Errorf("asked for %+v, want %+v", d.got, want)
	}
	h := w.Header()
	if w.Code != 200 || !bytes.Equal(w.Body.Bytes(), data) || h.Get("Content-Type") != "application/vnd.mapbox-vector-tile" ||
		h.Get("Cache-Control") != "no-cache" || h.Get("Vary") != "Accept-Encoding" || h.Get("Content-Encoding") != "" {
		t.Errorf("got %d with %v", w.Code, h)
	}
	w = ask(s, "GET", "/tiles/overlap/16/32750/21000.mvt", "", "Accept-Encoding", "br, gzip;q=0.8")
	z, err := gzip.NewReader(w.Body)
	if err != nil || w.Header().Get("Content-Encoding") != "gzip" || w.Header().Get("ETag") != h.Get("ETag") {
		t.Fatalf("packed: got %v with %v", err, w.Header())
	}
	if got, err := io.ReadAll(z); err != nil || !bytes.Equal(got, data) {
		t.Errorf("packed: got %d bytes, %v", len(got), err)
	}
	for _, refused := range []string{"", "br", "gzip;q=0", "identity, *;q=0"} {
		if w := ask(s, "GET", "/tiles/overlap/16/32750/21000.mvt", "", "Accept-Encoding", refused); w.Header().Get("Content-Encoding") != "" {
			t.Errorf("%q: the tile came packed", refused)
		}
	}
	for tag, want := range map[string]int{`W/"abc"`: 304, `"x", W/"abc"`: 304, `"abc"`: 304, `*`: 304, `"ab"`: 200, ``: 200} {
		w := ask(s, "GET", "/tiles/overlap/16/32750/21000.mvt", "", "If-None-Match", tag)
		if w.Code != want || want == 304 && (w.Body.Len() > 0 || w.Header().Get("ETag") != `W/"abc"`) {
			t.Errorf("If-None-Match %s: got %d with %d bytes, want %d", tag, w.Code, w.Body.Len(), want)
		}
	}
	d.tile = tiles.Tile{ETag: `"none"`}
	if w := ask(s, "GET", "/tiles/overlap/16/32750/21000.mvt", ""); w.Code != 204 || w.Body.Len() > 0 {
		t.Errorf("an empty tile: got %d with %q, want 204", w.Code, w.Body)
	}
	d.err = errors.New("the plane is lost")
	if w := ask(s, "GET", "/tiles/overlap/16/32750/21000.mvt", ""); w.Code != 500 || w.Header().Get("ETag") != "" {
		t.Errorf("a fault of the program: got %d with %v", w.Code, w.Header())
	}
}

// What there is not is told in words, by the maker itself.
func TestNoTile(t *testing.T) {
	t.Parallel()
	s := serverOf(t, Config{Tiles: tiles.NewMaker()})
	for path, want := range map[string]string{
		"/tiles/clouds/1/0/0.mvt": "no such layer", "/tiles/swaths/23/0/0.mvt": "no such tile", "/tiles/swaths/1/2/0.mvt": "no such tile",
		"/tiles/swaths/1/0/0.mvt?operation=7": "no such operation", "/tiles/swaths/1/0/0.mvt?operation=0": "want /tiles/LAYER",
		"/tiles/swaths/1/0/0.mvt?operation=-1": "want /tiles/LAYER", "/tiles/swaths/1/0/0": "want /tiles/LAYER", "/tiles/swaths/a/0/0.mvt": "want /tiles/LAYER",
		"/tiles/swaths/1/0/4294967296.mvt": "want /tiles/LAYER", "/tiles/swaths/1/0/0.mvt.mvt": "want /tiles/LAYER", "/tiles/swaths/1/0": "nothing at",
	} {
		if w := ask(s, "GET", path, ""); w.Code != 404 || !strings.Contains(w.Body.String(), want) {
			t.Errorf("%s: got %d %s, want 404 with %q", path, w.Code, w.Body, want)
		}
	}
	if w := ask(s, "GET", "/tiles/swaths/1/0/0.mvt", ""); w.Code != 204 {
		t.Errorf("before anything was worked: got %d, want 204", w.Code)
	}
}
