package ground

import "math"

// Area is an exact sum of ground: a whole number of half squares of the 0.1 mm
// grid, 5e-9 m2 each. It holds up to 46,000 km2 and saturates there.
type Area int64

// areaPerM2 is the number of Area units in one square metre.
const areaPerM2 = 200_000_000

// areaPerLength is the Area of one step (0.1 mm) of length on one scanline: a
// strip of 0.1 mm by 5 cm.
const areaPerLength = 2 * rowHeight

// M2 is the area in square metres.
func (a Area) M2() float64 { return float64(a) / areaPerM2 }

// AreaOf is the Area nearest to a number of square metres, which must not be
// negative.
func AreaOf(m2 float64) Area { return Area(math.Round(min(max(m2, 0), 4e10) * areaPerM2)) }

// lengthArea is the area of a length summed over scanlines, in steps of 0.1 mm.
func lengthArea(length int64) Area {
	if length > math.MaxInt64/areaPerLength {
		return math.MaxInt64
	}
	return Area(length * areaPerLength)
}
