package export

import (
	"cmp"
	"slices"

	"drawbar/coverage"
	"drawbar/coverage/ground"
)

// writeCovered writes the ground that each operation treated.
func writeCovered(c *collection, operations []*coverage.Operation) {
	for i, op := range operations {
		set := op.Ground()
		if set == nil {
			continue
		}
		pieces := set.Outline(1)
		if len(pieces) == 0 {
			continue
		}
		c.feature(
			func(dst []byte) []byte {
				dst = appendOperation(dst, i+1, op)
				return append(appendNumber(append(dst, `,"area_m2":`...), op.Covered().M2()), '}')
			},
			func(dst []byte) []byte { return appendPolygons(dst, onEarthAll(op.Plane, pieces)) })
	}
}

// writeOverlap writes the ground that each operation treated more than once, one
// feature a cause, its largest pieces first. area_m2 is the overlap of the summary,
// in which ground treated n times counts n-1 times, each time for its own cause;
// ground_m2 is the area of the shape, in which every place is once, under the cause
// of its second treatment.
func writeOverlap(c *collection, operations []*coverage.Operation) {
	for i, op := range operations {
		set := op.OverlapGround()
		if set == nil {
			continue
		}
		by := op.OverlapBy()
		for cause := range coverage.OverlapCause(coverage.OverlapCauses) {
			pieces := set.Only(ground.Cause(cause)).Outline(2)
			if len(pieces) == 0 {
				continue
			}
			slices.SortStableFunc(pieces, func(a, b ground.Polygon) int { return cmp.Compare(b.Area(), a.Area()) })
			var shown ground.Area
			for _, p := range pieces {
				shown += p.Area()
			}
			c.feature(
				func(dst []byte) []byte {
					dst = appendOperation(dst, i+1, op)
					dst = appendString(append(dst, `,"cause":`...), cause.String())
					dst = appendNumber(append(dst, `,"area_m2":`...), by.Of(cause))
					return append(appendNumber(append(dst, `,"ground_m2":`...), shown.M2()), '}')
				},
				func(dst []byte) []byte { return appendPolygons(dst, onEarthAll(op.Plane, pieces)) })
		}
	}
}

// appendOperation begins properties with the operation's.
func appendOperation(dst []byte, number int, op *coverage.Operation) []byte {
	dst = appendInt(append(dst, `{"operation":`...), number)
	dst = appendName(append(dst, `,"name":`...), op.Name)
	return appendName(append(dst, `,"field":`...), op.Field)
}
