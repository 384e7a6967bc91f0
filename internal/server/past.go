package server

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strings"

	"github.com/danielgtaylor/huma/v2"
)

// Past shows recorded sessions beside the live run.
type Past interface {
	// Has tells whether the session can be shown. The error says why it cannot: it
	// wraps ErrNoSession or ErrBusySession.
	Has(ctx context.Context, session string) error
	// Show opens a session, unless it is open, and gives what answers for it. release
	// must be called once the answer was given. The error wraps one of those of Has, or
	// ErrManySessions.
	Show(ctx context.Context, session string) (handler http.Handler, release func(), err error)
}

// Why a recorded session is not shown.
var (
	ErrNoSession    = errors.New("no session of that name was recorded")
	ErrBusySession  = errors.New("the session is still being recorded")
	ErrManySessions = errors.New("as many recorded sessions as can be are being looked at")
)

func (s *Server) pastAPI(a *api) {
	session := &huma.Param{Name: "session", In: "path", Required: true, Description: "Name of the session, as /api/sessions lists it.", Schema: &huma.Schema{Type: huma.TypeString}}
	fails := map[int]string{
		http.StatusNotFound: "No session of that name was recorded.", http.StatusConflict: "It is being recorded: the page of the run shows it.",
		http.StatusServiceUnavailable: "As many recorded sessions as can be are being looked at.",
	}
	a.plain(endpoint{
		method: "GET", path: "/past/{session}/", id: "past", summary: "A recorded session", done: "The page.", fails: fails,
		text: "The page on a recorded session. Below this path are the addresses that a recorded session answers, as /past/SESSION/api/state, /past/SESSION/events, /past/SESSION/tiles/… and /past/SESSION/api/replay, which steers it. It opens at its end, and is closed when nobody has looked at it for a while.",
	}, "/past/{session}/{$}", textContent("text/html"), s.pastPage, session)
	// whatever is below goes to the session's own server, with its method
	a.mux.HandleFunc("/past/{session}/{rest...}", s.past)
	a.mux.HandleFunc("GET /past/{session}", func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, "/past/"+url.PathEscape(r.PathValue("session"))+"/", http.StatusFound)
	})
}

// pastPage is the page, which then asks for the session.
func (s *Server) pastPage(w http.ResponseWriter, r *http.Request) {
	err := ErrNoSession
	if s.c.Past != nil {
		err = s.c.Past.Has(r.Context(), r.PathValue("session"))
	}
	if err != nil {
		s.fail(w, s.ofPast(r, err))
		return
	}
	s.index(w, r)
}

// past passes a request on to the server of the session.
func (s *Server) past(w http.ResponseWriter, r *http.Request) {
	session, rest := r.PathValue("session"), r.PathValue("rest")
	switch {
	case s.c.Past == nil:
		s.fail(w, s.ofPast(r, ErrNoSession))
		return
	case strings.HasPrefix(rest, "api/access"), strings.HasPrefix(rest, "past/"):
		s.fail(w, refuse(http.StatusNotFound, "there is nothing at %s; ask at /%s", clip(r.URL.Path), cut(rest, 100)))
		return
	}
	handler, release, err := s.c.Past.Show(r.Context(), session)
	if err != nil {
		s.fail(w, s.ofPast(r, err))
		return
	}
	defer release()
	on := new(http.Request)
	*on = *r
	on.URL = new(url.URL)
	*on.URL = *r.URL
	on.URL.Path, on.URL.RawPath = "/"+rest, ""
	handler.ServeHTTP(w, on)
}

// ofPast says why a session is not shown.
func (s *Server) ofPast(r *http.Request, err error) *refusal {
	name := clip(r.PathValue("session"))
	switch {
	case errors.Is(err, ErrNoSession):
		return refuse(http.StatusNotFound, "no session %s was recorded; /api/sessions lists what there is", name)
	case errors.Is(err, ErrBusySession):
		return refuse(http.StatusConflict, "session %s is being recorded: the page at / shows it", name)
	case errors.Is(err, ErrManySessions):
		return refuse(http.StatusServiceUnavailable, "as many recorded sessions as can be are being looked at; close the page of one of them and try again")
	case r.Context().Err() != nil:
		return refuse(http.StatusServiceUnavailable, "the session was not opened in time; try again")
	}
	return s.told("/past/{session}/", err).(*refusal)
}
