package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"drawbar/internal/access"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/validation"
)

// refusal is why a request could not be done: a status, what is wrong and what to
// do.
type refusal struct {
	status int
	text   string
	faults []faultJSON
	header http.Header
	whole  any // the body where there is more to tell than text and faults
}

func refuse(status int, format string, args ...any) *refusal {
	return &refusal{status: status, text: fmt.Sprintf(format, args...)}
}

func (r *refusal) Error() string           { return r.text }
func (r *refusal) GetStatus() int          { return r.status }
func (r *refusal) GetHeaders() http.Header { return r.header }

func (r *refusal) body() failureJSON {
	f := failureJSON{Error: r.text, Faults: r.faults}
	if f.Faults == nil {
		f.Faults = []faultJSON{}
	}
	return f
}

// ofAccess is the refusal that the gate gave.
func ofAccess(err error) error {
	if err == nil {
		return nil
	}
	e := access.AsError(err)
	r := refuse(e.Status, "%s", e.Text)
	r.header = http.Header{}
	e.Headers(r.header)
	return r
}

// ofCore is what became of a wish that the core did not grant.
func ofCore(status int, err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		return refuse(http.StatusServiceUnavailable, "the core did not answer in time; try again")
	}
	return refuse(status, "%v", err)
}

// words gives every answer of a failure its shape, also those that are found
// before a handler is asked.
func words(ctx huma.Context, _ string, v any) (any, error) {
	switch e := v.(type) {
	case *refusal:
		if e.whole != nil {
			return e.whole, nil
		}
		return e.body(), nil
	case *huma.ErrorModel:
		ctx.SetHeader("Content-Type", "application/json")
		return ofRequest(e).body(), nil
	}
	return v, nil
}

// ofRequest says what is wrong with a request that reached no handler.
func ofRequest(e *huma.ErrorModel) *refusal {
	r := refuse(e.Status, "%s", e.Detail)
	for _, d := range e.Errors {
		member := strings.TrimPrefix(strings.TrimPrefix(d.Location, "body"), ".")
		fault := faultJSON{Member: member, Got: shortly(d.Value), Want: strings.TrimPrefix(d.Message, "expected ")}
		if absent, ok := absentMember(d.Message); ok {
			fault = faultJSON{Member: strings.TrimPrefix(member+"."+absent, "."), Got: "nothing", Want: "a value: it cannot be left out"}
		}
		r.faults = append(r.faults, fault)
	}
	switch e.Status {
	case http.StatusBadRequest:
		r.text = "nothing was done: what was sent is not one JSON value"
	case http.StatusRequestTimeout:
		r.text = "nothing was done: what was sent did not arrive in time; send it again"
	case http.StatusRequestEntityTooLarge:
		r.text = "nothing was done: more was sent than is taken here; " + e.Detail
	case http.StatusUnprocessableEntity:
		r.text = "nothing was done: what was sent has faults"
	case http.StatusInternalServerError:
		r.text = "what was sent could not be read, or the answer could not be made; send it again"
		r.faults = nil
	}
	return r
}

// absentMember is the member that huma misses: its own fault names the object that
// lacks it.
func absentMember(message string) (string, bool) {
	before, after, ok := strings.Cut(validation.MsgExpectedRequiredProperty, "%s")
	if !ok {
		return "", false
	}
	name, ok := strings.CutPrefix(message, before)
	if !ok {
		return "", false
	}
	return strings.CutSuffix(name, after)
}

// shortly is a value that a client sent as JSON, cut where it is long.
func shortly(v any) string {
	b, err := json.Marshal(v)
	if err != nil || v == nil {
		return ""
	}
	return cut(string(b), 100)
}

// cut keeps what a client sent from filling an answer.
func cut(text string, most int) string {
	if len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:most], "") + "…"
}

// fail answers without huma.
func (s *Server) fail(w http.ResponseWriter, r *refusal) {
	s.answer(w, r.status, r.body())
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
	_, _ = w.Write(body) // the client is gone: nobody to tell
	_, _ = w.Write([]byte("\n"))
}
