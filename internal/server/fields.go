package server

import (
	"cmp"
	"context"
	"math"
	"net/http"
	"slices"

	"drawbar/internal/boundary"
)

func (s *Server) fieldsAPI(a *api) {
	typed(a, endpoint{
		method: "GET", path: "/api/fields", id: "fields", summary: "Fields",
		text: "The fields that the machine may come to, the nearest first.", done: "The fields.",
	}, s.fields)
	fails := map[int]string{
		http.StatusNotFound: "No field of that name is known.", http.StatusConflict: "A recorded session is being shown.",
		http.StatusServiceUnavailable: "It could not be recorded, or the core did not answer in time.",
	}
	typed(a, endpoint{
		method: "POST", path: "/api/fields/accept", id: "acceptField", most: mostBody, summary: "Move the work to a field",
		text: "The field and its boundary are stated for the work from now on.", done: "It was recorded.", fails: fails,
	}, func(ctx context.Context, in *fieldInput) (doneJSON, error) {
		return s.onField(ctx, in.Body.Field, func(ctx context.Context, name string) error { return s.c.Fields.Accept(ctx, name) })
	})
	typed(a, endpoint{
		method: "POST", path: "/api/fields/decline", id: "declineField", most: mostBody, summary: "Decline a field that is offered",
		text: "It is not offered again until the machine has left it.", done: "It is offered no more.", fails: fails,
	}, func(ctx context.Context, in *fieldInput) (doneJSON, error) {
		return s.onField(ctx, in.Body.Field, func(ctx context.Context, name string) error { return s.c.Fields.Decline(ctx, name) })
	})
}

type fieldInput struct{ Body fieldNameJSON }

func (s *Server) onField(ctx context.Context, name string, do func(context.Context, string) error) (out doneJSON, err error) {
	if s.c.Fields == nil {
		return out, refuse(http.StatusConflict, "a recorded session is being shown: its field cannot be changed here; add a correction to the session instead")
	}
	if !slices.ContainsFunc(s.c.Fields.Known(), func(f boundary.Field) bool { return f.Name == name }) {
		return out, refuse(http.StatusNotFound, "no field %s is known; /api/fields lists those that are: set others up under fields in the configuration", clip(name))
	}
	ctx, cancel := context.WithTimeout(ctx, sayTimeout)
	defer cancel()
	if err := do(ctx, name); err != nil {
		return out, ofCore(http.StatusServiceUnavailable, err)
	}
	return doneJSON{Done: true}, nil
}

func (s *Server) fields(context.Context, *nothing) (fieldsJSON, error) {
	out := fieldsJSON{Fields: []fieldJSON{}, File: some(s.c.FieldsFile)}
	if s.c.Fields == nil {
		return out, nil
	}
	state, _ := s.c.Hub.Read()
	current := ""
	if state != nil && state.Snapshot.Work.Operation != nil {
		current = state.Snapshot.Work.Operation.Field
	}
	known := s.c.Fields.Known()
	land := s.land.of(known)
	for i, f := range known {
		field := fieldJSON{Name: f.Name, AreaM2: land[i].areaM2, Current: current != "" && boundary.Same(f.Name, current)}
		if state != nil && !state.Snapshot.Fix.Time.IsZero() {
			field.DistanceM = land[i].distanceM(state.Snapshot.Fix.LatDeg, state.Snapshot.Fix.LonDeg)
		}
		out.Fields = append(out.Fields, field)
	}
	slices.SortStableFunc(out.Fields, func(a, b fieldJSON) int {
		far := func(f fieldJSON) float64 {
			if f.DistanceM == nil {
				return math.Inf(1)
			}
			return *f.DistanceM
		}
		return cmp.Or(cmp.Compare(far(a), far(b)), cmp.Compare(a.Name, b.Name))
	})
	return out, nil
}
