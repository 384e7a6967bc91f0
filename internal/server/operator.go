package server

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"reflect"

	"drawbar/replay/statement"

	"github.com/danielgtaylor/huma/v2"
)

// maxBody bounds an operator line: a boundary of tens of thousands of corners.
const maxBody = 1 << 20

// operatorLineJSON describes an operator line; package statement reads it.
type operatorLineJSON struct {
	_         struct{}        `doc:"What the operator says: any of these members, at least one. A member replaces what was said before. A member that is unknown or at fault is refused and with it the whole line."`
	Field     string          `json:"field,omitempty" doc:"Name of the field."`
	Boundary  *anyJSON        `json:"boundary,omitempty" nullable:"true" doc:"GeoJSON geometry, Polygon or MultiPolygon; null takes it away."`
	Implement anyJSON         `json:"implement,omitempty" doc:"As in the configuration; replaces the one before as a whole."`
	Operation string          `json:"operation,omitempty" doc:"Starts a new operation: coverage is counted anew."`
	Tanks     []anyJSON       `json:"tanks,omitempty" doc:"As in the configuration; each replaces the tank of its number."`
	Mark      markLineJSON    `json:"mark,omitzero"`
	Person    string          `json:"person,omitempty" doc:"Name or role; empty: nobody any more."`
	Note      string          `json:"note,omitempty" doc:"Anything."`
	Weather   weatherLineJSON `json:"weather,omitzero"`

	Crop        string           `json:"crop,omitempty" doc:"What grows or will grow there; empty: not known any more."`
	GrowthStage int              `json:"growth_stage,omitempty" minimum:"0" maximum:"99" doc:"Of the crop, on the BBCH scale."`
	Adjust      []adjustLineJSON `json:"adjust,omitempty" doc:"What changes of tanks from now on; what is not stated of a tank stays. A later tanks member for the tank ends it."`
	Refill      refillLineJSON   `json:"refill,omitzero"`
}

// TransformSchema asks for a member.
func (operatorLineJSON) TransformSchema(_ huma.Registry, s *huma.Schema) *huma.Schema {
	one := 1
	s.MinProperties = &one
	return s
}

// anyJSON is an object that is described elsewhere.
type anyJSON map[string]any

type markLineJSON struct {
	_    struct{} `doc:"A mark that is left, or withdrawn by undo alone, or one of any session that is done or open again by of and done."`
	Kind string   `json:"kind,omitempty" doc:"Such as stone."`
	Note string   `json:"note,omitempty"`
	At   placeOf  `json:"at,omitempty" doc:"bar, antenna or [longitude, latitude]."`
	Undo int      `json:"undo,omitempty" minimum:"1" doc:"Number of the mark to withdraw."`
	Of   string   `json:"of,omitempty" doc:"Beside done: a mark of any session, as SESSION#N; no mark is left."`
	Done bool     `json:"done,omitempty" doc:"True: settled; false: open again."`
	By   string   `json:"by,omitempty" doc:"Beside of: who says so, a name or a role."`
}

type adjustLineJSON struct {
	_        struct{} `doc:"What changes of one tank; at least one member beside tank."`
	Tank     int      `json:"tank" minimum:"1" maximum:"99"`
	Product  anyJSON  `json:"product,omitempty" doc:"As in the configuration."`
	Target   string   `json:"target,omitempty" doc:"Such as 112 kg/ha."`
	Capacity string   `json:"capacity,omitempty" doc:"Such as 3800 kg."`
	LagS     float64  `json:"lag_s,omitempty" minimum:"0" maximum:"60" doc:"From the meter to the ground."`
	Rate     string   `json:"rate,omitempty" doc:"What the amount is worked out from: reported, target, flow, or an entered rate such as 112 kg/ha."`
	Factor   float64  `json:"factor,omitempty" minimum:"0.2" maximum:"5" doc:"Of the amount and the rates laid; 1: none."`
}

type refillLineJSON struct {
	_      struct{} `doc:"A tank that was filled or looked into: one of amount and level."`
	Tank   int      `json:"tank" minimum:"1" maximum:"99"`
	Amount string   `json:"amount,omitempty" doc:"What was added, such as 1200 kg."`
	Level  string   `json:"level,omitempty" doc:"What is in it now, such as 300 kg."`
	Lot    string   `json:"lot,omitempty" doc:"Of the product."`
	Person string   `json:"person,omitempty" doc:"Who filled it, a name or a role."`
}

// placeOf is where a mark lies.
type placeOf struct{}

// Schema describes it.
func (placeOf) Schema(huma.Registry) *huma.Schema {
	two := 2
	return &huma.Schema{AnyOf: []*huma.Schema{
		{Type: huma.TypeString, Enum: []any{"bar", "antenna"}},
		{Type: huma.TypeArray, Items: &huma.Schema{Type: huma.TypeNumber}, MinItems: &two, MaxItems: &two},
	}}
}

type weatherLineJSON struct {
	_            struct{} `doc:"Weather at the field."`
	WindMPS      float64  `json:"wind_mps,omitempty" minimum:"0"`
	WindFromDeg  float64  `json:"wind_from_deg,omitempty" minimum:"0" maximum:"360"`
	TemperatureC float64  `json:"temperature_c,omitempty"`
	HumidityPct  float64  `json:"humidity_pct,omitempty" minimum:"0" maximum:"100"`
}

// rawInput is a body that is read here and not by huma.
type rawInput struct {
	RawBody []byte `contentType:"application/json"`
}

// raw is an operation whose body is read by its handler; of is the type that
// describes it.
func raw[B any](a *api, e endpoint, of reflect.Type, handle func(context.Context, []byte) (B, error)) {
	e.unread = true
	typed(a, e, func(ctx context.Context, in *rawInput) (B, error) { return handle(ctx, in.RawBody) })
	a.huma.OpenAPI().Paths[e.path].Post.RequestBody.Content = content(a.schemaOf(of))
}

func (s *Server) operatorAPI(a *api) {
	raw(a, endpoint{
		method: "POST", path: "/api/operator", id: "say", most: maxBody,
		summary: "Say something",
		text:    "Takes one operator line. It is acknowledged after it was recorded; where any member is at fault nothing is recorded.",
		done:    "Recorded.",
		fails:   map[int]string{http.StatusConflict: "A recorded session is being shown.", http.StatusServiceUnavailable: "It could not be recorded."},
	}, reflect.TypeFor[operatorLineJSON](), s.say)
}

// say takes one operator line. All of it is acted on or, where any member is at
// fault, nothing.
func (s *Server) say(ctx context.Context, body []byte) (out recordedJSON, err error) {
	if s.c.Operator == nil {
		return out, refuse(http.StatusConflict, "a recorded session is being shown: nothing can be said to it; add a correction to the session instead")
	}
	op, faults := statement.ParseLine(body)
	if op.Correction() {
		faults = append(faults, laterStatement())
	}
	if len(faults) > 0 {
		r := refuse(http.StatusUnprocessableEntity, "nothing was recorded: the operator line has faults")
		r.faults = wireFaults(faults)
		return out, r
	}
	var line bytes.Buffer
	if err := json.Compact(&line, body); err != nil { // a line in the recording has no line end
		return out, refuse(http.StatusUnprocessableEntity, "nothing was recorded: the operator line is not one JSON object")
	}
	ctx, cancel := context.WithTimeout(ctx, sayTimeout)
	defer cancel()
	said, err := s.c.Operator.Say(ctx, line.Bytes())
	if err != nil {
		s.log.Warn("recording what the operator said failed", "error", err)
		return out, refuse(http.StatusServiceUnavailable, "nothing was recorded: %v", err)
	}
	return recordedJSON{Recorded: true, Mark: only(said.Mark, said.Mark > 0)}, nil
}

// laterStatement is the fault of a correction: it is about a recorded session and
// never goes into one.
func laterStatement() (f statement.Fault) {
	f.Path, f.Got, f.Want = "from", "a correction", "what holds from now on; a correction is added to a recorded session, beside the recording"
	return f
}

func wireFaults(faults []statement.Fault) []faultJSON {
	out := []faultJSON{}
	for _, f := range faults {
		out = append(out, faultJSON{Member: f.Path, Got: f.Got, Want: f.Want})
	}
	return out
}
