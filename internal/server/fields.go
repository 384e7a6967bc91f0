package server

import (
	"cmp"
	"context"
	"math"
	"net/http"
	"slices"

	"drawbar/coverage/plane"
	"drawbar/internal/boundary"
	"drawbar/internal/live"

	"github.com/paulmach/orb"
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
	for _, f := range s.c.Fields.Known() {
		area, ok := boundary.AreaM2(f.Outline)
		field := fieldJSON{Name: f.Name, AreaM2: only(area, ok), Current: current != "" && boundary.Same(f.Name, current)}
		if state != nil && !state.Snapshot.Fix.Time.IsZero() {
			field.DistanceM = distanceM(f.Outline, state)
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

// distanceM is how far the latest fix is from an outline, on a plane through the
// fix: 0 inside, nil where the outline is out of the plane's reach.
func distanceM(outline orb.MultiPolygon, state *live.State) *float64 {
	at := plane.New(state.Snapshot.Fix.LatDeg, state.Snapshot.Fix.LonDeg)
	least, inside := math.Inf(1), false
	for _, polygon := range outline {
		for _, ring := range polygon {
			var x0, y0 float64
			for i, corner := range ring {
				x, y, ok := at.Forward(corner[1], corner[0])
				if !ok {
					return nil
				}
				if i > 0 {
					least = min(least, fromSide(x0, y0, x, y))
					if (y0 > 0) != (y > 0) && x0-y0*(x-x0)/(y-y0) > 0 { // the side crosses the ray to the east
						inside = !inside
					}
				}
				x0, y0 = x, y
			}
		}
	}
	if inside {
		least = 0
	}
	return only(least, !math.IsInf(least, 0))
}

// fromSide is the distance of the origin from a side.
func fromSide(x0, y0, x1, y1 float64) float64 {
	dx, dy := x1-x0, y1-y0
	along := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		along = max(0, min(1, -(x0*dx+y0*dy)/l))
	}
	return math.Hypot(x0+along*dx, y0+along*dy)
}
