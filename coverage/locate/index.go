package locate

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"drawbar/coverage"
)

// Field is a field by name. One without a boundary is nowhere.
type Field struct {
	Name     string
	Boundary coverage.Boundary
}

// Index finds fields by place. It never changes and may be shared.
type Index struct {
	names  []string
	byName map[string]int // of those with an outline the first of a name
	shapes []*shape       // nil: no boundary
	tree   []node         // level by level, the leaves first
	levels []int          // where each level begins
}

// box is in degrees; east may be beyond 180.
type box struct{ west, south, east, north float64 }

func (b box) meets(c box) bool {
	return b.west <= c.east && c.west <= b.east && b.south <= c.north && c.south <= b.north
}

func (b box) with(c box) box {
	return box{min(b.west, c.west), min(b.south, c.south), max(b.east, c.east), max(b.north, c.north)}
}

// node is a field, or on a level above the leaves a box around nodes from first to
// last of the level below.
type node struct {
	box
	first, last int32 // of a leaf first is the field
}

// perNode is how many nodes one above them holds.
const perNode = 12

// NewIndex prepares the fields, which keep their order as numbers. The error names
// the field whose outline has a position that is none.
func NewIndex(fields []Field) (*Index, error) {
	ix := &Index{names: make([]string, len(fields)), byName: make(map[string]int, len(fields)), shapes: make([]*shape, len(fields))}
	var leaves []node
	for i, f := range fields {
		ix.names[i] = f.Name
		corners := 0
		for _, polygon := range f.Boundary {
			for _, ring := range polygon {
				corners += len(ring)
				for _, c := range ring {
					if !(math.Abs(c[0]) <= 180 && math.Abs(c[1]) < 90) {
						return nil, fmt.Errorf("outline of %s: position %v, want degrees of longitude (-180 to 180) and of latitude (inside -90 to 90)", f.Name, c)
					}
				}
			}
		}
		if corners == 0 {
			continue
		}
		s := newShape(f.Boundary)
		ix.shapes[i] = s
		if _, twice := ix.byName[f.Name]; !twice {
			ix.byName[f.Name] = i
		}
		half := point{s.hi.x / s.perLon, s.hi.y / s.perLat}
		b := box{s.lonDeg - half.x, s.latDeg - half.y, s.lonDeg + half.x, s.latDeg + half.y}
		// Across the 180th meridian it is looked for on either side.
		for _, turn := range [3]float64{-360, 0, 360} {
			if moved := (box{b.west + turn, b.south, b.east + turn, b.north}); turn == 0 || moved.meets(box{-180, -90, 180, 90}) {
				leaves = append(leaves, node{box: moved, first: int32(i)})
			}
		}
	}
	ix.plant(leaves)
	return ix, nil
}

// plant packs the leaves into a tree: strips from west to east, each from south to
// north (Leutenegger, Lopez and Edgington, STR: A Simple and Efficient Algorithm for
// R-Tree Packing, ICDE 1997).
func (ix *Index) plant(level []node) {
	x := func(n node) float64 { return n.west + n.east }
	y := func(n node) float64 { return n.south + n.north }
	slices.SortStableFunc(level, func(a, b node) int { return cmp.Compare(x(a), x(b)) })
	strip := int(math.Ceil(math.Sqrt(float64(len(level)) * perNode)))
	for s := range slices.Chunk(level, max(1, strip)) {
		slices.SortStableFunc(s, func(a, b node) int { return cmp.Compare(y(a), y(b)) })
	}
	for {
		base := len(ix.tree)
		ix.levels = append(ix.levels, base)
		ix.tree = append(ix.tree, level...)
		if len(level) <= perNode {
			return
		}
		var above []node
		for i := 0; i < len(level); i += perNode {
			n := node{box: level[i].box, first: int32(base + i), last: int32(base + min(i+perNode, len(level)))}
			for _, c := range level[i+1 : min(i+perNode, len(level))] {
				n.box = n.with(c.box)
			}
			above = append(above, n)
		}
		level = above
	}
}

// appendMeeting appends the fields whose box meets b, in no order that means
// anything, but always the same.
func (ix *Index) appendMeeting(dst []int32, b box) []int32 {
	top := len(ix.levels) - 1
	return ix.descend(dst, b, top, ix.levels[top], len(ix.tree))
}

func (ix *Index) descend(dst []int32, b box, level, from, to int) []int32 {
	for i := from; i < to; i++ {
		n := &ix.tree[i]
		switch {
		case !n.meets(b):
		case level == 0:
			dst = append(dst, n.first)
		default:
			dst = ix.descend(dst, b, level-1, int(n.first), int(n.last))
		}
	}
	return dst
}

// number is that of the first field of a name that has an outline, else none.
func (ix *Index) number(name string) int {
	if at, ok := ix.byName[name]; ok {
		return at
	}
	return none
}

// Len is the number of fields.
func (ix *Index) Len() int { return len(ix.names) }

// Name is the name of a field by its number.
func (ix *Index) Name(field int) string { return ix.names[field] }

// At appends the numbers of the fields that a place is in, holes included,
// ascending.
func (ix *Index) At(dst []int, latDeg, lonDeg float64) []int {
	if !placed(latDeg, lonDeg) {
		return dst
	}
	first := len(dst)
	for _, f := range ix.appendMeeting(nil, box{lonDeg, latDeg, lonDeg, latDeg}) {
		s := ix.shapes[f]
		if in, _ := s.inside(s.at(lonDeg, latDeg)); in {
			dst = append(dst, int(f))
		}
	}
	slices.Sort(dst[first:])
	return append(dst[:first], slices.Compact(dst[first:])...)
}

func placed(latDeg, lonDeg float64) bool { return math.Abs(latDeg) < 90 && math.Abs(lonDeg) <= 180 }
