package server

import (
	"context"
	"fmt"
	"net/http"

	"drawbar/coverage"
	"drawbar/internal/boundary"
	"drawbar/replay"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

func (s *Server) outlineAPI(a *api) {
	busy := map[int]string{http.StatusServiceUnavailable: "The core did not answer in time."}
	typed(a, endpoint{
		method: "GET", path: "/api/boundary/work", id: "outlineOfWork", summary: "Outline of the work",
		text: "The outline of the ground worked so far. State it as the boundary to accept it.", done: "The outline, or why there is none.", fails: busy,
	}, s.outlineOfWork)
	typed(a, endpoint{
		method: "GET", path: "/api/boundary/drive", id: "drive", summary: "The boundary that is driven",
		text: "How it stands.", done: "The boundary.", fails: busy,
	}, func(ctx context.Context, _ *nothing) (driveJSON, error) { return s.drive(ctx) })
	typed(a, endpoint{
		method: "POST", path: "/api/boundary/drive", id: "driveBoundary", most: mostBody, summary: "Drive a boundary",
		text: "start follows the machine, stop keeps the outline, cancel forgets it. State the outline as the boundary to accept it.", done: "How it stands then.",
		fails: map[int]string{
			http.StatusConflict:           "It cannot be done now, or a recorded session is being shown.",
			http.StatusServiceUnavailable: "The core did not answer in time.",
		},
	}, s.driveOn)
}

const noDriving = "a recorded session is being shown: no boundary can be driven; the command boundary takes one from a recorded drive"

func wireOutline(o replay.Outline) (g geometryJSON, areaM2 *float64) {
	if len(o) == 0 {
		return g, nil
	}
	area, ok := boundary.AreaM2(orb.MultiPolygon(o))
	return geometryJSON{geojson.NewGeometry(orb.MultiPolygon(o))}, only(area, ok)
}

func (s *Server) outlineOfWork(ctx context.Context, _ *nothing) (out workOutlineJSON, err error) {
	if s.c.Outline == nil {
		reason := "a recorded session is being shown: the command boundary draws the outline of recorded work"
		return workOutlineJSON{Reason: &reason}, nil
	}
	ctx, cancel := context.WithTimeout(ctx, sayTimeout)
	defer cancel()
	o, err := s.c.Outline.OutlineOfWork(ctx)
	if ctx.Err() != nil {
		return out, ofCore(http.StatusServiceUnavailable, ctx.Err())
	}
	if err != nil {
		return workOutlineJSON{Reason: some(err.Error())}, nil
	}
	out.Boundary, out.AreaM2 = wireOutline(o)
	return out, nil
}

func edgeNames() [3]string {
	return [...]string{coverage.EdgeLeft: "bar_left", coverage.EdgeRight: "bar_right", coverage.EdgeAntenna: "antenna"}
}

func (s *Server) drive(ctx context.Context) (out driveJSON, err error) {
	if s.c.Drive == nil {
		reason := noDriving
		return driveJSON{Edge: edgeNames()[coverage.EdgeRight], Reason: &reason}, nil
	}
	ctx, cancel := context.WithTimeout(ctx, sayTimeout)
	defer cancel()
	d, err := s.c.Drive.Driving(ctx)
	if err != nil {
		return out, ofCore(http.StatusServiceUnavailable, err)
	}
	out = driveJSON{Driving: d.Driving, Edge: edgeNames()[min(d.Edge, coverage.EdgeAntenna)], OffsetM: d.OffsetM, LengthM: d.LengthM, GapM: only(d.GapM, d.Driving)}
	out.Boundary, out.AreaM2 = wireOutline(d.Outline)
	if !d.Driving {
		return out, nil
	}
	if len(d.Path) > 1 {
		line := make(orb.LineString, len(d.Path))
		for i, p := range d.Path {
			line[i] = p
		}
		out.Boundary = geometryJSON{geojson.NewGeometry(line)}
	}
	switch {
	case len(d.Path) < 2:
		out.Reason = some("nothing has been driven yet: drive once round the field")
	case !d.Closed:
		out.Reason = some(fmt.Sprintf("the line has not come back to its start, which is %.0f m away: drive on round the field", d.GapM))
	}
	return out, nil
}

type driveInput struct{ Body driveActionJSON }

func (s *Server) driveOn(ctx context.Context, in *driveInput) (out driveJSON, err error) {
	if s.c.Drive == nil {
		return out, refuse(http.StatusConflict, noDriving)
	}
	bounded, cancel := context.WithTimeout(ctx, sayTimeout)
	defer cancel()
	switch b := &in.Body; b.Action {
	case "stop":
		err = s.c.Drive.StopDrive(bounded)
	case "cancel":
		err = s.c.Drive.DropDrive(bounded)
	default:
		edge := coverage.EdgeRight
		for i, name := range edgeNames() {
			if b.Edge == name {
				edge = coverage.Edge(i)
			}
		}
		err = s.c.Drive.StartDrive(bounded, edge, b.OffsetM)
	}
	if err != nil {
		return out, ofCore(http.StatusConflict, err)
	}
	return s.drive(ctx)
}
