package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"

	"drawbar/internal/live"
)

// stateCache keeps the latest state as JSON, so that many readers cost as much
// as one.
type stateCache struct {
	mu    sync.Mutex
	of    *live.State
	bytes []byte
}

// stateBytes is the state as JSON; it must not be changed.
func (s *Server) stateBytes(of *live.State) ([]byte, error) {
	c := &s.state
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.of == of {
		return c.bytes, nil
	}
	v := wireState(of)
	v.Shown, v.Timezone = s.shown(of), s.c.Timezone.String()
	b, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("encode the state: %w", err)
	}
	c.of, c.bytes = of, b
	return b, nil
}

// read is the state, or nil after the answer that there is none yet.
func (s *Server) read(w http.ResponseWriter) *live.State {
	state, _ := s.c.Hub.Read()
	if state == nil {
		s.fail(w, http.StatusServiceUnavailable, "the core has not started yet; ask again in a second")
	}
	return state
}

func (s *Server) getState(w http.ResponseWriter, _ *http.Request) {
	if state := s.read(w); state != nil {
		body, err := s.stateBytes(state)
		if err != nil {
			panic(err)
		}
		s.write(w, http.StatusOK, body)
	}
}

func (s *Server) getSources(w http.ResponseWriter, _ *http.Request) {
	if state := s.read(w); state != nil {
		s.answer(w, http.StatusOK, sourcesJSON{wireSources(state.Sources)})
	}
}

func (s *Server) getAlarms(w http.ResponseWriter, _ *http.Request) {
	if state := s.read(w); state != nil {
		s.answer(w, http.StatusOK, alarmsJSON{wireAlarms(state.Alarms)})
	}
}

func (s *Server) getSessions(w http.ResponseWriter, r *http.Request) {
	out := sessionsJSON{Sessions: []sessionJSON{}}
	if s.c.Sessions != nil {
		list, err := s.c.Sessions.Sessions(r.Context())
		if err != nil {
			s.log.Warn("listing the sessions failed", "error", err)
			s.fail(w, http.StatusInternalServerError, err.Error())
			return
		}
		for _, v := range list {
			out.Sessions = append(out.Sessions, sessionJSON{Name: v.Name, Start: stamp(v.Start), End: stamp(v.End), Bytes: v.Bytes, State: string(v.State)})
		}
	}
	s.answer(w, http.StatusOK, out)
}

// silentAfter is how long the core may publish nothing; it does so every second
// even where nothing comes in.
const silentAfter = 5 * time.Second

// health tells whether the core works. An alarm is no matter of health: the
// program does its part as long as it can raise one.
func (s *Server) health(w http.ResponseWriter, _ *http.Request) {
	state, since := s.c.Hub.Read()
	bad := func(status, text string) {
		h := healthJSON{Status: status, Error: &text}
		if state != nil {
			h.AgeS = only(since.Seconds(), true)
		}
		s.answer(w, http.StatusServiceUnavailable, h)
	}
	switch {
	case s.c.Hub.Closed():
		bad("stopped", "the daemon is stopping")
	case state == nil:
		bad("starting", "the core has not started yet")
	case state.CoreErr != "":
		bad("stopped", state.CoreErr)
	case since > silentAfter:
		bad("stopped", fmt.Sprintf("the core has published nothing for %.0f s", since.Seconds()))
	default:
		s.answer(w, http.StatusOK, healthJSON{Status: "ok", AgeS: only(since.Seconds(), true)})
	}
}
