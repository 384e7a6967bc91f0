package server

import (
	"encoding/json"
	"net/http"

	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// route is one address. All of them but the page's own files are described in
// openapi.json.
type route struct {
	method, path string
	handle       http.HandlerFunc
}

func (s *Server) table() []route {
	scrape := promhttp.HandlerFor(s.c.Metrics, promhttp.HandlerOpts{DisableCompression: true, MaxRequestsInFlight: 4})
	return []route{
		{"GET", "/", s.page("index.html", "text/html; charset=utf-8")},
		{"GET", "/page.js", s.page("page.js", "text/javascript; charset=utf-8")},
		{"GET", "/page.css", s.page("page.css", "text/css; charset=utf-8")},
		{"GET", "/icon.svg", s.page("icon.svg", "image/svg+xml")},
		{"GET", "/openapi.json", s.page("openapi.json", "application/json")},
		{"GET", "/metrics", scrape.ServeHTTP},
		{"GET", "/healthz", s.health},
		{"GET", "/events", s.events},
		{"GET", "/api/state", s.getState},
		{"GET", "/api/sources", s.getSources},
		{"GET", "/api/alarms", s.getAlarms},
		{"GET", "/api/sessions", s.getSessions},
		{"POST", "/api/operator", s.postOperator},
	}
}

func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	for _, r := range s.table() {
		path := r.path
		if path == "/" {
			path = "/{$}"
		}
		mux.HandleFunc(r.method+" "+path, r.handle)
		mux.HandleFunc(path, s.otherMethod(r.method))
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, http.StatusNotFound, "there is nothing at "+clip(r.URL.Path)+"; /openapi.json lists what there is")
	})
	return mux
}

// otherMethod answers a request for an address that takes only the given method.
func (s *Server) otherMethod(method string) http.HandlerFunc {
	allow := method
	if method == http.MethodGet {
		allow += ", " + http.MethodHead
	}
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Allow", allow)
		s.fail(w, http.StatusMethodNotAllowed, r.URL.Path+" takes "+allow+" alone")
	}
}

// failure is the answer to a request that could not be done.
type failure struct {
	Error  string      `json:"error"`
	Faults []faultJSON `json:"faults"` // by member, of an operator line
}

func (s *Server) fail(w http.ResponseWriter, status int, text string, faults ...faultJSON) {
	if faults == nil {
		faults = []faultJSON{}
	}
	s.answer(w, status, failure{Error: text, Faults: faults})
}

func (s *Server) answer(w http.ResponseWriter, status int, v any) {
	body, err := json.Marshal(v)
	if err != nil {
		s.log.Error("encoding an answer failed", "error", err)
		status, body = http.StatusInternalServerError, []byte(`{"error":"the answer could not be encoded; the log of the daemon says why","faults":[]}`)
	}
	s.write(w, status, body)
}

func (s *Server) write(w http.ResponseWriter, status int, body []byte) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(append(body, '\n')) // the client is gone: nobody to tell
}
