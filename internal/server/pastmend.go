package server

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"reflect"

	"drawbar/internal/access"
	"drawbar/internal/mend"
	"drawbar/internal/store"

	"github.com/danielgtaylor/huma/v2"
)

// Mender corrects recorded sessions; mend.Mender does.
type Mender interface {
	// Correct appends one line of corrections; it returns once that is on the disk.
	Correct(session string, body []byte, by string) (number int, err error)
	// Later is what was said later about a session.
	Later(session string) ([]mend.Said, error)
	// Try begins to work out what a correction changes.
	Try(session string, body []byte) (id string, err error)
	Trial(id string) (mend.Trial, bool)
	// Join makes operations one, or takes that back.
	Join(store.Join) (number int, err error)
	Joins() ([]store.Join, error)
}

type (
	sessionInput struct {
		Session string `path:"session" maxLength:"200" doc:"Name of the session, as /api/sessions lists it."`
	}
	laterInput struct {
		Session string `path:"session" maxLength:"200" doc:"Name of the session, as /api/sessions lists it."`
		RawBody []byte `contentType:"application/json"`
	}
	undoInput struct {
		Session string `path:"session" maxLength:"200" doc:"Name of the session, as /api/sessions lists it."`
		Number  int    `path:"number" minimum:"1" doc:"Of the line that is taken back."`
		Body    undoJSON
	}
	undoJoinInput struct {
		Number int `path:"number" minimum:"1" doc:"Of the line that is taken back."`
		Body   undoJSON
	}
	trialInput struct {
		ID string `path:"id" maxLength:"40" doc:"As the answer to the preview named it."`
	}
	joinInput        struct{ Body joinJSON }
	calibrationInput struct {
		Figure  float64 `query:"figure" required:"true" minimum:"0" exclusiveMinimum:"0" doc:"Calibration figure that the controller worked with."`
		Weighed float64 `query:"weighed" required:"true" doc:"What went out, as weighed."`
		Metered float64 `query:"metered" required:"true" doc:"What went out by the controller, in the same unit."`
	}
)

func (s *Server) mendAPI(a *api) {
	s.implementAPI(a)
	const refused = "It takes back what is not there, or was taken back already, or a recorded session is being shown."
	noSession := map[int]string{http.StatusNotFound: "No session of that name was recorded."}
	typed(a, endpoint{
		method: "GET", path: "/api/work/{session}/corrections", id: "corrections", summary: "Corrections",
		text: "What was said later about a recorded session: who, when and why.", done: "The lines.", fails: noSession,
	}, s.corrections)
	rawLater(a, endpoint{
		method: "POST", path: "/api/work/{session}/corrections", id: "correct", most: maxBody, summary: "Correct a session",
		text: "Appends a correction, or the taking back of one. It is answered once it is on the disk; the figures are worked out anew behind it. Where any member is at fault nothing is written.",
		done: "It is on the disk.", fails: map[int]string{http.StatusNotFound: noSession[http.StatusNotFound], http.StatusConflict: refused, http.StatusServiceUnavailable: "It could not be written."},
	}, func(ctx context.Context, in *laterInput) (numberedJSON, error) {
		return s.append(ctx, in.Session, in.RawBody)
	})
	rawLater(a, endpoint{
		method: "POST", path: "/api/work/{session}/corrections/preview", id: "previewCorrection", most: maxBody, summary: "Try a correction",
		text: "Works out beforehand what a correction, or the taking back of one, would change. Nothing is written.",
		done: "It is being worked out.", fails: map[int]string{http.StatusNotFound: noSession[http.StatusNotFound], http.StatusConflict: refused, http.StatusServiceUnavailable: "As many trials as can be are being worked out."},
	}, s.tryLater)
	typed(a, endpoint{
		method: "POST", path: "/api/work/{session}/corrections/{number}/undo", id: "undoCorrection", most: mostBody, summary: "Take a correction back",
		text: "As another line of corrections; the figures are then as they were without it.", done: "It is on the disk.",
		fails: map[int]string{http.StatusNotFound: noSession[http.StatusNotFound], http.StatusConflict: refused, http.StatusServiceUnavailable: "It could not be written."},
	}, func(ctx context.Context, in *undoInput) (out numberedJSON, err error) {
		body, err := json.Marshal(struct {
			Undo int `json:"undo"`
			undoJSON
		}{in.Number, in.Body})
		if err != nil {
			return out, err
		}
		return s.append(ctx, in.Session, body)
	})
	typed(a, endpoint{
		method: "GET", path: "/api/previews/{id}", id: "preview", summary: "A trial of a correction", text: "How far it is, and the figures before and after.",
		done: "The trial.", fails: map[int]string{http.StatusNotFound: "There is no such trial, or it is remembered no more."},
	}, s.trial)
	typed(a, endpoint{
		method: "GET", path: "/api/joins", id: "joins", summary: "Joined operations", text: "Which operations are one, of one session or of several.", done: "The lines.",
	}, s.joins)
	typed(a, endpoint{
		method: "POST", path: "/api/joins", id: "join", most: maxBody, summary: "Join operations",
		text: "Several operations count as one, with the coverage and the overlap across them.", done: "It is on the disk.",
		fails: map[int]string{http.StatusNotFound: "A session of that name was not recorded.", http.StatusConflict: refused, http.StatusServiceUnavailable: "It could not be written."},
	}, func(ctx context.Context, in *joinInput) (numberedJSON, error) {
		j := store.Join{Why: in.Body.Why, By: in.Body.By}
		for _, o := range in.Body.Join {
			j.Join = append(j.Join, store.JoinedOperation{Session: o.Session, At: o.At})
		}
		return s.join(ctx, j)
	})
	typed(a, endpoint{
		method: "POST", path: "/api/joins/{number}/undo", id: "undoJoin", most: mostBody, summary: "Take a join back", text: "The operations are on their own again.",
		done: "It is on the disk.", fails: map[int]string{http.StatusConflict: refused, http.StatusServiceUnavailable: "It could not be written."},
	}, func(ctx context.Context, in *undoJoinInput) (numberedJSON, error) {
		return s.join(ctx, store.Join{Undo: in.Number, Why: in.Body.Why, By: in.Body.By})
	})
	typed(a, endpoint{
		method: "GET", path: "/api/calibration", id: "calibration", summary: "Calibration after a weighing",
		text: "The controller's calibration figure by what was weighed, for either way in which a controller counts.", done: "The figures.",
		fails: map[int]string{http.StatusUnprocessableEntity: "There is nothing to work it out from."},
	}, calibration)
}

// rawLater is an operation whose body is a line of corrections, read by its handler.
func rawLater[B any](a *api, e endpoint, handle func(context.Context, *laterInput) (B, error)) {
	e.unread = true
	typed(a, e, handle)
	a.huma.OpenAPI().Paths[e.path].Post.RequestBody.Content = content(a.schemaOf(reflect.TypeFor[laterLineJSON]()))
}

// TransformSchema asks for what every line has.
func (laterLineJSON) TransformSchema(_ huma.Registry, s *huma.Schema) *huma.Schema {
	s.Required = []string{"why"}
	return s
}

func noMending() error {
	return refuse(http.StatusConflict, "a recorded session is being shown: correct it where the recorder runs, or with drawbar correct")
}

// author is who sends a request, for what is kept of it.
func author(ctx context.Context) string {
	if id := access.From(ctx); id.Device != "" {
		return id.Device
	}
	return "at the recorder"
}

func (s *Server) append(ctx context.Context, session string, body []byte) (out numberedJSON, err error) {
	if s.c.Mend == nil {
		return out, noMending()
	}
	number, err := s.c.Mend.Correct(session, body, author(ctx))
	if err != nil {
		return out, s.ofMending(err)
	}
	return numberedJSON{Recorded: true, Number: number}, nil
}

func (s *Server) join(ctx context.Context, j store.Join) (out numberedJSON, err error) {
	if s.c.Mend == nil {
		return out, noMending()
	}
	if j.By == "" {
		j.By = author(ctx)
	}
	number, err := s.c.Mend.Join(j)
	if err != nil {
		return out, s.ofMending(err)
	}
	return numberedJSON{Recorded: true, Number: number}, nil
}

// ofMending is why a session was not corrected.
func (s *Server) ofMending(err error) error {
	var faults mend.Faults
	switch {
	case errors.As(err, &faults):
		r := refuse(http.StatusUnprocessableEntity, "nothing was written: the correction has faults")
		r.faults = wireFaults(faults)
		return r
	case errors.Is(err, mend.ErrNoSession):
		return refuse(http.StatusNotFound, "%v; /api/sessions lists what there is", err)
	case errors.Is(err, store.ErrRefused):
		return refuse(http.StatusConflict, "nothing was written: %v", err)
	case errors.Is(err, mend.ErrBusy):
		return refuse(http.StatusServiceUnavailable, "%v; try again when one of them is done", err)
	}
	s.log.Warn("writing a correction failed", "error", err)
	return refuse(http.StatusServiceUnavailable, "nothing was written: %v", err)
}

func (s *Server) corrections(_ context.Context, in *sessionInput) (correctionsJSON, error) {
	out := correctionsJSON{Corrections: []correctionJSON{}}
	if s.c.Mend == nil {
		return out, nil
	}
	lines, err := s.c.Mend.Later(in.Session)
	if err != nil {
		return out, s.ofMending(err)
	}
	for _, l := range lines {
		line, err := wireCorrection(l)
		if err != nil {
			return out, err
		}
		out.Corrections = append(out.Corrections, line)
	}
	return out, nil
}

func wireCorrection(l mend.Said) (correctionJSON, error) {
	out := correctionJSON{Number: l.Number, By: l.By, Undo: only(l.Undo, l.Undo > 0), UndoneBy: only(l.Undone, l.Undone > 0)}
	if l.Why != nil {
		out.Why = *l.Why
	}
	if l.Made != nil {
		out.Made = stamp(*l.Made)
	}
	if l.From != nil && l.To != nil {
		out.From, out.To = stamp(*l.From), stamp(*l.To)
	}
	stated := l.Operator
	stated.From, stated.To, stated.Why, stated.By, stated.Made = nil, nil, nil, nil, nil
	text, err := json.Marshal(stated)
	out.Line = string(text)
	return out, err
}

func (s *Server) tryLater(_ context.Context, in *laterInput) (out previewJSON, err error) {
	if s.c.Mend == nil {
		return out, noMending()
	}
	id, err := s.c.Mend.Try(in.Session, in.RawBody)
	if err != nil {
		return out, s.ofMending(err)
	}
	return previewJSON{Preview: id}, nil
}

func (s *Server) trial(_ context.Context, in *trialInput) (out trialFiguresJSON, err error) {
	if s.c.Mend != nil {
		if t, ok := s.c.Mend.Trial(in.ID); ok {
			return wireTrial(t), nil
		}
	}
	return out, refuse(http.StatusNotFound, "there is no trial %s any more; try the correction again", clip(in.ID))
}

func (s *Server) joins(context.Context, *nothing) (joinsJSON, error) {
	if s.c.Mend == nil {
		return wireJoins(nil), nil
	}
	lines, err := s.c.Mend.Joins()
	return wireJoins(lines), err
}

func calibration(_ context.Context, in *calibrationInput) (out calibrationJSON, err error) {
	w := mend.Weighing{Weighed: in.Weighed, Metered: in.Metered}
	factor, ok := w.Factor()
	perCount, perAmount, can := w.Calibration(in.Figure)
	if !ok || !can {
		return out, refuse(http.StatusUnprocessableEntity, "a calibration figure follows from a figure, an amount weighed and an amount metered, all above 0")
	}
	return calibrationJSON{Factor: factor, AmountPerCount: perCount, CountsPerAmount: perAmount}, nil
}
