package statement

import (
	"fmt"
	"slices"
	"strings"

	"drawbar/controller"
	"drawbar/coverage"
)

// The bounds of a tank.
const (
	maxTank = 99
	maxLagS = 60
)

// Tanks reads a list of tanks, each number once, and gives those without a
// fault in ascending order of number. A product's kind decides in which units
// its target may be; the capacity is stated in the same kind of amount.
func Tanks(n *Node, at string, faults *Faults) []coverage.Tank {
	if n.Kind != KindList {
		faults.Add(n, at, describe(n), "a list of tanks")
		return nil
	}
	var tanks []coverage.Tank
	for i := range n.Items {
		item, path := &n.Items[i], indexed(at, i)
		t, ok := tank(item, path, faults)
		if !ok {
			continue
		}
		same := func(other coverage.Tank) bool { return other.Number == t.Number }
		if slices.ContainsFunc(tanks, same) {
			faults.Add(item.Get("tank"), path+".tank", fmt.Sprintf("tank %d a second time", t.Number), "each tank's number once")
			continue
		}
		tanks = append(tanks, t)
	}
	slices.SortFunc(tanks, func(a, b coverage.Tank) int { return a.Number - b.Number })
	return tanks
}

func tank(n *Node, at string, faults *Faults) (t coverage.Tank, ok bool) {
	before := faults.Len()
	o, isMap := Open(n, at, faults, []string{"tank", "product", "target", "capacity", "lag_s"})
	if !isMap {
		return coverage.Tank{}, false
	}
	if o.Get("tank") == nil {
		o.Missing("tank", fmt.Sprintf("the tank's number from 1 to %d", maxTank))
	}
	t.Number, _ = o.Int("tank", 1, maxTank)
	if p := o.Get("product"); p != nil {
		t.Product = product(p, o.path("product"), faults)
	}
	t.Target, t.Unit, _ = o.target(t.Product.Kind)
	var unit controller.Unit
	if t.Capacity, unit, _ = o.capacity(t.Product, t.Target.Dim); t.Unit.Dim == controller.DimNone {
		t.Unit = unit
	}
	t.LagS, _ = o.Number("lag_s", Range{Unit: "seconds", Max: maxLagS})
	if faults.Len() > before {
		return coverage.Tank{}, false
	}
	return t, true
}

func product(n *Node, at string, faults *Faults) (p coverage.Product) {
	o, ok := Open(n, at, faults, []string{"name", "kind", "thousand_kernel_g"})
	if !ok {
		return p
	}
	if o.Get("name") == nil {
		o.Missing("name", "the product's name")
	}
	p.Name, _ = o.Name("name", "the product's name")
	if k := o.Get("kind"); k != nil {
		known := k.Kind == KindText
		if known {
			p.Kind, known = productKind(k.Text)
		}
		if !known {
			o.Choice("kind", productKinds()...)
		}
	}
	if o.Get("thousand_kernel_g") != nil && p.Kind != coverage.KindSeed {
		o.Fault("thousand_kernel_g", "a weight of kernels for "+aKind(p.Kind), "it only for a seed")
		return p
	}
	// The heaviest of crop seeds are broad beans with some 2,000 g; common
	// practice, no source.
	p.ThousandKernelG, _ = o.Number("thousand_kernel_g", Range{Unit: "grams", Max: 10_000, Above: true})
	return p
}

// aKind reads "a liquid".
func aKind(k coverage.ProductKind) string {
	switch name := ProductKindName(k); name {
	case "":
		return "a product of no stated kind"
	case "granular":
		return "a granular product"
	case "anhydrous":
		return "an anhydrous product"
	case "inoculant":
		return "an inoculant"
	default:
		return "a " + name
	}
}

// example is a rate or an amount as one writes it.
func example(d controller.Dim) string {
	switch d {
	case controller.DimMassPerArea:
		return "112 kg/ha"
	case controller.DimVolumePerArea:
		return "80 l/ha"
	case controller.DimCountPerArea:
		return "300 seeds/m2"
	case controller.DimMass:
		return "3800 kg"
	case controller.DimVolume:
		return "1200 l"
	default:
		return "900000 seeds"
	}
}

// wanted reads "a mass or seeds per area for a seed, such as 112 kg/ha".
func wanted(dims []controller.Dim, k coverage.ProductKind) string {
	words := make([]string, len(dims))
	for i, d := range dims {
		words[i] = amountWord(d)
	}
	s := strings.Join(words, " or ")
	if dims[0].PerArea() {
		s += " per area"
	}
	return fmt.Sprintf("%s for %s, such as %s", s, aKind(k), example(dims[0]))
}

func amountWord(d controller.Dim) string {
	switch d.Amount() {
	case controller.DimMass:
		return "a mass"
	case controller.DimVolume:
		return "a volume"
	default:
		return "seeds"
	}
}

// target reads the rate that is wanted. 0 is a rate.
func (o Object) target(k coverage.ProductKind) (q controller.Quantity, u controller.Unit, ok bool) {
	return o.rate("target", "", k)
}

// rate reads a rate that a product of kind k can have; or says what else the member
// may be.
func (o Object) rate(key, or string, k coverage.ProductKind) (q controller.Quantity, u controller.Unit, ok bool) {
	possible := k.Amounts()
	rates := make([]controller.Dim, len(possible))
	for i, d := range possible {
		rates[i] = d - controller.DimMass + controller.DimMassPerArea
	}
	want := or + wanted(rates, k)
	q, u, ok = o.quantity(key, want)
	if ok && (!slices.Contains(rates, q.Dim) || q.SI < 0) {
		o.Fault(key, value(o.Get(key)), want)
		return controller.Quantity{}, controller.Unit{}, false
	}
	return q, u, ok
}

// capacity reads what the full tank holds. With a target it is given in the
// target's kind of amount, so that what is left can be told: a mass of seed is
// turned into a count, and back, by the weight of a thousand kernels.
func (o Object) capacity(p coverage.Product, target controller.Dim) (q controller.Quantity, u controller.Unit, ok bool) {
	possible := p.Kind.Amounts()
	want := wanted(possible, p.Kind)
	q, u, ok = o.quantity("capacity", want)
	if !ok {
		return controller.Quantity{}, controller.Unit{}, false
	}
	if !slices.Contains(possible, q.Dim) || !(q.SI > 0) {
		o.Fault("capacity", value(o.Get("capacity")), want)
		return controller.Quantity{}, controller.Unit{}, false
	}
	if target == controller.DimNone {
		return q, u, true
	}
	same, ok := q.As(target.Amount(), p.ThousandKernelG)
	if !ok {
		want = fmt.Sprintf("%s as the target has, such as %s", amountWord(target), example(target.Amount()))
		if p.Kind == coverage.KindSeed {
			want += ", or thousand_kernel_g stated"
		}
		o.Fault("capacity", value(o.Get("capacity")), want)
	}
	return same, u, ok
}

// quantity reads a number with its unit, such as "112 kg/ha".
func (o Object) quantity(key, want string) (q controller.Quantity, u controller.Unit, ok bool) {
	n := o.Get(key)
	if n == nil {
		return q, u, false
	}
	if n.Kind != KindText {
		o.Fault(key, describe(n), want+", with its unit")
		return q, u, false
	}
	q, u, err := controller.ParseQuantityUnit(n.Text, controller.Unit{})
	if err != nil {
		o.Fault(key, value(n), fmt.Sprintf("%s (%v)", want, err))
		return controller.Quantity{}, controller.Unit{}, false
	}
	return q, u, true
}

// Defaults tells a line profile what the tanks meter and how many sections
// there are, for what its lines leave out. im may be nil.
func Defaults(tanks []coverage.Tank, im *coverage.Implement) controller.Defaults {
	d := controller.Defaults{Tanks: make([]controller.TankDefault, len(tanks))}
	for i, t := range tanks {
		d.Tanks[i] = controller.TankDefault{Tank: t.Number, Unit: t.Unit, ThousandKernelG: t.Product.ThousandKernelG}
	}
	if im != nil {
		d.Sections = len(im.SectionsM)
	}
	return d
}
