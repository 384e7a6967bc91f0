package server

import (
	"context"
	"encoding/json"
	"net/http"
	"strconv"
	"time"

	"drawbar/internal/records"

	"github.com/danielgtaylor/huma/v2"
)

func (s *Server) recordsAPI(a *api) {
	none := map[int]string{http.StatusNotFound: "No such session or operation.", http.StatusServiceUnavailable: "No recorded work is known here."}
	few := map[int]string{http.StatusServiceUnavailable: "No recorded work is known here.", http.StatusUnprocessableEntity: "The address has faults."}
	typed(a, endpoint{
		method: "GET", path: "/api/work", id: "work", summary: "Recorded operations", done: "A page of them.", fails: few,
		text: "Of all recorded sessions but the one that is being recorded, the latest first. Operations that were joined are one.",
	}, s.workList)
	typed(a, endpoint{
		method: "GET", path: "/api/work/{session}", id: "workSession", summary: "A recorded session", done: "The session.", fails: none,
		text: "With its operations as they were recorded and corrected, joined or not, and the corrections.",
	}, s.workSession)
	typed(a, endpoint{
		method: "GET", path: "/api/work/{session}/{operation}/record", id: "workOperation", summary: "A recorded operation", done: "The operation.", fails: none,
		text: "As it counts: of a part of a joined one the joined one.",
	}, s.workOperation)
	typed(a, endpoint{
		method: "GET", path: "/api/work/{session}/{operation}/complete", id: "workComplete", summary: "What a record has to state", done: "The lists.", fails: none,
		text: "Elements that published texts ask of a record of an application, beside what is known of the operation.",
	}, s.workComplete)
	typed(a, endpoint{
		method: "GET", path: "/api/totals", id: "totals", summary: "Totals of recorded work", done: "The totals.", fails: few,
		text: "Areas, amounts, hours and costs of the groups add up to the whole; what is not known is counted. A filter by product counts only what was laid of it and its ground, one by person only what that person did.",
	}, s.totals)
	typed(a, endpoint{
		method: "GET", path: "/api/progress", id: "progress", summary: "Progress of a season against its plans", done: "The progress.", fails: few,
		text: "Work belongs to a plan of its season that names its product.",
	}, s.progress)
	session := &huma.Param{Name: "session", In: "path", Required: true, Description: "Name of the session.", Schema: &huma.Schema{Type: huma.TypeString}}
	operation := &huma.Param{Name: "operation", In: "query", Description: "Number of the operation; without it all of the session.", Schema: &huma.Schema{Type: huma.TypeInteger}}
	a.plain(endpoint{
		method: "GET", path: "/api/work/{session}/ground", id: "workGround", summary: "Ground of a recorded session", done: "GeoJSON.", fails: none,
		text: "A GeoJSON feature collection (RFC 7946), simplified to be drawn: features of the kinds covered, overlap and skip with session, operation, area_m2 and, of overlap, its cause. Of an operation that was joined it is that of the joined one.",
	}, "", map[string]*huma.MediaType{"application/geo+json": {Schema: featureCollection()}}, s.workGround, session, operation)
}

// WorkFilter is how recorded work is picked. An empty parameter picks everything, "-"
// work of which the thing was not stated. It is exported, for huma passes over what is
// not, parameters and all.
type WorkFilter struct {
	Field     string `query:"field" maxLength:"200" doc:"Name of the field; - for none."`
	Crop      string `query:"crop" maxLength:"200" doc:"The crop; - for none."`
	Product   string `query:"product" maxLength:"200" doc:"Name of a product; - for none stated."`
	Person    string `query:"person" maxLength:"200" doc:"Who worked; - for nobody named."`
	Operation string `query:"operation" maxLength:"200" doc:"Such as seeding; - for none."`
	Season    string `query:"season" maxLength:"100" doc:"Id of a season of the catalogue, or a year."`
	Session   string `query:"session" maxLength:"200" doc:"Name of a session."`
	From      string `query:"from" maxLength:"40" doc:"Started at or after this moment, or this day where the machine is."`
	To        string `query:"to" maxLength:"40" doc:"Started before this moment, or on this day at the latest."`
}

// filter is the filter in the form of package records.
func (s *Server) filter(f *WorkFilter) (out records.Filter, err error) {
	out = records.Filter{
		Field: some(f.Field), Crop: some(f.Crop), Product: some(f.Product), Person: some(f.Person), Operation: some(f.Operation),
		Season: f.Season, Session: f.Session,
	}
	if out.From, err = s.moment("from", f.From, 0); err != nil {
		return out, err
	}
	out.To, err = s.moment("to", f.To, 1)
	return out, err
}

// moment reads a moment, or a day and so many after it.
func (s *Server) moment(name, text string, days int) (t time.Time, err error) {
	if text == "" {
		return t, nil
	}
	if t, err = time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	if t, err = time.ParseInLocation(time.DateOnly, text, s.c.Timezone); err == nil {
		return t.AddDate(0, 0, days), nil
	}
	r := refuse(http.StatusUnprocessableEntity, "nothing was done: the address has faults")
	got, _ := json.Marshal(cut(text, 100))
	r.faults = []faultJSON{{Member: "query." + name, Got: string(got), Want: "a moment such as 2026-05-14T13:05:10Z or a day such as 2026-05-14"}}
	return t, r
}

// noRecords refuses where nothing recorded is known.
func (s *Server) noRecords() error {
	if s.c.Records == nil {
		return refuse(http.StatusServiceUnavailable, "no recorded work is known here: the index could not be opened, as the log of the daemon says, or a recorded session is being shown")
	}
	return nil
}

type workListInput struct {
	WorkFilter
	Offset int `query:"offset" minimum:"0" maximum:"1000000" doc:"Number of the first one listed, from 0."`
	Limit  int `query:"limit" minimum:"1" maximum:"500" default:"100" doc:"How many at most."`
}

func (s *Server) workList(_ context.Context, in *workListInput) (out workListJSON, err error) {
	if err := s.noRecords(); err != nil {
		return out, err
	}
	f, err := s.filter(&in.WorkFilter)
	if err != nil {
		return out, err
	}
	page, total := s.c.Records.Operations(f, in.Offset, in.Limit)
	out = workListJSON{Operations: make([]workJSON, 0, len(page)), Total: total}
	for _, o := range page {
		out.Operations = append(out.Operations, wireWork(o))
	}
	out.Waiting, out.Failed = s.c.Records.Standing()
	return out, nil
}

type workSessionInput struct {
	Session string `path:"session" maxLength:"200" doc:"Name of the session."`
}

func (s *Server) workSession(_ context.Context, in *workSessionInput) (out pastSessionJSON, err error) {
	if err := s.noRecords(); err != nil {
		return out, err
	}
	session, ok := s.c.Records.Session(in.Session)
	if !ok {
		return out, noSession(in.Session)
	}
	corrections, faults, err := s.c.Records.Corrections(in.Session)
	if err != nil {
		return out, err
	}
	out = pastSessionJSON{
		Session: session.Name, State: string(session.State), Error: some(session.Err), Share: only(session.Share, session.State == records.Working),
		Start: stamp(session.Start), End: stamp(session.End), Bytes: session.Bytes, Warnings: listed(session.Warnings),
		Operations: []workDetailJSON{}, Corrections: []correctedJSON{}, CorrectionFaults: listed(faults),
	}
	for _, o := range s.c.Records.SessionOperations(in.Session) {
		out.Operations = append(out.Operations, s.wireDetail(o))
	}
	for i := range corrections {
		out.Corrections = append(out.Corrections, wireCorrected(&corrections[i]))
	}
	return out, nil
}

func noSession(name string) error {
	return refuse(http.StatusNotFound, "there is no recorded session %s, or it is being recorded; /api/work lists what there is", clip(name))
}

type workOperationInput struct {
	Session   string `path:"session" maxLength:"200" doc:"Name of the session."`
	Operation int    `path:"operation" minimum:"1" doc:"Number of the operation in it."`
}

func (s *Server) operationOf(in *workOperationInput) (*records.Operation, error) {
	if err := s.noRecords(); err != nil {
		return nil, err
	}
	o, ok := s.c.Records.Operation(records.Ref{Session: in.Session, Number: in.Operation})
	if !ok {
		return nil, refuse(http.StatusNotFound, "session %s has no operation %d; /api/work lists what there is", clip(in.Session), in.Operation)
	}
	return o, nil
}

func (s *Server) workOperation(_ context.Context, in *workOperationInput) (out workDetailJSON, err error) {
	o, err := s.operationOf(in)
	if err != nil {
		return out, err
	}
	return s.wireDetail(o), nil
}

// workGround answers with the ground of a session's operations.
func (s *Server) workGround(w http.ResponseWriter, r *http.Request) {
	body, err := s.groundOf(r)
	if err != nil {
		s.fail(w, asRefusal(s.told(r.URL.Path, err)))
		return
	}
	w.Header().Set("Content-Type", "application/geo+json")
	s.packed(w, r, body)
}

func (s *Server) groundOf(r *http.Request) ([]byte, error) {
	if err := s.noRecords(); err != nil {
		return nil, err
	}
	name, number := r.PathValue("session"), r.URL.Query().Get("operation")
	if _, ok := s.c.Records.Session(name); !ok {
		return nil, noSession(name)
	}
	var refs []records.Ref
	if number != "" {
		n, err := strconv.Atoi(number)
		if err != nil || n < 1 {
			return nil, refuse(http.StatusUnprocessableEntity, "operation=%s: want the number of an operation, from 1", clip(number))
		}
		refs = append(refs, records.Ref{Session: name, Number: n})
	} else {
		for _, o := range s.c.Records.SessionOperations(name) {
			refs = append(refs, o.Ref())
		}
	}
	return s.c.Records.Ground(r.Context(), refs)
}

func asRefusal(err error) *refusal {
	if r, ok := err.(*refusal); ok {
		return r
	}
	return refuse(http.StatusInternalServerError, "%v", err)
}

// featureCollection is that of GeoJSON, with features of any kind.
func featureCollection() *huma.Schema {
	return &huma.Schema{
		Type: huma.TypeObject, Required: []string{"type", "features"},
		Properties: map[string]*huma.Schema{
			"type":     {Type: huma.TypeString, Enum: []any{"FeatureCollection"}},
			"features": {Type: huma.TypeArray, Items: &huma.Schema{Type: huma.TypeObject}},
		},
	}
}
