package catalog

import (
	"fmt"

	"drawbar/internal/agronomy"
)

// Book looks up products by their ids, for what follows from several of them. It
// is not changed once it is made.
type Book struct {
	products map[ID]*Product
}

// newBook is a Book of products; of two with one id the later counts.
func newBook(products []Product) Book {
	b := Book{products: make(map[ID]*Product, len(products))}
	for i := range products {
		b.products[products[i].ID] = &products[i]
	}
	return b
}

// NewBook is a Book of products, archived ones too where blends have them.
func NewBook(products []Product) Book { return newBook(append([]Product(nil), products...)) }

// Composition is what a product consists of. Each is known or not by itself.
type Composition struct {
	Analysis      agronomy.Analysis
	HasAnalysis   bool
	DensityKgPerL float64 // 0 = not known
}

// Of is the composition of a product: as stated, or of a blend as it follows from
// its parts. What is no fertiliser holds no nutrients that count; a fertiliser of
// which no analysis is stated leaves a blend's unknown. A density that is stated of
// a blend holds in place of the one that follows.
func (b Book) Of(id ID) Composition { return b.of(id, map[ID]bool{}, map[ID]Composition{}) }

func (b Book) of(id ID, open map[ID]bool, done map[ID]Composition) (c Composition) {
	p := b.products[id]
	if p == nil || open[id] {
		return Composition{}
	}
	if c, ok := done[id]; ok {
		return c
	}
	c = Composition{Analysis: p.Analysis, HasAnalysis: p.Has&HasAnalysis != 0 || !p.Kind.fertiliser(), DensityKgPerL: p.DensityKgPerL}
	if p.Kind == Blend {
		open[id] = true
		parts := make([]agronomy.Part, len(p.Parts))
		for i, part := range p.Parts {
			of := b.of(part.Product, open, done)
			parts[i] = agronomy.Part{Share: part.Share, Analysis: of.Analysis, HasAnalysis: of.HasAnalysis, DensityKgPerL: of.DensityKgPerL}
		}
		delete(open, id)
		if p.ByVolume {
			c.Analysis, c.HasAnalysis = agronomy.BlendByVolume(parts)
		} else {
			c.Analysis, c.HasAnalysis = agronomy.BlendByMass(parts)
		}
		if c.DensityKgPerL == 0 {
			c.DensityKgPerL, _ = agronomy.BlendDensity(parts, p.ByVolume)
		}
	}
	done[id] = c
	return c
}

// Nutrients is what a rate of a product puts on the ground.
func (b Book) Nutrients(id ID, rate Rate) (agronomy.Nutrients, bool) {
	c := b.Of(id)
	if !c.HasAnalysis {
		return agronomy.Nutrients{}, false
	}
	return c.Analysis.In(rate.Quantity, c.DensityKgPerL)
}

// edge is a part of a blend, by its place in the list.
type edge struct {
	blend ID
	part  int
}

// circles are the parts by which blends, from these products on, come back to
// themselves: without them there would be no circle.
func (b Book) circles(from []Product) map[edge]bool {
	const open, done = 1, 2
	state, found := map[ID]int{}, map[edge]bool{}
	var visit func(p *Product)
	visit = func(p *Product) {
		state[p.ID] = open
		for i, part := range p.Parts {
			next := b.products[part.Product]
			switch {
			case next == nil:
			case state[next.ID] == open:
				found[edge{p.ID, i}] = true
			case state[next.ID] == 0:
				visit(next)
			}
		}
		state[p.ID] = done
	}
	for i := range from {
		if p := b.products[from[i].ID]; p != nil && state[p.ID] == 0 {
			visit(p)
		}
	}
	return found
}

// problems are what is wrong with the references of a product of the book; circles
// are those of the book.
func (b Book) problems(p Product, circles map[edge]bool) (is problems) {
	if p.RidesOn != "" {
		switch seed := b.products[p.RidesOn]; {
		case seed == nil:
			is.add("rides_on", string(p.RidesOn), "the id of a product that there is")
		case seed.Kind != Seed:
			is.add("rides_on", shown(seed.Name)+", which is no seed", "a seed")
		}
	}
	for i, part := range p.Parts {
		at := fmt.Sprintf("parts[%d].product", i)
		switch of := b.products[part.Product]; {
		case of == nil:
			is.add(at, string(part.Product), "the id of a product that there is")
		case circles[edge{p.ID, i}]:
			is.add(at, shown(of.Name)+", which has this blend among its parts", "a product that does not")
		}
	}
	return is
}
