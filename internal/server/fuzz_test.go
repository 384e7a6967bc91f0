package server

import (
	"encoding/json"
	"strings"
	"testing"

	"drawbar/replay"
)

// Whatever is sent, it is answered in words and is no fault of the program.
func FuzzPosts(f *testing.F) {
	d := description(f)
	var paths []string
	for path, item := range d.doc["paths"].(map[string]any) {
		if item.(map[string]any)["post"] != nil {
			paths = append(paths, path)
		}
	}
	desk := &desk{outline: replay.Outline(square())}
	s := serverOf(f, Config{Operator: &heard{}, Fields: desk, Outline: desk, Drive: desk, Alarms: desk, Replay: desk, Arrivals: filled(f), Catalog: filledCatalog(f)})
	for _, body := range []string{
		`{}`, `null`, `[]`, `{"alarm":"tank_low","subject":null}`, `{"field":"Mill Piece"}`, `{"action":"start","edge":"antenna","offset_m":1e400}`,
		`{"line":{"kind":"delimited","separator":";","columns":[{"column":2,"field":"rate","tank":1}]}}`, `{"at":"2026-05-14T13:05:10Z","speed":8}`,
		`{"role":"viewer"}`, `{"code":"1234-5678","name":"x"}`, `{"mark":{"kind":"stone","at":"bar"}}`, `{"speed":-0}`, "\xff", `{"a":` + strings.Repeat("[", 2000),
	} {
		f.Add(body)
	}
	f.Fuzz(func(t *testing.T, body string) {
		for _, path := range paths {
			w := ask(s, "POST", strings.Replace(path, "{id}", "a", 1), body)
			switch {
			case w.Code >= 500, w.Code < 200:
				t.Errorf("%s %q: got %d %s", path, body, w.Code, w.Body)
			case !json.Valid(w.Body.Bytes()):
				t.Errorf("%s %q: got %s", path, body, w.Body)
			case w.Code >= 400:
				var v failureJSON
				if err := json.Unmarshal(w.Body.Bytes(), &v); err != nil || v.Error == "" || v.Faults == nil || w.Header().Get("Content-Type") != "application/json" {
					t.Errorf("%s %q: got %d %s", path, body, w.Code, w.Body)
				}
			}
			if d.content("POST", path, w.Code) == nil {
				t.Errorf("%s %q: the answer %d is not described", path, body, w.Code)
			}
		}
	})
}
