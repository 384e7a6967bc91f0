package server

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"drawbar/internal/access"
	"drawbar/internal/catalog"
	"drawbar/internal/handover"
	"drawbar/internal/live"
	"drawbar/internal/marks"

	"github.com/danielgtaylor/huma/v2"
)

// Marks are the marks of all sessions; marks.Keeper keeps them.
type Marks interface {
	List(ctx context.Context, f marks.Filter) ([]marks.Listed, error)
	Change(ctx context.Context, id catalog.ID, c marks.Change) (catalog.Mark, error)
}

const marksPath = "/api/marks"

// ForHelper tells which requests a helper may send: for marks, and for ticking one
// off. The handler sees to it that a helper changes nothing else of a mark.
func ForHelper(method, path string) bool {
	switch method {
	case http.MethodGet, http.MethodHead:
		if path == marksPath {
			return true
		}
		f, ok := handover.FormatOf(path)
		return ok && path == marksPath+f.Ending()
	case http.MethodPost:
		id, ok := strings.CutPrefix(path, marksPath+"/")
		return ok && catalog.ID(id).Valid()
	}
	return false
}

type (
	marksInput struct {
		Field string `query:"field" maxLength:"1000" doc:"Name or id of a field; empty: all."`
		State string `query:"state" enum:"open,done,all" default:"open"`
		Near  bool   `query:"near" doc:"The nearest to the machine first."`
	}
	markInput struct {
		ID   string `path:"id" maxLength:"100" doc:"Of the mark."`
		Body markChangeJSON
	}
)

func (s *Server) marksAPI(a *api) {
	typed(a, endpoint{
		method: "GET", path: marksPath, id: "marks", summary: "Marks of all sessions",
		text: "With distance and bearing from the machine. Helpers may ask too.", done: "The marks.",
		fails: map[int]string{http.StatusUnprocessableEntity: "The address has faults."},
	}, s.marks)
	typed(a, endpoint{
		method: "POST", path: marksPath + "/{id}", id: "changeMark", most: mostBody, summary: "Change a mark",
		text: "That it is done or open again is recorded in the session in hand before it is answered. Helpers may change the state alone.", done: "The mark as it is now.",
		fails: map[int]string{
			http.StatusNotFound:           "There is no such mark.",
			http.StatusConflict:           "Another has changed it meanwhile; or a recorded session is being shown.",
			http.StatusServiceUnavailable: "It could not be recorded.",
		},
	}, s.changeMark)
	query := func(name, text string, schema *huma.Schema) *huma.Param {
		return &huma.Param{Name: name, In: "query", Description: text, Schema: schema}
	}
	for f := handover.GPX; f <= handover.GeoJSON; f++ {
		name := strings.TrimPrefix(f.Ending(), ".")
		a.plain(endpoint{
			method: "GET", path: marksPath + f.Ending(), id: "marks" + strings.ToUpper(name[:1]) + name[1:], summary: "Marks as a file",
			text: "For another receiver or map: " + [...]string{"GPX 1.1", "KML 2.2", "GeoJSON"}[f] + ". Marks without a place are left out. Helpers may ask too.", done: "The file.",
			fails: map[int]string{http.StatusUnprocessableEntity: "The address has faults."},
		}, "", textContent(f.MediaType()), func(w http.ResponseWriter, r *http.Request) { s.marksFile(w, r, f) },
			query("field", "Name or id of a field; empty: all.", &huma.Schema{Type: huma.TypeString}),
			query("state", "open where it is left out.", &huma.Schema{Type: huma.TypeString, Enum: []any{"open", "done", "all"}}))
	}
}

func (s *Server) marks(ctx context.Context, in *marksInput) (out marksJSON, err error) {
	out = marksJSON{Marks: []keptMarkJSON{}, Fields: []string{}, Units: s.c.Units.String()}
	if s.c.Marks == nil {
		return out, nil
	}
	state, _ := marks.ParseState(in.State)
	all, err := s.c.Marks.List(ctx, marks.Filter{State: marks.All})
	if err != nil {
		return out, err
	}
	now, _ := s.c.Hub.Read()
	out.Machine = machineAt(now)
	found := marks.Picked(all, marks.Filter{State: state, Field: in.Field})
	if m := out.Machine; m != nil && in.Near {
		marks.SortNear(found, m.LonDeg, m.LatDeg)
	}
	for _, l := range found {
		out.Marks = append(out.Marks, wireKept(l, out.Machine))
	}
	for _, l := range all {
		if l.FieldCalled != "" {
			out.Fields = append(out.Fields, l.FieldCalled)
		}
	}
	slices.Sort(out.Fields)
	out.Fields = slices.Compact(out.Fields)
	return out, nil
}

// machineAt is where the machine is, nil where that is not known.
func machineAt(s *live.State) *machineAtJSON {
	if s == nil || s.Snapshot.Fix.Time.IsZero() {
		return nil
	}
	f := &s.Snapshot.Fix
	return &machineAtJSON{LonDeg: f.LonDeg, LatDeg: f.LatDeg, Time: stamp(f.Time), AgeS: age(f.Arrival, s.Now)}
}

func wireKept(l marks.Listed, from *machineAtJSON) keptMarkJSON {
	session, number := l.Session()
	state := "open"
	if l.Done {
		state = "done"
	}
	out := keptMarkJSON{
		ID: string(l.ID), Revision: l.Revision, Kind: l.Kind, Note: l.Note, Field: some(l.FieldCalled),
		LonDeg: only(l.LonDeg, l.HasPlace), LatDeg: only(l.LatDeg, l.HasPlace), Left: stamp(l.Left),
		Session: some(session), Number: only(number, number > 0), State: state, Settled: stamp(l.Settled), SettledBy: some(l.SettledBy),
	}
	if from != nil {
		if d, b, ok := l.From(from.LonDeg, from.LatDeg); ok {
			out.DistanceM, out.BearingDeg = &d, &b
		}
	}
	return out
}

func (s *Server) changeMark(ctx context.Context, in *markInput) (out keptMarkJSON, err error) {
	if s.c.Marks == nil {
		return out, refuse(http.StatusConflict, "marks are kept in a live run with its catalogue: nothing can be changed here")
	}
	who, body := access.From(ctx), in.Body
	words := body.Kind != nil || body.Note != nil
	switch {
	case who.Role == access.Helper && s.c.Access != nil && words:
		return out, refuse(http.StatusForbidden, "this device may tick marks off and not change what is written of them; ask an operator")
	case body.State == nil && !words:
		r := refuse(http.StatusUnprocessableEntity, "nothing was done: what was sent has faults")
		r.faults = []faultJSON{{Member: "", Got: "nothing to change", Want: "state, or kind or note with revision"}}
		return out, r
	case words && body.Revision == nil:
		r := refuse(http.StatusUnprocessableEntity, "nothing was done: what was sent has faults")
		r.faults = []faultJSON{{Member: "revision", Got: "nothing", Want: "the revision of the mark that you have seen"}}
		return out, r
	}
	change := marks.Change{Revision: body.Revision, Kind: body.Kind, Note: body.Note, By: who.Device}
	if body.State != nil {
		done := *body.State == "done"
		change.Done = &done
	}
	ctx, cancel := context.WithTimeout(ctx, sayTimeout)
	defer cancel()
	m, err := s.c.Marks.Change(ctx, catalog.ID(in.ID), change)
	if err != nil {
		return out, s.ofMark(err, in.ID)
	}
	return s.oneMark(ctx, m)
}

// oneMark is a mark with the name of its field.
func (s *Server) oneMark(ctx context.Context, m catalog.Mark) (out keptMarkJSON, err error) {
	all, err := s.c.Marks.List(ctx, marks.Filter{State: marks.All, Field: string(m.Field)})
	if err != nil {
		return out, err
	}
	l := marks.Listed{Mark: m, FieldCalled: m.FieldName}
	for _, other := range all {
		if other.ID == m.ID {
			l.FieldCalled = other.FieldCalled
		}
	}
	now, _ := s.c.Hub.Read()
	return wireKept(l, machineAt(now)), nil
}

// ofMark is why a mark was not changed.
func (s *Server) ofMark(err error, id string) error {
	var invalid *catalog.InvalidError
	var conflict *catalog.ConflictError
	switch {
	case errors.Is(err, catalog.ErrNotFound):
		return refuse(http.StatusNotFound, "there is no mark %s; it may have been withdrawn: /api/marks lists those that stand", clip(id))
	case errors.As(err, &conflict):
		return refuse(http.StatusConflict, "nothing was changed: another has changed this mark meanwhile; look at it again and repeat the change")
	case errors.As(err, &invalid):
		r := refuse(http.StatusUnprocessableEntity, "nothing was changed: what was sent has faults")
		for _, p := range invalid.Problems {
			r.faults = append(r.faults, faultJSON{Member: p.Path, Got: p.Got, Want: p.Want})
		}
		return r
	case errors.Is(err, marks.ErrNotSaid):
		s.log.Warn("recording what was said of a mark failed", "error", err)
		return refuse(http.StatusServiceUnavailable, "nothing was changed: %v", err)
	}
	return err
}

// marksFile hands marks over as a file.
func (s *Server) marksFile(w http.ResponseWriter, r *http.Request, f handover.Format) {
	q := r.URL.Query()
	state, ok := marks.ParseState(q.Get("state"))
	if !ok && q.Get("state") != "" {
		bad := refuse(http.StatusUnprocessableEntity, "the address has faults")
		bad.faults = []faultJSON{{Member: "state", Got: cut(q.Get("state"), 100), Want: "open, done or all"}}
		s.fail(w, bad)
		return
	}
	var found []marks.Listed
	if s.c.Marks != nil {
		var err error
		if found, err = s.c.Marks.List(r.Context(), marks.Filter{State: state, Field: q.Get("field")}); err != nil {
			s.log.Error("answering a request failed", "path", r.URL.Path, "error", err)
			s.fail(w, refuse(http.StatusInternalServerError, "the marks could not be read; the log of the daemon says why"))
			return
		}
	}
	title := "Marks"
	if field := q.Get("field"); field != "" && len(found) > 0 {
		title = "Marks of " + found[0].FieldCalled
	}
	var b bytes.Buffer
	if err := handover.Write(&b, f, title, marks.Places(found)); err != nil {
		panic(err) // into memory, of values that were checked
	}
	h := w.Header()
	h.Set("Content-Type", f.MediaType())
	h.Set("Content-Disposition", `attachment; filename="marks`+f.Ending()+`"`)
	_, _ = w.Write(b.Bytes()) // the client is gone: nobody to tell
}
