package export

import (
	"cmp"
	"slices"
)

// Shapes that cross the 180th meridian are cut there (RFC 7946, section 3.1.9).
// Two neighbours of a shape more than 180 degrees apart lie on its two sides.

func crosses(a, b [2]float64) bool { return a[0]-b[0] > 180 || b[0]-a[0] > 180 }

// cutLine splits a line where it crosses the meridian.
func cutLine(line [][2]float64) [][][2]float64 {
	var parts [][][2]float64
	from := 0
	var lead [][2]float64 // the point on the meridian that begins this part
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		if !crosses(a, b) {
			continue
		}
		side := 180.0
		if a[0] < 0 {
			side = -180
		}
		lat := latAt(a, [2]float64{b[0] + 2*side, b[1]}, side)
		parts = append(parts, append(append(lead, line[from:i]...), [2]float64{side, lat}))
		from, lead = i, [][2]float64{{-side, lat}}
	}
	if parts == nil {
		return [][][2]float64{line}
	}
	return append(parts, append(lead, line[from:]...))
}

// latAt is the latitude at which the way from a to b passes a longitude between
// theirs.
func latAt(a, b [2]float64, lon float64) float64 {
	if a[0] == b[0] {
		return a[1]
	}
	return a[1] + float64((b[1]-a[1])*((lon-a[0])/(b[0]-a[0])))
}

// cutPolygons splits each polygon that crosses the meridian into its western
// and its eastern parts.
func cutPolygons(polygons []polygon) []polygon {
	cut := false
	for _, p := range polygons {
		cut = cut || polygonCrosses(p)
	}
	if !cut {
		return polygons
	}
	var out []polygon
	for _, p := range polygons {
		if !polygonCrosses(p) {
			out = append(out, p)
			continue
		}
		p = countedOn(p)
		out = append(out, half(p, false)...)
		out = append(out, half(p, true)...)
	}
	return out
}

func polygonCrosses(p polygon) bool {
	if len(p) == 0 {
		return false
	}
	r := p[0]
	for i := 1; i < len(r); i++ {
		if crosses(r[i-1], r[i]) {
			return true
		}
	}
	return false
}

// countedOn is a polygon with its longitudes counted on past 180 and its rings
// wound as they are written: the outline counter-clockwise, holes clockwise.
func countedOn(p polygon) polygon {
	out := make(polygon, len(p))
	for i, r := range p {
		out[i] = slices.Clone(r)
		for k := range out[i] {
			if out[i][k][0] < 0 {
				out[i][k][0] += 360
			}
		}
		if area2(out[i]) < 0 == (i == 0) {
			slices.Reverse(out[i])
		}
	}
	return out
}

// half is what of a polygon lies on one side of the 180th meridian: of its
// longitudes, counted on, those up to 180, or (east) those from 180 on, brought
// back below it. Every stretch of a ring on that side begins and ends
// on the meridian, and along it ground lies between each odd end and the next,
// counted from the south: joined there, the stretches are the outlines of the
// parts. A hole with no stretch stays one.
func half(p polygon, east bool) []polygon {
	var stretches, holes []ring
	var parts []polygon
	for _, r := range p {
		whole, pieces := onSide(r, east)
		stretches = append(stretches, pieces...)
		if whole {
			holes = append(holes, r) // the outline crosses
		}
	}
	for _, r := range join(stretches) {
		parts = append(parts, polygon{r})
	}
	for _, h := range holes {
		for i := range parts {
			if within(h[0], parts[i][0]) {
				parts[i] = append(parts[i], h)
				break
			}
		}
	}
	if east {
		for _, part := range parts {
			for _, r := range part {
				for i := range r {
					r[i][0] -= 360
				}
			}
		}
	}
	return parts
}

// onSide cuts a closed ring into its stretches on one side of the meridian;
// whole tells that all of it lies there.
func onSide(r ring, east bool) (whole bool, stretches []ring) {
	keep := func(p [2]float64) bool { return p[0] <= 180 != east }
	start := -1 // the first edge that comes in
	kept := 0
	n := len(r) - 1 // the last position repeats the first
	for i := range n {
		if keep(r[i]) {
			kept++
		} else if keep(r[i+1]) && start < 0 {
			start = i
		}
	}
	if start < 0 {
		return kept > 0, nil
	}
	var piece ring
	for k := range n {
		a, b := r[(start+k)%n], r[(start+k)%n+1]
		if keep(a) {
			piece = append(piece, a)
		}
		if keep(a) == keep(b) {
			continue
		}
		piece = append(piece, [2]float64{180, latAt(a, b, 180)})
		if keep(a) {
			stretches, piece = append(stretches, piece), nil
		}
	}
	return false, stretches
}

// join makes closed rings of stretches that begin and end on the meridian.
func join(stretches []ring) []ring {
	type end struct {
		lat     float64
		stretch int
		first   bool
	}
	var ends []end
	for i, s := range stretches {
		ends = append(ends, end{s[0][1], i, true}, end{s[len(s)-1][1], i, false})
	}
	slices.SortStableFunc(ends, func(a, b end) int { return cmp.Compare(a.lat, b.lat) })
	next := make([]int, len(stretches)) // the stretch that goes on where this one ends
	for i := range next {
		next[i] = i
	}
	for i := 0; i+1 < len(ends); i += 2 {
		a, b := ends[i], ends[i+1]
		if a.first {
			a, b = b, a
		}
		if !a.first && b.first {
			next[a.stretch] = b.stretch
		}
	}
	var out []ring
	used := make([]bool, len(stretches))
	for i := range stretches {
		var r ring
		for k := i; !used[k]; k = next[k] {
			used[k] = true
			for _, p := range stretches[k] {
				if len(r) == 0 || r[len(r)-1] != p {
					r = append(r, p)
				}
			}
		}
		if len(r) == 0 {
			continue
		}
		if r[0] != r[len(r)-1] {
			r = append(r, r[0])
		}
		if len(r) >= 4 {
			out = append(out, r)
		}
	}
	return out
}

// within tells whether a position lies inside a closed ring.
func within(p [2]float64, r ring) bool {
	in := false
	for i := 1; i < len(r); i++ {
		a, b := r[i-1], r[i]
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+float64((b[0]-a[0])*((p[1]-a[1])/(b[1]-a[1]))) {
			in = !in
		}
	}
	return in
}
