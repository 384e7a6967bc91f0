package server

import (
	"compress/gzip"
	"errors"
	"io"
	"net/http"
	"strconv"
	"strings"

	"drawbar/internal/tiles"

	"github.com/danielgtaylor/huma/v2"
)

// Least bytes of a tile that are worth packing.
const leastPacked = 256

func (s *Server) tilesAPI(a *api) {
	param := func(name, in, text string, schema *huma.Schema) *huma.Param {
		return &huma.Param{Name: name, In: in, Required: in == "path", Description: text, Schema: schema}
	}
	whole := func(least, most float64) *huma.Schema {
		v := &huma.Schema{Type: huma.TypeInteger, Minimum: &least}
		if most > 0 {
			v.Maximum = &most
		}
		return v
	}
	a.plain(endpoint{
		method: "GET", path: "/tiles/{layer}/{z}/{x}/{y}.mvt", id: "tile", summary: "A map tile",
		text: "One layer of the work as a vector tile (Mapbox Vector Tile 2.1), in the Web Mercator tiling of the world. It is to be asked for anew, with its ETag, whenever the revision in the state has grown.",
		done: "The tile.", fails: map[int]string{
			http.StatusNotFound: "There is no such layer, tile or operation, or there is no map.",
		},
	}, "/tiles/{layer}/{z}/{x}/{y}", map[string]*huma.MediaType{mvtType: {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}}, s.tile,
		param("layer", "path", "What it shows.", &huma.Schema{Type: huma.TypeString, Enum: []any{"swaths", "covered", "overlap", "skips", "marks", "boundary"}}),
		param("z", "path", "Zoom.", whole(0, 22)), param("x", "path", "Column, from the west.", whole(0, 0)), param("y", "path", "Row, from the north.", whole(0, 0)),
		param("operation", "query", "Number of the operation; left out: the one in hand.", whole(1, 0)),
		param("v", "query", "Ignored: makes an address that no cache knows.", &huma.Schema{Type: huma.TypeString}),
	)
	responses := a.huma.OpenAPI().Paths["/tiles/{layer}/{z}/{x}/{y}.mvt"].Get.Responses
	delete(responses, "422") // what is no number names no tile
	responses["204"] = &huma.Response{Description: "The tile is empty."}
	responses["304"] = &huma.Response{Description: "It is still as the ETag says."}
}

const mvtType = "application/vnd.mapbox-vector-tile"

func (s *Server) tile(w http.ResponseWriter, r *http.Request) {
	if s.c.Tiles == nil {
		s.fail(w, refuse(http.StatusNotFound, "there is no map"))
		return
	}
	q, ok := tileRequest(r)
	if !ok {
		s.fail(w, refuse(http.StatusNotFound, "there is no tile %s; want /tiles/LAYER/Z/X/Y.mvt, with operation=NUMBER for another one than that in hand", clip(r.URL.Path)))
		return
	}
	t, err := s.c.Tiles.Tile(r.Context(), q)
	switch {
	case r.Context().Err() != nil:
		return // the client is gone
	case errors.Is(err, tiles.ErrNoLayer), errors.Is(err, tiles.ErrNoTile), errors.Is(err, tiles.ErrNoOperation):
		s.fail(w, refuse(http.StatusNotFound, "%v", err))
		return
	case err != nil:
		s.fail(w, s.told(r.URL.Path, err).(*refusal))
		return
	}
	h := w.Header()
	tag := "W/" + t.ETag // packed or not
	h.Set("ETag", tag)
	h.Set("Cache-Control", "no-cache")
	h.Set("Vary", "Accept-Encoding")
	switch {
	case tagged(r, tag):
		w.WriteHeader(http.StatusNotModified)
	case len(t.Data) == 0:
		w.WriteHeader(http.StatusNoContent)
	default:
		h.Set("Content-Type", mvtType)
		s.packed(w, r, t.Data)
	}
}

// packed writes a body, packed where the client takes that and it is worth it.
func (s *Server) packed(w http.ResponseWriter, r *http.Request, body []byte) {
	if len(body) < leastPacked || !takes(r, "gzip") {
		w.Header().Set("Content-Length", strconv.Itoa(len(body)))
		_, _ = w.Write(body) // the client is gone: nobody to tell
		return
	}
	w.Header().Set("Content-Encoding", "gzip")
	z := s.packers.Get().(*gzip.Writer)
	defer s.packers.Put(z)
	z.Reset(w)
	_, _ = z.Write(body)
	_ = z.Close()
}

func newPacker() any {
	z, _ := gzip.NewWriterLevel(io.Discard, gzip.BestSpeed) // the level is one there is
	return z
}

func tileRequest(r *http.Request) (q tiles.Request, ok bool) {
	y, mvt := strings.CutSuffix(r.PathValue("y"), ".mvt")
	number := func(text string) uint32 {
		v, err := strconv.ParseUint(text, 10, 32)
		mvt = mvt && err == nil
		return uint32(v)
	}
	q = tiles.Request{Layer: r.PathValue("layer"), Z: number(r.PathValue("z")), X: number(r.PathValue("x")), Y: number(y)}
	if text := r.URL.Query().Get("operation"); text != "" {
		v := number(text)
		mvt = mvt && v > 0 && v < 1<<31
		q.Operation = int(v)
	}
	return q, mvt
}

// tagged tells whether the client has what the tag stands for (RFC 9110, section
// 13.1.2, by the weak comparison of section 8.8.3.2).
func tagged(r *http.Request, tag string) bool {
	for _, v := range strings.Split(r.Header.Get("If-None-Match"), ",") {
		if v = strings.TrimSpace(v); v == "*" || strings.TrimPrefix(v, "W/") == strings.TrimPrefix(tag, "W/") {
			return true
		}
	}
	return false
}

// takes tells whether the client takes a coding (RFC 9110, section 12.5.3).
func takes(r *http.Request, coding string) bool {
	any := false
	for _, v := range strings.Split(r.Header.Get("Accept-Encoding"), ",") {
		name, rest, _ := strings.Cut(strings.TrimSpace(v), ";")
		weight := 1.0
		if q, ok := strings.CutPrefix(strings.TrimSpace(rest), "q="); ok {
			weight, _ = strconv.ParseFloat(strings.TrimSpace(q), 64)
		}
		switch name = strings.TrimSpace(name); {
		case strings.EqualFold(name, coding):
			return weight > 0
		case name == "*":
			any = weight > 0
		}
	}
	return any
}
