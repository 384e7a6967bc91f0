package choices

import (
	"fmt"
	"slices"
	"strings"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/live"
	"drawbar/internal/ready"
)

// words are what the line says, as "seeding, Spring oats 112 kg/ha in tank 1".
func (c *compose) words() string {
	var parts []string
	if c.name != "" {
		parts = append(parts, c.name)
	}
	loads := slices.Clone(c.loads)
	slices.SortFunc(loads, func(a, b load) int { return a.tank - b.tank })
	for _, l := range loads {
		name, target := l.name, rateText(l.target.Quantity, l.target.Unit)
		if name == "" {
			name = c.tank(l.tank).Product.Name
		}
		parts = append(parts, strings.TrimSpace(strings.TrimSpace(name+" "+target)+fmt.Sprintf(" in tank %d", l.tank)))
	}
	return strings.Join(parts, ", ")
}

// after is what is in force once the line was said, as ready.Check looks at it.
func (c *compose) after() *live.State {
	s := &live.State{}
	if c.State != nil {
		*s = *c.State
	}
	w := &s.Snapshot.Work
	o := coverage.OperationNow{}
	if c.op != nil {
		o = *c.op
	}
	if f := c.out.Field; f != nil {
		if o.Field != *f {
			o.HasBoundary = false
		}
		o.Field = *f
	}
	o.HasBoundary, o.Name = o.HasBoundary || c.out.Boundary != nil, c.name
	w.Operation = &o
	force := c.force
	if c.out.Implement != nil {
		force.Implement = c.out.Implement
	}
	if c.out.Person != nil {
		force.Person = *c.out.Person
	}
	if c.out.Crop != nil {
		force.Crop = *c.out.Crop
	}
	force.Tanks = slices.Clone(force.Tanks)
	for _, a := range c.out.Adjust {
		i := slices.IndexFunc(force.Tanks, func(t coverage.TankInForce) bool { return t.Number == a.Tank })
		if i < 0 {
			force.Tanks = append(force.Tanks, coverage.TankInForce{Tank: coverage.Tank{Number: a.Tank}})
			i = len(force.Tanks) - 1
		}
		t := &force.Tanks[i]
		t.Tank = coverage.AdjustTanks([]coverage.Tank{t.Tank}, []coverage.Adjust{a})[0]
		t.Metered = true // as it will be
	}
	w.InForce = force
	return s
}

// lacks is what the record would lack of what it has when it is complete.
func (c *compose) lacks() (out []string) {
	w := &c.after().Snapshot.Work
	add := func(lacking bool, what string) {
		if lacking {
			out = append(out, what)
		}
	}
	add(w.Operation.Field == "", "field")
	add(!w.Operation.HasBoundary, "boundary")
	add(w.InForce.Crop == "", "crop")
	add(w.Operation.Name == "", "operation")
	add(w.InForce.Implement == nil, "implement")
	add(w.InForce.Person == "", "person")
	filled := false
	for i := range w.InForce.Tanks {
		t := &w.InForce.Tanks[i]
		if t.Product.Name == "" {
			add(t.Metered && (t.Rate.SI > 0 || t.Flow.SI > 0 || t.Aim.SI > 0), fmt.Sprintf("product in tank %d", t.Number))
			continue
		}
		filled = true
		add(t.Target.Dim == controller.DimNone && t.Aim.Dim == controller.DimNone, fmt.Sprintf("target of tank %d", t.Number))
	}
	add(!filled, "product")
	return out
}

// cautions are limits that would be passed.
func (c *compose) cautions() (out []string) {
	for _, i := range ready.Check(ready.Input{State: c.after(), Around: c.Around, Units: c.Units, Zone: c.Zone, Earlier: c.laid()}) {
		if i.Kind == ready.TargetOverLimit || i.Kind == ready.IntervalRuns {
			out = append(out, i.Text)
		}
	}
	return out
}

// laid is what was laid on the field before.
func (c *compose) laid() (out []ready.Application) {
	for _, u := range c.Uses {
		if strings.EqualFold(u.Field, c.Field) {
			out = append(out, ready.Application{Product: u.Product, At: u.At})
		}
	}
	return out
}
