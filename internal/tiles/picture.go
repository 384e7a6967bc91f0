package tiles

import (
	"sync"

	"drawbar/coverage"
	"drawbar/coverage/ground"
	"drawbar/coverage/picture"
	"drawbar/coverage/plane"
)

// Picture is all that tiles are made of at one moment. Nothing it refers to
// changes any more. The zero Picture shows nothing.
type Picture struct {
	Revision   uint64      // grows with every change
	Operations []Operation // in the order of their numbers
	InHand     int         // number of the operation in hand, 0: none with ground
	Marks      []Mark
	Fields     []Field
	changes    changes
}

// operation is the one of that number, nil where there is none.
func (p *Picture) operation(number int) *Operation {
	for i := range p.Operations {
		if p.Operations[i].Number == number {
			return &p.Operations[i]
		}
	}
	return nil
}

// next is the number that the next operation will have.
func (p *Picture) next() int {
	last := 0
	for i := range p.Operations {
		last = max(last, p.Operations[i].Number)
	}
	return last + 1
}

// Operation is one operation as it is drawn.
type Operation struct {
	Number  int          // from 1
	Plane   *plane.Plane // of all its coordinates
	Covered *ground.Set
	Overlap []Overlap
	Swaths  picture.Snapshot
	Skips   []*Skip
}

// Overlap is ground worked again for one cause.
type Overlap struct {
	Cause string // headland, between_passes or sections; empty: not told apart
	Set   *ground.Set
	Times int // how often the set's ground must be covered to count: 1 or 2
}

// Skip is a skip as it is drawn. Its outline is traced when it is first needed.
type Skip struct {
	coverage.Skip
	at      plane.Coord // a place inside
	once    sync.Once
	outline []ground.Polygon
}

// box is around the skip.
func (s *Skip) box() (lo, hi plane.Coord) {
	d := int64((s.LengthM+s.WidthM+1)*plane.UnitsPerM) + 1
	return plane.Coord{X: s.at.X - d, Y: s.at.Y - d}, plane.Coord{X: s.at.X + d, Y: s.at.Y + d}
}

func (s *Skip) polygons() []ground.Polygon {
	s.once.Do(func() { s.outline = s.Outline() })
	return s.outline
}

// Field is a boundary that is drawn.
type Field struct {
	Name     string
	Boundary coverage.Boundary
	Current  bool // of the work in hand
}
