package server

import (
	"embed"
	"net/http"
)

//go:embed page
var pages embed.FS

// page serves one embedded file.
func (s *Server) page(name, contentType string) http.HandlerFunc {
	body, err := pages.ReadFile("page/" + name)
	if err != nil {
		panic(err) // the files are part of the program
	}
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", contentType)
		_, _ = w.Write(body) // the client is gone: nobody to tell
	}
}
