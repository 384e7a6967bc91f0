package server

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"sync"

	"github.com/danielgtaylor/huma/v2"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// routes makes the handler of all addresses, and their description.
func (s *Server) routes() (http.Handler, error) {
	a := newAPI(s)
	if err := s.pageAPI(a); err != nil {
		return nil, err
	}
	scrape := promhttp.HandlerFor(s.c.Metrics, promhttp.HandlerOpts{DisableCompression: true, MaxRequestsInFlight: 4})
	a.plain(endpoint{
		method: "GET", path: "/metrics", id: "metrics", summary: "Metrics", text: "Prometheus text format.", done: "All metrics.",
	}, "", textContent("text/plain"), scrape.ServeHTTP)
	a.plain(endpoint{
		method: "GET", path: "/openapi.json", id: "openapi", summary: "This description", text: "OpenAPI 3.1.", done: "The description.",
	}, "", content(&huma.Schema{Type: huma.TypeObject}), s.describes)
	s.eventsAPI(a)
	s.stateAPI(a)
	s.tilesAPI(a)
	s.operatorAPI(a)
	s.fieldsAPI(a)
	s.dayAPI(a)
	s.outlineAPI(a)
	s.arrivalsAPI(a)
	s.replayAPI(a)
	s.marksAPI(a)
	s.accessAPI(a)
	s.pastAPI(a)
	s.recordsAPI(a)
	s.catalogAPI(a)
	s.mendAPI(a)
	a.describe()
	s.description = sync.OnceValues(a.text) // few ask for it, and it takes as long as all else here
	a.otherwise()
	return a.mux, nil
}

func (s *Server) describes(w http.ResponseWriter, r *http.Request) {
	text, err := s.description()
	if err != nil {
		s.fail(w, s.told("/openapi.json", err).(*refusal))
		return
	}
	w.Header().Set("Content-Type", "application/json")
	s.packed(w, r, text)
}

// digest tells what is in a text.
func digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:12])
}
