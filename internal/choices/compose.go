package choices

import (
	"fmt"
	"slices"
	"strings"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/catalog"
	"drawbar/replay/statement"
)

// Request is what a person chose. What is not stated stays as it is.
type Request struct {
	Field     string       // its name
	Season    catalog.ID   // "": that of the plans, else that of the day
	Plans     []catalog.ID // what goes on together
	Operation string       // "": that of the plans
	Tanks     []TankWish   // over what the plans have for these tanks
	Implement string       // id or name
	Tractor   string       // id or name
	Person    *string      // name; empty: nobody
	Boundary  bool         // state the field's outline too, where it is known
}

// TankWish is what goes into a tank.
type TankWish struct {
	Tank    int    // number
	Product string // id or name; "": what is in it
	Target  string // with its unit; "": of the plan of that product, else as it is
}

// Composed is an operator line and what it comes to.
type Composed struct {
	Line     statement.Operator
	Words    string   // as "seeding, Spring oats 112 kg/ha in tank 1"
	Lacks    []string // what the record would still lack, as "person"
	Cautions []string // what to think of before
}

// compose is one composing.
type compose struct {
	*Input
	request Request
	faults  []controller.Problem
	force   coverage.InForce
	op      *coverage.OperationNow // in hand; nil: none
	season  *catalog.Season
	name    string // of the operation to be
	plans   []catalog.Plan
	loads   []load
	notes   []string
	out     statement.Operator
}

// load is a product for a tank.
type load struct {
	tank    int
	product *catalog.Product // nil: name alone, or what is in it
	name    string
	target  catalog.Rate
	member  string // of the request
}

// Compose makes the one line that states a request, all of it or, where there are
// faults, nothing. A member that would state what is in force already is left out, so
// that no operation begins anew.
func Compose(in Input, r Request) (Composed, []controller.Problem) {
	c := &compose{Input: &in, request: r}
	if in.State != nil {
		c.force, c.op = in.State.Snapshot.Work.InForce, in.State.Snapshot.Work.Operation
	}
	c.field()
	c.planned()
	c.operation()
	c.implement()
	c.wishes()
	c.place()
	c.load()
	if p := r.Person; p != nil && *p != c.force.Person {
		c.out.Person = p
	}
	if len(c.faults) == 0 {
		c.proof()
	}
	if len(c.faults) > 0 {
		return Composed{}, c.faults
	}
	return Composed{Line: c.out, Words: c.words(), Lacks: c.lacks(), Cautions: append(c.notes, c.cautions()...)}, nil
}

func (c *compose) fault(member, got, want string) {
	c.faults = append(c.faults, controller.Problem{Path: member, Got: got, Want: want})
}

func (c *compose) field() {
	if c.request.Field == "" {
		return
	}
	name := c.request.Field
	c.out.Field = &name
	if c.request.Boundary && c.Outline != nil && !(c.here() && c.op.HasBoundary) {
		c.out.Boundary, c.out.HasBoundary = c.Outline, true
	}
}

// here tells whether the work in hand is on the field already.
func (c *compose) here() bool {
	return c.op != nil && (c.request.Field == "" || c.op.Field == c.request.Field)
}

func (c *compose) planned() {
	c.season = c.Input.season()
	if id := c.request.Season; id != "" {
		i := slices.IndexFunc(c.Around.Seasons, func(s catalog.Season) bool { return s.ID == id })
		if i < 0 {
			c.fault("season", string(id), "the id of a season of the field")
			return
		}
		c.season = &c.Around.Seasons[i]
	}
	for i, id := range c.request.Plans {
		at := fmt.Sprintf("plans[%d]", i)
		k := slices.IndexFunc(c.Around.Plans, func(p catalog.Plan) bool { return p.ID == id })
		if k < 0 {
			c.fault(at, string(id), "the id of a plan of the field")
			continue
		}
		p := c.Around.Plans[k]
		if len(c.plans) > 0 && (p.Season != c.plans[0].Season || !strings.EqualFold(p.Operation, c.plans[0].Operation)) {
			c.fault(at, "a plan for "+p.Operation, "plans of one season and one operation; begin the others when they are done")
			continue
		}
		if slices.ContainsFunc(c.plans, func(q catalog.Plan) bool { return q.ID == id }) {
			c.fault(at, "a plan a second time", "each plan once")
			continue
		}
		c.plans = append(c.plans, p)
	}
	if len(c.plans) > 0 {
		i := slices.IndexFunc(c.Around.Seasons, func(s catalog.Season) bool { return s.ID == c.plans[0].Season })
		if i >= 0 {
			c.season = &c.Around.Seasons[i]
		}
	}
	c.crop()
}

// crop states what grows there; on another field of which it is not known, that it
// is not.
func (c *compose) crop() {
	if c.out.Field == nil && len(c.plans) == 0 {
		return
	}
	crop := ""
	if c.season != nil {
		crop = c.season.Crop
	} else if c.here() {
		return // it was said, or nobody knows
	}
	if crop != c.force.Crop || crop != "" && !c.here() {
		c.out.Crop = &crop
	}
}

func (c *compose) operation() {
	c.name = c.request.Operation
	if c.name == "" && len(c.plans) > 0 {
		c.name = c.plans[0].Operation
	}
	now := ""
	if c.op != nil {
		now = c.op.Name
	}
	if c.name == "" {
		c.name = now
		return
	}
	if c.name != now {
		name := c.name
		c.out.Operation = &name
	}
}

func (c *compose) implement() {
	tool, tractor := c.force.Implement, (*catalog.Tractor)(nil)
	stated := false
	if want := c.request.Implement; want != "" {
		i := slices.IndexFunc(c.Around.Implements, func(im catalog.Implement) bool { return means(want, im.ID, im.Name) })
		if i < 0 {
			c.fault("implement", want, "the id or the name of an implement of the catalogue")
			return
		}
		tool, stated = &c.Around.Implements[i].Implement, true
	}
	if want := c.request.Tractor; want != "" {
		i := slices.IndexFunc(c.Around.Tractors, func(t catalog.Tractor) bool { return means(want, t.ID, t.Name) })
		switch {
		case i < 0:
			c.fault("tractor", want, "the id or the name of a tractor of the catalogue")
			return
		case tool == nil:
			c.fault("tractor", want, "an implement with it: none is stated yet")
			return
		}
		tractor, stated = &c.Around.Tractors[i], true
	}
	if !stated {
		return
	}
	im := *tool
	if tractor != nil {
		im = tractor.Pull(im)
	}
	if c.name != "" {
		im.Operation = c.name // so that hitching it on begins nothing by itself
	} else if c.out.Operation == nil {
		c.name = im.Operation
	}
	c.out.Implement = &im
}

func means(want string, id catalog.ID, name string) bool {
	return want == string(id) || strings.EqualFold(strings.TrimSpace(want), strings.TrimSpace(name))
}

// load writes what goes into the tanks, leaving out what is there.
func (c *compose) load() {
	for _, l := range c.loads {
		a := coverage.Adjust{Tank: l.tank, Target: l.target.Quantity, Unit: l.target.Unit}
		if now := c.tank(l.tank); l.name != "" && !c.holds(now, l) {
			p := coverage.Product{Name: l.name}
			if l.product != nil {
				p = l.product.Tank()
			}
			a.Product = &p
		} else if now.Target == a.Target {
			a.Target, a.Unit = controller.Quantity{}, controller.Unit{}
		}
		if a.Product != nil || a.Target.Dim != controller.DimNone {
			c.out.Adjust = append(c.out.Adjust, a)
		}
	}
	slices.SortFunc(c.out.Adjust, func(a, b coverage.Adjust) int { return a.Tank - b.Tank })
}

// holds tells whether the tank has the product already, and knows of it what the
// catalogue does.
func (c *compose) holds(now coverage.Tank, l load) bool {
	if now.Product.Name != l.name {
		return false
	}
	if l.product == nil {
		return true
	}
	p := l.product.Tank()
	return (p.Kind == coverage.KindUnknown || p.Kind == now.Product.Kind) && (p.ThousandKernelG == 0 || now.Product.ThousandKernelG != 0)
}

// tank is a tank as it is in force.
func (c *compose) tank(number int) coverage.Tank {
	for i := range c.force.Tanks {
		if c.force.Tanks[i].Number == number {
			return c.force.Tanks[i].Tank
		}
	}
	return coverage.Tank{Number: number}
}
