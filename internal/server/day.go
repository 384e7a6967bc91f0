package server

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"

	"drawbar/controller"
	"drawbar/internal/boundary"
	"drawbar/internal/catalog"
	"drawbar/internal/choices"
	"drawbar/internal/live"
	"drawbar/replay/statement"
)

// dayAPI is what the operator's day needs: what there is to choose, the line that
// begins work, tanks, and what is missing.
func (s *Server) dayAPI(a *api) {
	fails := map[int]string{
		http.StatusConflict: "A recorded session is being shown.", http.StatusServiceUnavailable: "It could not be recorded, or the catalogue did not answer in time.",
	}
	typed(a, endpoint{
		method: "GET", path: "/api/choices", id: "choices", summary: "What there is to choose",
		text: "For work on a field: its seasons and plans, products in the order in which they are likely, tanks, implements, people, and what is suggested.",
		done: "The choices.", fails: map[int]string{http.StatusUnprocessableEntity: "The address has faults.", http.StatusServiceUnavailable: "The catalogue did not answer in time."},
	}, s.choices)
	typed(a, endpoint{
		method: "POST", path: "/api/begin", id: "begin", most: mostBody, summary: "Begin work",
		text: "Composes one operator line of field, boundary, crop, operation, implement, tanks and person, and says it. What is in force already is left out of it, so that no operation begins anew.",
		done: "It is in the recording, or was in force.", fails: fails,
	}, func(ctx context.Context, in *beginInput) (sayingJSON, error) { return s.begin(ctx, &in.Body, true) })
	typed(a, endpoint{
		method: "POST", path: "/api/begin/try", id: "tryBegin", most: mostBody, summary: "See what beginning would say",
		text: "As /api/begin, and nothing is said.", done: "What would be said.", fails: map[int]string{http.StatusServiceUnavailable: "The catalogue did not answer in time."},
	}, func(ctx context.Context, in *beginInput) (sayingJSON, error) { return s.begin(ctx, &in.Body, false) })
	typed(a, endpoint{
		method: "POST", path: "/api/tanks/{tank}/product", id: "putProduct", most: mostBody, summary: "Put a product into a tank",
		text: "Product and target from now on, also in mid-field; capacity and lag of the tank stay.", done: "It is in the recording, or was in force.", fails: fails,
	}, s.put)
	typed(a, endpoint{
		method: "POST", path: "/api/tanks/{tank}/refill", id: "refill", most: mostBody, summary: "Say that a tank was filled",
		text: "What was added, or what is in it now.", done: "It is in the recording.", fails: fails,
	}, s.refill)
	typed(a, endpoint{
		method: "POST", path: "/api/products/quick", id: "quickProduct", most: mostBody, summary: "Make a product on the spot",
		text: "Adds a product to the catalogue and, where a tank is named, puts it in.", done: "It is in the catalogue.",
		fails: map[int]string{http.StatusConflict: "There is no catalogue, or a recorded session is being shown.", http.StatusServiceUnavailable: "The catalogue did not answer in time."},
	}, s.quick)
	typed(a, endpoint{
		method: "GET", path: "/api/ready", id: "ready", summary: "What is missing or doubtful",
		text: "Each item with one step that settles it. It only informs.", done: "The list.",
		fails: map[int]string{http.StatusServiceUnavailable: "The catalogue did not answer in time."},
	}, s.ready)
}

type (
	choicesInput struct {
		Field string `query:"field" maxLength:"200" doc:"Name of the field; left out: the one in hand, else the one that the machine is in."`
	}
	beginInput struct{ Body beginJSON }
	putInput   struct {
		Tank int `path:"tank" minimum:"1" maximum:"99" doc:"Number."`
		Body putJSON
	}
	refillInput struct {
		Tank int `path:"tank" minimum:"1" maximum:"99" doc:"Number."`
		Body refillJSON
	}
	quickInput struct{ Body quickJSON }
)

// dayInput is what is known around the work on a field; "" is the field in hand, else
// the one that the machine is in.
func (s *Server) dayInput(ctx context.Context, field string) (choices.Input, error) {
	state, _ := s.c.Hub.Read()
	if field == "" {
		field = fieldOf(state)
	}
	in := choices.Input{State: state, Field: field, Uses: s.c.Recent.All(), LastPerson: s.c.Recent.LastPerson(), LastTool: s.c.Recent.LastImplement(), Units: s.c.Units, Zone: s.c.Timezone}
	if s.c.Catalog != nil {
		around, err := s.c.Catalog.Around(ctx, field)
		if err != nil {
			s.log.Warn("reading the catalogue failed", "error", err)
			return in, refuse(http.StatusServiceUnavailable, "the catalogue could not be read: %v; the record goes on without it", err)
		}
		in.Around = around
	}
	if f := in.Around.Field; f != nil {
		in.Field, in.Outline = f.Name, f.Outline
	}
	if s.c.Fields != nil && field != "" {
		for _, f := range s.c.Fields.Known() {
			if boundary.Same(f.Name, field) { // that of the configuration counts before the catalogue's
				in.Field, in.Outline = f.Name, f.Outline
			}
		}
	}
	return in, nil
}

func fieldOf(s *live.State) string {
	switch {
	case s == nil:
		return ""
	case s.Snapshot.Work.Operation != nil && s.Snapshot.Work.Operation.Field != "":
		return s.Snapshot.Work.Operation.Field
	case s.Place.Field != "":
		return s.Place.Field
	case s.Place.Offer != nil && s.Place.Offer.Inside:
		return s.Place.Offer.Field
	}
	return ""
}

// saying is what a composed line comes to, and where it shall be said, says it.
func (s *Server) saying(ctx context.Context, in choices.Input, r choices.Request, say bool) (out sayingJSON, err error) {
	c, faults := choices.Compose(in, r)
	if len(faults) > 0 {
		refusal := refuse(http.StatusUnprocessableEntity, "nothing was done: what was sent has faults")
		for _, f := range faults {
			refusal.faults = append(refusal.faults, faultJSON{Member: f.Path, Got: cut(f.Got, 100), Want: f.Want})
		}
		return out, refusal
	}
	line, err := json.Marshal(c.Line)
	if err != nil {
		return out, err
	}
	out = sayingJSON{Words: c.Words, Lacks: listed(c.Lacks), Cautions: listed(c.Cautions)}
	if string(line) == "{}" {
		return out, nil
	}
	short := c.Line
	short.Boundary, short.HasBoundary = nil, false
	if shown, err := json.Marshal(short); err == nil {
		out.Line = some(string(shown))
	}
	if say {
		if err := s.sayLine(ctx, line); err != nil {
			return out, err
		}
		out.Recorded = true
	}
	return out, nil
}

// sayLine has one operator line recorded.
func (s *Server) sayLine(ctx context.Context, line []byte) error {
	if s.c.Operator == nil {
		return nothingSaid()
	}
	ctx, cancel := context.WithTimeout(ctx, sayTimeout)
	defer cancel()
	if _, err := s.c.Operator.Say(ctx, line); err != nil {
		s.log.Warn("recording what the operator said failed", "error", err)
		return refuse(http.StatusServiceUnavailable, "nothing was recorded: %v", err)
	}
	return nil
}

func nothingSaid() *refusal {
	return refuse(http.StatusConflict, "a recorded session is being shown: nothing can be said to it; add a correction to the session instead")
}

func (s *Server) begin(ctx context.Context, b *beginJSON, say bool) (out sayingJSON, err error) {
	if say && s.c.Operator == nil {
		return out, nothingSaid()
	}
	r := choices.Request{
		Field: said(b.Field), Season: catalog.ID(said(b.Season)), Operation: said(b.Operation),
		Implement: said(b.Implement), Tractor: said(b.Tractor), Person: b.Person, Boundary: b.Boundary,
	}
	for _, id := range b.Plans {
		r.Plans = append(r.Plans, catalog.ID(id))
	}
	for _, t := range b.Tanks {
		r.Tanks = append(r.Tanks, choices.TankWish{Tank: t.Tank, Product: said(t.Product), Target: said(t.Target)})
	}
	in, err := s.dayInput(ctx, r.Field)
	if err != nil {
		return out, err
	}
	if r.Field != "" && strings.EqualFold(strings.TrimSpace(r.Field), in.Field) {
		r.Field = in.Field
	}
	return s.saying(ctx, in, r, say)
}

// said is a text that may be left out.
func said(text *string) string {
	if text == nil {
		return ""
	}
	return strings.TrimSpace(*text)
}

func (s *Server) put(ctx context.Context, in *putInput) (out sayingJSON, err error) {
	if s.c.Operator == nil {
		return out, nothingSaid()
	}
	wish := choices.TankWish{Tank: in.Tank, Product: said(in.Body.Product), Target: said(in.Body.Target)}
	if wish.Product == "" && wish.Target == "" {
		r := refuse(http.StatusUnprocessableEntity, "nothing was done: what was sent has faults")
		r.faults = []faultJSON{{Member: "product", Got: "neither product nor target", Want: "what goes into the tank, or its target"}}
		return out, r
	}
	day, err := s.dayInput(ctx, "")
	if err != nil {
		return out, err
	}
	out, err = s.saying(ctx, day, choices.Request{Tanks: []choices.TankWish{wish}}, true)
	return out, ofTheTank(err)
}

// ofTheTank takes the path of the only tank of a request off its faults.
func ofTheTank(err error) error {
	if r, ok := err.(*refusal); ok {
		for i := range r.faults {
			r.faults[i].Member = strings.TrimPrefix(r.faults[i].Member, "tanks[0].")
		}
	}
	return err
}

func (s *Server) refill(ctx context.Context, in *refillInput) (out sayingJSON, err error) {
	if s.c.Operator == nil {
		return out, nothingSaid()
	}
	b := &in.Body
	line, err := json.Marshal(map[string]any{"refill": statement.RefillJSON{Tank: in.Tank, Amount: said(b.Amount), Level: said(b.Level), Lot: said(b.Lot), Person: said(b.Person)}})
	if err != nil {
		return out, err
	}
	op, faults := statement.ParseLine(line)
	wrong := wireFaults(faults)
	for i := range wrong {
		wrong[i].Member = strings.TrimPrefix(strings.TrimPrefix(wrong[i].Member, "refill"), ".")
	}
	if len(wrong) == 0 {
		wrong = s.unfit(in.Tank, op)
	}
	if len(wrong) > 0 {
		r := refuse(http.StatusUnprocessableEntity, "nothing was recorded: what was sent has faults")
		r.faults = wrong
		return out, r
	}
	out = sayingJSON{Line: some(string(line)), Lacks: []string{}, Cautions: []string{}, Words: refillWords(b, in.Tank)}
	if err := s.sayLine(ctx, line); err != nil {
		return out, err
	}
	out.Recorded = true
	return out, nil
}

// unfit finds a refill in another kind of amount than the tank is counted in, which
// would tell nothing of its level.
func (s *Server) unfit(tank int, op statement.Operator) []faultJSON {
	state, _ := s.c.Hub.Read()
	if state == nil || op.Refill == nil {
		return nil
	}
	member, q := "amount", op.Refill.Amount
	if q.Dim == controller.DimNone {
		member, q = "level", op.Refill.Level
	}
	for _, now := range state.Snapshot.Work.Tanks {
		if now.Number != tank || now.Unit == "" || now.Unit == q.Dim.AmountUnit() {
			continue
		}
		for _, t := range state.Snapshot.Work.InForce.Tanks {
			unit, err := controller.ParseUnit(now.Unit)
			if t.Number != tank || err != nil {
				continue
			}
			if _, ok := q.As(unit.Dim, t.Product.ThousandKernelG); !ok {
				return []faultJSON{{Member: member, Got: q.Dim.AmountUnit(), Want: "what the tank is counted in, " + now.Unit}}
			}
		}
	}
	return nil
}
