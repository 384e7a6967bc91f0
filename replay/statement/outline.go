package statement

import (
	"fmt"

	"github.com/paulmach/orb"
)

// Outline checks polygons that were read from something else than GeoJSON, WGS 84
// degrees, longitude before latitude, as Boundary does, and closes rings that are
// not. at is what they belong to, in words. The result shares nothing with b.
func Outline(b orb.MultiPolygon, at string, faults *Faults) (orb.MultiPolygon, bool) {
	before := faults.Len()
	count := 0
	for _, p := range b {
		for _, r := range p {
			count += len(r)
		}
	}
	if tooMany(count, nil, at, faults) {
		return nil, false
	}
	out := make(orb.MultiPolygon, 0, len(b))
	for i, p := range b {
		out = append(out, outlinePolygon(p, indexed(at, i), faults))
	}
	if faults.Len() == before {
		checkApart(out, nil, at, faults)
	}
	if faults.Len() > before {
		return nil, false
	}
	return out, true
}

func outlinePolygon(p orb.Polygon, at string, faults *Faults) orb.Polygon {
	if len(p) == 0 {
		faults.Add(nil, at, "a polygon without a ring", "its outer ring")
		return nil
	}
	before := faults.Len()
	out := make(orb.Polygon, 0, len(p))
	for i, r := range p {
		out = append(out, outlineOf(r, indexed(at, i), faults))
	}
	if faults.Len() == before {
		checkPolygon(out, nil, at, faults)
	}
	return out
}

func outlineOf(r orb.Ring, at string, faults *Faults) orb.Ring {
	out := make(orb.Ring, 0, len(r)+1)
	for i, p := range r {
		if !onEarth(p) {
			faults.Add(nil, indexed(at, i), fmt.Sprintf("[%g, %g]", p[0], p[1]), wantDegrees)
			return nil // one fault a ring: the others are likely the same
		}
		out = append(out, p)
	}
	return closed(out, nil, at, faults)
}
