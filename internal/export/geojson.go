package export

import (
	"io"
	"slices"
)

// ring is a closed ring of (longitude, latitude) in degrees WGS 84.
type ring = [][2]float64

// polygon is an exterior ring and its holes.
type polygon = []ring

// collection writes a GeoJSON feature collection (RFC 7946) feature by feature:
// longitude before latitude, WGS 84, exterior rings counter-clockwise, holes
// clockwise, shapes cut at the 180th meridian, one feature a line.
type collection struct {
	w     io.Writer
	buf   []byte
	first bool
	err   error
}

// newCollection begins a collection with the given name, which readers show as
// the name of the layer.
func newCollection(w io.Writer, name string) *collection {
	c := &collection{w: w, first: true}
	c.buf = append(appendString(append(c.buf, `{"type":"FeatureCollection","name":`...), name), `,"features":[`...)
	c.flush()
	return c
}

func (c *collection) flush() {
	if c.err == nil {
		_, c.err = c.w.Write(c.buf)
	}
	c.buf = c.buf[:0]
}

// feature writes one feature; properties and geometry append a JSON value each.
func (c *collection) feature(properties, geometry func(dst []byte) []byte) {
	if !c.first {
		c.buf = append(c.buf, ',')
	}
	c.first = false
	c.buf = append(c.buf, "\n"+`{"type":"Feature","properties":`...)
	c.buf = properties(c.buf)
	c.buf = append(c.buf, `,"geometry":`...)
	c.buf = geometry(c.buf)
	c.buf = append(c.buf, '}')
	c.flush()
}

// close ends the collection and returns the first error of writing it.
func (c *collection) close() error {
	if !c.first {
		c.buf = append(c.buf, '\n')
	}
	c.buf = append(c.buf, "]}\n"...)
	c.flush()
	return c.err
}

func appendPosition(dst []byte, p [2]float64) []byte {
	dst = appendDegrees(append(dst, '['), p[0])
	dst = appendDegrees(append(dst, ','), p[1])
	return append(dst, ']')
}

func appendPositions(dst []byte, ps [][2]float64) []byte {
	dst = append(dst, '[')
	for i, p := range ps {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = appendPosition(dst, p)
	}
	return append(dst, ']')
}

func appendPoint(dst []byte, p [2]float64) []byte {
	return append(appendPosition(append(dst, `{"type":"Point","coordinates":`...), p), '}')
}

// appendPolygons writes a Polygon, or a MultiPolygon where there is more than
// one; null where there is none.
func appendPolygons(dst []byte, polygons []polygon) []byte {
	polygons = cutPolygons(polygons)
	switch len(polygons) {
	case 0:
		return append(dst, "null"...)
	case 1:
		dst = append(dst, `{"type":"Polygon","coordinates":`...)
		return append(appendRings(dst, polygons[0]), '}')
	}
	dst = append(dst, `{"type":"MultiPolygon","coordinates":[`...)
	for i, p := range polygons {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = appendRings(dst, p)
	}
	return append(dst, "]}"...)
}

func appendRings(dst []byte, p polygon) []byte {
	dst = append(dst, '[')
	for i, r := range p {
		if i > 0 {
			dst = append(dst, ',')
		}
		if area2(r) < 0 == (i == 0) {
			r = slices.Clone(r)
			slices.Reverse(r)
		}
		dst = appendPositions(dst, r)
	}
	return append(dst, ']')
}

// area2 is twice the area of a closed ring in square degrees, positive when it
// runs counter-clockwise. Only its sign is of use. It is measured from the first
// corner, since a field is small beside its distance from latitude 0.
func area2(r ring) float64 {
	sum := 0.0
	for i := 1; i+1 < len(r); i++ {
		ax, ay := r[i][0]-r[0][0], r[i][1]-r[0][1]
		bx, by := r[i+1][0]-r[0][0], r[i+1][1]-r[0][1]
		sum += float64(ax*by) - float64(bx*ay)
	}
	return sum
}

// appendLine writes a LineString, a MultiLineString where the line crosses the
// 180th meridian, or a Point where it has one position only.
func appendLine(dst []byte, line [][2]float64) []byte {
	if len(line) == 1 {
		return appendPoint(dst, line[0])
	}
	parts := cutLine(line)
	if len(parts) == 1 {
		dst = append(dst, `{"type":"LineString","coordinates":`...)
		return append(appendPositions(dst, parts[0]), '}')
	}
	dst = append(dst, `{"type":"MultiLineString","coordinates":[`...)
	for i, p := range parts {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = appendPositions(dst, p)
	}
	return append(dst, "]}"...)
}
