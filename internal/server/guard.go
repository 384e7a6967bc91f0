package server

import (
	"fmt"
	"net"
	"net/http"
	"runtime/debug"
)

// pagePolicy lets a page load and reach what this server gives and nothing else.
//
// The map makes images of its own (data:, blob:) and works in a worker.
const pagePolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; worker-src 'self' blob:; connect-src 'self'; manifest-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// guard stands before every handler: it refuses requests that were meant for
// another machine or come from another page, and keeps a fault of one answer from
// ending the program.
func (s *Server) guard(next http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, refuse(http.StatusForbidden, "a page from another origin (%s) may not send to this server", clip(r.Header.Get("Origin"))))
	}))
	next = origin.Handler(next)
	if s.c.Access != nil {
		next = s.c.Access.Wrap(next)
	} else {
		next = s.thisMachineAlone(next)
	}
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
				s.fail(w, refuse(http.StatusInternalServerError, "the answer could not be made; the log of the daemon says why"))
			}
		}()
		next.ServeHTTP(w, r)
	})
}

// thisMachineAlone refuses requests that name another host.
func (s *Server) thisMachineAlone(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if name, _, err := net.SplitHostPort(host); err == nil {
			host = name
		}
		if !thisMachine(host) {
			s.fail(w, refuse(http.StatusForbidden, "the request names the host %s; use 127.0.0.1 or localhost", clip(r.Host)))
			return
		}
		next.ServeHTTP(w, r)
	})
}

// clip quotes what a client sent, cut where it is long.
func clip(text string) string { return fmt.Sprintf("%q", cut(text, 100)) }
