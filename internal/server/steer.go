package server

import (
	"context"
	"net/http"
	"time"
)

func (s *Server) replayAPI(a *api) {
	typed(a, endpoint{
		method: "POST", path: "/api/replay", id: "replay", most: mostBody, summary: "Steer the replay",
		text: "How the recorded session that is being shown goes on.", done: "It goes on so.",
		fails: map[int]string{
			http.StatusConflict:           "A live run, or the replay has ended.",
			http.StatusServiceUnavailable: "The replay did not answer in time.",
		},
	}, s.steer)
}

type steerInput struct{ Body steerJSON }

func (s *Server) steer(ctx context.Context, in *steerInput) (out doneJSON, err error) {
	if s.c.Replay == nil {
		return out, refuse(http.StatusConflict, "this is a live run: only the replay of a recorded session can be steered")
	}
	var at *time.Time
	if in.Body.At != nil {
		t, err := time.Parse(time.RFC3339, *in.Body.At)
		if err != nil {
			r := refuse(http.StatusUnprocessableEntity, "nothing was done: what was sent has faults")
			r.faults = []faultJSON{{Member: "at", Got: cut(*in.Body.At, 100), Want: "a time such as 2026-05-14T13:05:10Z"}}
			return out, r
		}
		at = &t
	}
	ctx, cancel := context.WithTimeout(ctx, sayTimeout)
	defer cancel()
	if err := s.c.Replay.Steer(ctx, at, in.Body.Speed, in.Body.Playing); err != nil {
		return out, ofCore(http.StatusConflict, err)
	}
	return doneJSON{Done: true}, nil
}
