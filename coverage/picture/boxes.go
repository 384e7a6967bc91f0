package picture

import (
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// Box is a part of the plane.
type Box struct{ Lo, Hi plane.Coord }

// maxBoxes is how many Boxes there are before the latest takes in what comes.
const maxBoxes = 16

// Boxes are parts of the plane that together hold all that was added: the machine's
// way in few boxes, where it went back and forth not one of everything between.
type Boxes []Box

// AddQuad adds the box around a quad.
func (b *Boxes) AddQuad(q ground.Quad) {
	n := Box{q[0], q[0]}
	for _, c := range q[1:] {
		n.Lo = plane.Coord{X: min(n.Lo.X, c.X), Y: min(n.Lo.Y, c.Y)}
		n.Hi = plane.Coord{X: max(n.Hi.X, c.X), Y: max(n.Hi.Y, c.Y)}
	}
	b.Add(n)
}

// Add adds a box: to the latest one where both together are not much more than
// each alone.
func (b *Boxes) Add(n Box) {
	if k := len(*b); k > 0 {
		last := &(*b)[k-1]
		both := last.with(n)
		if k == maxBoxes || both.size() <= float64(3*(last.size()+n.size())) {
			*last = both
			return
		}
	}
	*b = append(*b, n)
}

func (b Box) with(o Box) Box {
	return Box{
		plane.Coord{X: min(b.Lo.X, o.Lo.X), Y: min(b.Lo.Y, o.Lo.Y)},
		plane.Coord{X: max(b.Hi.X, o.Hi.X), Y: max(b.Hi.Y, o.Hi.Y)},
	}
}

func (b Box) size() float64 {
	return float64(float64(b.Hi.X-b.Lo.X) * float64(b.Hi.Y-b.Lo.Y))
}
