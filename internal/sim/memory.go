package sim

import "math"

// memory is what the section control believes to be covered: a raster that
// holds when each cell was first passed. It steers the machine and is no part
// of the truth.
type memory struct {
	origin Point
	cellM  float64
	nx, ny int
	first  []float32 // s from the start plus 1; 0 = bare
}

// The cell is small beside a section and the raster small beside a computer.
const (
	memoryCellM    = 0.25
	memoryMaxCells = 8_000_000
	memoryMarginM  = 60
	// Ground passed less than this before is under the bar itself.
	memoryFreshS = 5
	// A section goes off when so much of its width is covered.
	memoryShare = 0.95
)

func newMemory(field polygon) *memory {
	lo, hi := field.bounds()
	m := &memory{origin: Point{lo.X - memoryMarginM, lo.Y - memoryMarginM}, cellM: memoryCellM}
	w, h := hi.X-lo.X+2*memoryMarginM, hi.Y-lo.Y+2*memoryMarginM
	for w/m.cellM*h/m.cellM > memoryMaxCells {
		m.cellM *= 1.25
	}
	m.nx, m.ny = int(w/m.cellM)+1, int(h/m.cellM)+1
	m.first = make([]float32, m.nx*m.ny)
	return m
}

// each calls do for points across the bar from l to r, a cell apart.
func (m *memory) each(b barState, l, r float64, do func(cell *float32)) {
	n := max(1, int(math.Ceil((r-l)/m.cellM)))
	for i := range n {
		p := b.point(l + (r-l)*(float64(i)+0.5)/float64(n))
		x, y := int(math.Floor((p.X-m.origin.X)/m.cellM)), int(math.Floor((p.Y-m.origin.Y)/m.cellM))
		if x >= 0 && x < m.nx && y >= 0 && y < m.ny {
			do(&m.first[y*m.nx+x])
		}
	}
}

func (m *memory) paint(b barState, l, r float64) {
	m.each(b, l, r, func(cell *float32) {
		if *cell == 0 {
			*cell = float32(b.t) + 1
		}
	})
}

// covered tells whether the section lies over ground done on an earlier pass.
func (m *memory) covered(b barState, l, r float64) bool {
	done, all := 0, 0
	m.each(b, l, r, func(cell *float32) {
		all++
		if *cell != 0 && float64(*cell)-1 < b.t-memoryFreshS {
			done++
		}
	})
	return all > 0 && float64(done) >= memoryShare*float64(all)
}
