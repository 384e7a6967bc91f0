package server

import (
	"context"
	"encoding/json"
	"net/http"
	"reflect"
	"slices"

	"drawbar/internal/arrivals"
)

func (s *Server) arrivalsAPI(a *api) {
	typed(a, endpoint{
		method: "GET", path: "/api/arrivals", id: "arrivals", summary: "What arrives",
		text: "The lines of the ports as they came, what was made of them and what is wrong with them.", done: "What arrived in the last minute.",
		fails: map[int]string{http.StatusServiceUnavailable: "The core has not started yet."},
	}, s.arrivals)
	raw(a, endpoint{
		method: "POST", path: "/api/arrivals/try", id: "tryProfile", most: 64 << 10, summary: "Try a line profile",
		text: "Reads the controller's lines of the last minute by it. Nothing of the session changes.", done: "What it makes of the lines.",
		fails: map[int]string{http.StatusConflict: "A recorded session is being shown."},
	}, reflect.TypeFor[tryJSON](), s.try)
}

func (s *Server) arrivals(context.Context, *nothing) (out arrivalsJSON, err error) {
	out.Sources = []arrivedJSON{}
	state, err := s.read()
	if err != nil || s.c.Arrivals == nil {
		return out, err
	}
	for _, v := range s.c.Arrivals.Sources(state.Now, state.Sources) {
		out.Sources = append(out.Sources, arrivedJSON{
			Name: v.Name, Stream: v.Stream, Address: v.Address, Up: v.Up, RateHz: v.RateHz, AgeS: v.AgeS,
			Words: listed(v.Words), Trouble: listed(v.Trouble), Lines: wireLines(v.Lines),
		})
	}
	return out, nil
}

func wireLines(lines []arrivals.Line) []lineJSON {
	out := make([]lineJSON, 0, len(lines))
	for _, l := range lines {
		out = append(out, lineJSON{Time: stamp(l.Time), Text: l.Text, Decoded: l.Decoded, OK: l.OK, Reason: some(l.Reason)})
	}
	return out
}

func (s *Server) try(_ context.Context, body []byte) (out trialJSON, err error) {
	if s.c.Arrivals == nil {
		return out, refuse(http.StatusConflict, "a recorded session is being shown: no lines arrive to try a profile on")
	}
	var sent map[string]json.RawMessage
	if json.Unmarshal(body, &sent) != nil || sent["line"] == nil || len(sent) > 1 {
		r := refuse(http.StatusUnprocessableEntity, "nothing was tried: what was sent has faults")
		r.faults = []faultJSON{{Member: "line", Got: cut(string(body), 100), Want: `{"line": …} with the line profile alone, as controller.line of the configuration`}}
		return out, r
	}
	t := s.c.Arrivals.Try(slices.Clone(sent["line"]))
	return trialJSON{Lines: wireLines(t.Lines), Reports: t.Reports, Rejected: t.Rejected, Faults: wireFaults(t.Faults), YAML: t.YAML}, nil
}
