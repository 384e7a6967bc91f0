package choices

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/catalog"
	"drawbar/internal/live"
	"drawbar/internal/ready"
	"drawbar/internal/recent"
	"drawbar/internal/units"
	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

// Input is what the choices follow from.
type Input struct {
	State      *live.State      // nil: nothing is known of the session
	Field      string           // that of the work to be; empty: none
	Outline    orb.MultiPolygon // of that field; nil: none is known
	Around     catalog.Around   // of that field
	Uses       []recent.Use     // everywhere, the latest first
	LastPerson string
	LastTool   string // the implement that worked last
	Units      units.System
	Zone       *time.Location // nil: UTC
}

// Choices is what is offered.
type Choices struct {
	Season    *catalog.Season // the one of the day; nil: none
	Plans     []Plan          // of that season, in order
	Products  []Product
	Tanks     []coverage.TankInForce
	Suggested Request
}

// Plan is a plan with how far it is done.
type Plan struct {
	catalog.Plan
	Product   *catalog.Product // nil: it is gone
	DoneM2    float64          // gross ground of this season, as it was laid here; with HasDone
	Share     float64          // of the field, 1 at most; with HasShare
	HasDone   bool
	HasShare  bool
	Suggested bool // among those that one touch begins
}

// From is why a product is where it is in the list.
type From string

// The reasons, in the order of the list.
const (
	FromPlan      From = "plan"
	FromHere      From = "here" // laid on this field lately
	FromLast      From = "last" // laid lately
	FromCatalogue From = "catalogue"
)

// Product is a product to choose.
type Product struct {
	catalog.Product        // only a name where it is not in the catalogue
	From            From   //
	Target          string // with its unit: as planned, else as laid last; empty: none
	Tank            int    // as planned, else as laid last; 0: any
}

// Of is what is offered.
func Of(in Input) Choices {
	out := Choices{Tanks: in.tanks()}
	out.Season = in.season()
	if out.Season != nil {
		out.Plans = in.plans(out.Season)
	}
	out.Products = in.products(out.Plans)
	out.Suggested = in.suggest(out.Season, out.Plans)
	return out
}

func (in *Input) tanks() []coverage.TankInForce {
	if in.State == nil {
		return nil
	}
	return in.State.Snapshot.Work.InForce.Tanks
}

func (in *Input) day() catalog.Date {
	if in.State == nil {
		return ""
	}
	zone := in.Zone
	if zone == nil {
		zone = time.UTC
	}
	return ready.Day(ready.Now(in.State), zone)
}

func (in *Input) season() *catalog.Season { return in.Around.Season(in.day()) }

// doneFrom is the share of a field from which a plan is taken for done: edges and
// corners stay, common practice, no source.
const doneFrom = 0.95

func (in *Input) plans(season *catalog.Season) (out []Plan) {
	first := 0 // the order that is suggested: the first that is not done
	for _, l := range in.Around.PlansOf(season.ID) {
		p := Plan{Plan: l, Product: in.Around.ProductOf(l.Product)}
		if p.Product != nil {
			in.done(season, &p)
		}
		if first == 0 && !(p.HasShare && p.Share >= doneFrom) {
			first = p.Order
		}
		out = append(out, p)
	}
	for i := range out {
		p := &out[i]
		p.Suggested = p.Order == first && p.Product != nil && !p.Product.Archived && strings.EqualFold(p.Operation, out[slices.IndexFunc(out, func(q Plan) bool { return q.Order == first })].Operation)
	}
	return out
}

// done is how much of a plan was laid, since the season began.
func (in *Input) done(season *catalog.Season, p *Plan) {
	for _, u := range in.Uses {
		if !strings.EqualFold(u.Field, in.Field) || !strings.EqualFold(u.Operation, p.Operation) || !strings.EqualFold(u.Product, p.Product.Name) {
			continue
		}
		if season.Start != "" && string(season.Start) > u.At.Format(time.DateOnly) {
			continue
		}
		p.DoneM2, p.HasDone = u.AreaM2, true
		if f := in.Around.Field; f != nil && f.AreaM2 > 0 {
			p.Share, p.HasShare = min(1, u.AreaM2/f.AreaM2), true
		}
	}
}

// products lists each product once, for the best reason there is.
func (in *Input) products(plans []Plan) (out []Product) {
	has := func(name string) bool {
		return slices.ContainsFunc(out, func(p Product) bool { return strings.EqualFold(p.Name, name) })
	}
	// what is planned next before what is done
	for _, done := range []bool{false, true} {
		for _, p := range plans {
			if p.Product == nil || p.Product.Archived || (p.HasShare && p.Share >= doneFrom) != done || has(p.Product.Name) {
				continue
			}
			out = append(out, Product{Product: *p.Product, From: FromPlan, Target: p.Rate.String(), Tank: p.Tank})
		}
	}
	for _, from := range []From{FromHere, FromLast} {
		for _, u := range in.Uses {
			if from == FromHere && !strings.EqualFold(u.Field, in.Field) || has(u.Product) {
				continue
			}
			p := Product{From: from, Target: u.Target, Tank: u.Tank}
			if known := in.Around.Product(u.Product); known != nil && !known.Archived {
				p.Product = *known
			} else {
				p.Name = u.Product
			}
			out = append(out, p)
		}
	}
	var rest []Product
	for _, p := range in.Around.Products {
		if !p.Archived && !has(p.Name) {
			rest = append(rest, Product{Product: p, From: FromCatalogue})
		}
	}
	slices.SortStableFunc(rest, func(a, b Product) int { return cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	return append(out, rest...)
}

// suggest is what one touch says: the next plans, with the implement and the person
// that are likely. Without a plan it is the field alone.
func (in *Input) suggest(season *catalog.Season, plans []Plan) Request {
	r := Request{Field: in.Field, Boundary: true}
	if season != nil {
		r.Season = season.ID
	}
	for _, p := range plans {
		if p.Suggested {
			r.Plans = append(r.Plans, p.ID)
			r.Operation = p.Operation
		}
	}
	force := coverage.InForce{}
	if in.State != nil {
		force = in.State.Snapshot.Work.InForce
	}
	r.Implement = in.tool(force.Implement, r.Operation)
	if r.Operation == "" && force.Implement != nil && r.Implement == "" {
		r.Operation = force.Implement.Operation
	}
	if force.Person == "" {
		if name := in.likely(); name != "" {
			r.Person = &name
		}
	}
	return r
}

// likely is who works, where nobody was named: who did last, else the only person
// there is.
func (in *Input) likely() string {
	for _, p := range in.Around.People {
		if strings.EqualFold(p.Name, in.LastPerson) {
			return p.Name
		}
	}
	if len(in.Around.People) == 1 {
		return in.Around.People[0].Name
	}
	return in.LastPerson
}

// tool is the implement for an operation where the one in force is for another, or
// none is: the one that worked last, else the only one for it. Empty: stay.
func (in *Input) tool(now *coverage.Implement, operation string) string {
	if now != nil && (operation == "" || now.Operation == "" || strings.EqualFold(now.Operation, operation)) {
		return ""
	}
	var fit []string
	for _, im := range in.Around.Implements {
		if operation == "" || strings.EqualFold(im.Operation, operation) {
			if strings.EqualFold(im.Name, in.LastTool) {
				return im.Name
			}
			fit = append(fit, im.Name)
		}
	}
	if len(fit) == 1 && !(now != nil && strings.EqualFold(now.Name, fit[0])) {
		return fit[0]
	}
	return ""
}

// rateText is a rate as a person writes it.
func rateText(q controller.Quantity, u controller.Unit) string { return statement.QuantityText(q, u) }
