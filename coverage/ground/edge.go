package ground

// edge yields the crossings of one side of a polygon with the scanlines, from
// its lowest row upwards, by exact stepping: crossing = x0 + (y-y0) dx/dy,
// rounded to the nearest step, halves up. It always runs from the lower end, so
// two polygons that share a side have the same crossings, whichever way round
// they list it; and since y0 <= y < y1 the crossing is within the side's own x
// range.
type edge struct {
	row, end       int64 // rows from row up to but not including end
	x              int64 // crossing with row
	rest           int64 // remainder that belongs to x, in [0, whole)
	step, stepRest int64 // what one row adds to x and rest
	whole          int64
}

// set makes e the side between two points; it returns false where that crosses
// no scanline. Points must be within 2^28 steps of one another.
func (e *edge) set(a, b point) bool {
	if a.y > b.y {
		a, b = b, a
	}
	e.row, e.end = rowAbove(a.y), rowAbove(b.y)
	if e.row >= e.end {
		return false
	}
	dx, dy := b.x-a.x, b.y-a.y
	e.whole = 2 * dy
	e.x, e.rest = floorDiv(2*dx*(rowCentre(e.row)-a.y)+dy, e.whole)
	e.x += a.x
	e.step, e.stepRest = floorDiv(2*rowHeight*dx, e.whole)
	return true
}

// next moves to the next row.
func (e *edge) next() {
	e.row++
	e.x += e.step
	e.rest += e.stepRest
	// Without a branch, which the processor could not foretell: -1 where the rest
	// has grown to a whole, else 0.
	full := (e.whole - 1 - e.rest) >> 63
	e.x -= full
	e.rest -= e.whole & full
}

// rowCentre is the y of a scanline.
func rowCentre(row int64) int64 { return row*rowHeight + rowHeight/2 }

// rowAbove is the first row whose scanline is at y or above it.
func rowAbove(y int64) int64 {
	q, _ := floorDiv(y+rowHeight/2-1, rowHeight)
	return q
}

// floorDiv divides by a positive number, rounding down.
func floorDiv(n, d int64) (quotient, rest int64) {
	quotient = n / d
	rest = n - quotient*d
	if rest < 0 {
		rest += d
		quotient--
	}
	return quotient, rest
}
