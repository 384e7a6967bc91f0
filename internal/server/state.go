package server

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"
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
	v := s.wireState(of)
	b, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("encode the state: %w", err)
	}
	c.of, c.bytes = of, b
	return b, nil
}

// read is the state.
func (s *Server) read() (*live.State, error) {
	state, _ := s.c.Hub.Read()
	if state == nil {
		return nil, refuse(http.StatusServiceUnavailable, "the core has not started yet; ask again in a second")
	}
	return state, nil
}

type nothing struct{}

func (s *Server) stateAPI(a *api) {
	notYet := map[int]string{http.StatusServiceUnavailable: "The core has not started yet."}
	a.plain(endpoint{
		method: "GET", path: "/api/state", id: "state", summary: "State", text: "Everything that is known now.", done: "The state.", fails: notYet,
	}, "", content(a.schemaOf(reflect.TypeFor[stateJSON]())), s.getState)
	typed(a, endpoint{
		method: "GET", path: "/api/sources", id: "sources", summary: "Sources", text: "The input ports.", done: "The sources.", fails: notYet,
	}, func(context.Context, *nothing) (out sourcesJSON, err error) {
		state, err := s.read()
		if err != nil {
			return out, err
		}
		return sourcesJSON{Sources: wireSources(state.Sources)}, nil
	})
	typed(a, endpoint{
		method: "GET", path: "/api/alarms", id: "alarms", summary: "Alarms", text: "The alarms that stand.", done: "The alarms.", fails: notYet,
	}, func(context.Context, *nothing) (out alarmsJSON, err error) {
		state, err := s.read()
		if err != nil {
			return out, err
		}
		return alarmsJSON{Alarms: wireAlarms(state.Alarms)}, nil
	})
	typed(a, endpoint{
		method: "POST", path: "/api/alarms/seen", id: "seen", most: mostBody,
		summary: "Acknowledge an alarm", text: "It stands as before, and is known to have been seen until it is over.", done: "It is seen.",
		fails: map[int]string{
			http.StatusNotFound: "No such alarm stands.", http.StatusConflict: "A recorded session is being shown.",
			http.StatusServiceUnavailable: "The core did not answer in time.",
		},
	}, s.seen)
	typed(a, endpoint{
		method: "GET", path: "/api/sessions", id: "sessions", summary: "Sessions", text: "What was recorded, the latest first.", done: "The sessions.",
		fails: map[int]string{http.StatusInternalServerError: "The folder of sessions cannot be read, or there is a fault of the program."},
	}, s.sessions)
	a.plain(endpoint{
		method: "GET", path: "/healthz", id: "health", summary: "Health", done: "The core works.",
		text:  "Answers as long as the program runs. An alarm is no matter of health.",
		fails: map[int]string{http.StatusServiceUnavailable: "The core has not started or has stopped."},
	}, "", content(a.schemaOf(reflect.TypeFor[healthJSON]())), s.health)
	health := a.huma.OpenAPI().Paths["/healthz"].Get.Responses
	health["503"].Content = health["200"].Content
}

func (s *Server) getState(w http.ResponseWriter, _ *http.Request) {
	state, _ := s.c.Hub.Read()
	if state == nil {
		s.fail(w, refuse(http.StatusServiceUnavailable, "the core has not started yet; ask again in a second"))
		return
	}
	body, err := s.stateBytes(state)
	if err != nil {
		panic(err)
	}
	s.write(w, http.StatusOK, body)
}

type seenInput struct{ Body seenJSON }

func (s *Server) seen(ctx context.Context, in *seenInput) (out doneJSON, err error) {
	if s.c.Alarms == nil {
		return out, refuse(http.StatusConflict, "a recorded session is being shown: its alarms cannot be acknowledged")
	}
	kind, known := live.ParseAlarm(in.Body.Alarm)
	subject := ""
	if in.Body.Subject != nil {
		subject = *in.Body.Subject
	}
	if known {
		ctx, cancel := context.WithTimeout(ctx, sayTimeout)
		defer cancel()
		ok, err := s.c.Alarms.Acknowledge(ctx, kind, subject)
		if err != nil {
			return out, ofCore(http.StatusServiceUnavailable, err)
		}
		if ok {
			return doneJSON{Done: true}, nil
		}
	}
	return out, refuse(http.StatusNotFound, "no alarm %s stands for %s; it may be over: /api/alarms lists those that stand", clip(in.Body.Alarm), clip(subject))
}

func (s *Server) sessions(ctx context.Context, _ *nothing) (sessionsJSON, error) {
	out := sessionsJSON{Sessions: []sessionJSON{}}
	if s.c.Sessions == nil {
		return out, nil
	}
	list, err := s.c.Sessions.Sessions(ctx)
	if err != nil {
		return out, err
	}
	for _, v := range list {
		out.Sessions = append(out.Sessions, sessionJSON{Name: v.Name, Start: stamp(v.Start), End: stamp(v.End), Bytes: v.Bytes, State: string(v.State)})
	}
	return out, nil
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
