package server

import (
	"fmt"
	"net"
	"net/http"
	"runtime/debug"
)

// pagePolicy lets a page load and reach what this server gives and nothing else.
const pagePolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// guard stands before every handler: it refuses requests that were meant for
// another machine or come from another page, and keeps a fault of one answer from
// ending the program.
func (s *Server) guard(next http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, http.StatusForbidden, fmt.Sprintf("a page from another origin (%s) may not send to this server", clip(r.Header.Get("Origin"))))
	}))
	next = origin.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", pagePolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.log.Error("answering a request failed", "path", r.URL.Path, "error", fmt.Sprint(p), "stack", string(debug.Stack()))
				s.fail(w, http.StatusInternalServerError, "the answer could not be made; the log of the daemon says why")
			}
		}()
		host := r.Host
		if name, _, err := net.SplitHostPort(host); err == nil {
			host = name
		}
		if !thisMachine(host) {
			s.fail(w, http.StatusForbidden, fmt.Sprintf("the request names the host %s; use 127.0.0.1 or localhost", clip(r.Host)))
			return
		}
		next.ServeHTTP(w, r)
	})
}

// clip keeps what a client sent from filling an answer.
func clip(text string) string {
	if len(text) > 100 {
		text = text[:100] + "…"
	}
	return fmt.Sprintf("%q", text)
}
