package server

import (
	"context"
	"encoding/json"
	"net/http"

	"drawbar/replay/statement"
)

type implementOfJSON struct {
	_         struct{} `doc:"The implement that did a recorded operation."`
	Implement anyJSON  `json:"implement" doc:"As a correction states it, whole; empty where none is known."`
}

// implementAPI tells what a correction of a width begins with: an implement is stated as
// a whole.
func (s *Server) implementAPI(a *api) {
	typed(a, endpoint{
		method: "GET", path: "/api/work/{session}/{operation}/implement", id: "workImplement", summary: "Implement of a recorded operation",
		text: "That worked last in it, in the form in which a correction states one.", done: "The implement.",
		fails: map[int]string{http.StatusNotFound: "No such session or operation.", http.StatusServiceUnavailable: "No recorded work is known here."},
	}, func(_ context.Context, in *workOperationInput) (out implementOfJSON, err error) {
		o, err := s.operationOf(in)
		if err != nil {
			return out, err
		}
		out.Implement = anyJSON{}
		if len(o.Implement.SectionsM) == 0 {
			return out, nil
		}
		text, err := json.Marshal(statement.EncodeImplement(o.Implement))
		if err != nil {
			return out, err
		}
		return out, json.Unmarshal(text, &out.Implement)
	})
}
