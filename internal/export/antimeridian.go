package export

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
// and its eastern part.
func cutPolygons(polygons []polygon) []polygon {
	cut := false
	for _, p := range polygons {
		cut = cut || len(p) > 0 && ringCrosses(p[0])
	}
	if !cut {
		return polygons
	}
	var out []polygon
	for _, p := range polygons {
		if len(p) == 0 || !ringCrosses(p[0]) {
			out = append(out, p)
			continue
		}
		for _, east := range [...]bool{false, true} {
			var part polygon
			for i, r := range p {
				half := clipHalf(r, east)
				if len(half) < 4 {
					if i == 0 {
						break
					}
					continue
				}
				part = append(part, half)
			}
			if part != nil {
				out = append(out, part)
			}
		}
	}
	return out
}

func ringCrosses(r ring) bool {
	for i := 1; i < len(r); i++ {
		if crosses(r[i-1], r[i]) {
			return true
		}
	}
	return false
}

// clipHalf keeps what of a ring lies on one side of the 180th meridian: of the
// longitudes counted on past 180, those up to 180, or (east) those from 180 on,
// brought back below it.
func clipHalf(r ring, east bool) ring {
	on := func(p [2]float64) [2]float64 {
		if p[0] < 0 {
			p[0] += 360
		}
		return p
	}
	keep := func(p [2]float64) bool { return p[0] <= 180 != east }
	var out ring
	put := func(p [2]float64) {
		if east {
			p[0] -= 360
		}
		if n := len(out); n == 0 || out[n-1] != p {
			out = append(out, p)
		}
	}
	for i := 1; i < len(r); i++ {
		a, b := on(r[i-1]), on(r[i])
		if keep(a) {
			put(a)
		}
		if keep(a) != keep(b) {
			put([2]float64{180, latAt(a, b, 180)})
		}
	}
	if len(out) > 0 && out[0] != out[len(out)-1] {
		out = append(out, out[0])
	}
	return out
}
