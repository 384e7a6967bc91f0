package tiles

import (
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb/maptile"

	"drawbar/coverage"
	"drawbar/coverage/ground"
	"drawbar/coverage/picture"
	"drawbar/coverage/plane"
)

// draw makes a tile of a picture; nil where it is empty.
func draw(p *Picture, l layerID, operation int, at maptile.Tile) []byte {
	f := newFrame(at)
	switch l {
	case layerMarks:
		return drawMarks(f, p.Marks)
	case layerBoundary:
		return drawBoundaries(f, p.Fields)
	}
	op := p.operation(operation)
	if op == nil || op.Plane == nil {
		return nil
	}
	v, ok := newView(f, op.Plane)
	if !ok {
		return nil
	}
	switch l {
	case layerSwaths:
		return v.drawSwaths(op)
	case layerCovered:
		return v.drawCovered(op)
	case layerOverlap:
		return v.drawOverlap(op)
	default:
		return v.drawSkips(op)
	}
}

func (v *view) drawCovered(op *Operation) []byte {
	if op.Covered == nil {
		return nil
	}
	out := newLayer(layerCovered.String())
	out.tag("operation", int64(op.Number))
	out.tag("times", int64(1))
	v.add(out, op.Covered.Window(v.lo, v.hi, v.coarse, 1))
	out.end(geometryPolygon)
	return out.tile()
}

func (v *view) drawOverlap(op *Operation) []byte {
	out := newLayer(layerOverlap.String())
	for _, o := range op.Overlap {
		out.tag("operation", int64(op.Number))
		if o.Cause != "" {
			out.tag("cause", o.Cause)
		}
		v.add(out, o.Set.Window(v.lo, v.hi, v.coarse, o.Times))
		out.end(geometryPolygon)
	}
	return out.tile()
}

func (v *view) drawSkips(op *Operation) []byte {
	out := newLayer(layerSkips.String())
	for _, s := range op.Skips {
		if lo, hi := s.box(); lo.X > v.hi.X || lo.Y > v.hi.Y || hi.X < v.lo.X || hi.Y < v.lo.Y {
			continue
		}
		out.tag("operation", int64(op.Number))
		out.tag("area_m2", significant(s.AreaM2, 5))
		out.tag("width_m", significant(s.WidthM, 4))
		out.tag("length_m", significant(s.LengthM, 5))
		out.tag("state", s.State.String())
		out.tag("lon", s.LonDeg)
		out.tag("lat", s.LatDeg)
		v.add(out, s.polygons())
		out.end(geometryPolygon)
	}
	return out.tile()
}

// add adds polygons of the plane to the feature in hand.
func (v *view) add(out *layer, polygons []ground.Polygon) {
	var shape [][][]point
	for _, p := range polygons {
		rings := make([][]point, 0, len(p))
		for _, r := range p {
			if ring := v.ring(r); ring != nil {
				rings = append(rings, ring)
			} else if len(rings) == 0 {
				break // without its exterior the polygon is nothing
			}
		}
		shape = append(shape, clipped(rings)...)
	}
	out.polygons(shape)
}

// ring is a closed ring of the plane in the tile, where the other hand is up; nil
// where nothing is left of it.
func (v *view) ring(r []plane.Coord) []point {
	ring := make([]point, 0, len(r)-1)
	for _, c := range slices.Backward(r[1:]) {
		if p := v.point(c); len(ring) == 0 || ring[len(ring)-1] != p {
			ring = append(ring, p)
		}
	}
	return tidy(ring)
}

// clipped is what a tile shows of a polygon, its rings tidy, the first the exterior.
func clipped(rings [][]point) [][][]point {
	if len(rings) == 0 {
		return nil
	}
	for i, r := range rings {
		if exterior := i == 0; doubleArea(r) > 0 != exterior {
			slices.Reverse(r)
		}
	}
	return clip(rings)
}

// polygons adds polygons to the feature in hand.
func (l *layer) polygons(shape [][][]point) {
	for _, p := range simple(shape) {
		for _, r := range p {
			l.ring(r)
		}
	}
}

// maxSwathsBytes is what a tile of swaths may take before it is drawn coarser;
// making it is given up at swathsGivenUp.
const (
	maxSwathsBytes = 150_000
	swathsGivenUp  = 2 * maxSwathsBytes
)

func (v *view) drawSwaths(op *Operation) []byte {
	if op.Swaths.Empty() {
		return nil
	}
	// A merged swath is at least so long, at first 8 units or a pixel of 512; from
	// near all are drawn.
	coarse, least := v.coarse/2, 4*v.coarse
	if least < 2*plane.UnitsPerM {
		least = 0
	}
	for {
		out := v.swaths(op, coarse, least)
		size := out.size()
		if size <= maxSwathsBytes || least > 1024*4*v.coarse {
			return out.tile()
		}
		if size > swathsGivenUp { // far too much
			least *= 2
		}
		least = max(2*least, 4*v.coarse)
	}
}

func (v *view) swaths(op *Operation, coarse, least int64) *layer {
	out := newLayer(layerSwaths.String())
	var (
		keys tankKeys
		ring []plane.Coord
	)
	op.Swaths.Window(v.lo, v.hi, coarse, least, func(w *picture.Swath) {
		if least > 0 && out.size() > swathsGivenUp { // it will be drawn coarser
			return
		}
		ring = append(ring[:0], w.Left...)
		for _, c := range slices.Backward(w.Right) {
			ring = append(ring, c)
		}
		ring = append(ring, ring[0])
		shape := v.ring(ring)
		if shape == nil {
			return
		}
		out.polygons(clipped([][]point{shape}))
		if len(out.geometry) == 0 {
			return
		}
		out.tag("operation", int64(op.Number))
		out.tag("start", w.Start.Unix())
		for i := range w.Tanks {
			keys.tag(out, &w.Tanks[i])
		}
		out.end(geometryPolygon)
	})
	return out
}

// tankKeys are the names of what is told of a tank, by its number.
type tankKeys map[int][4]string

func (k *tankKeys) tag(out *layer, t *coverage.SwathTank) {
	names, ok := (*k)[t.Tank]
	if !ok {
		n := strconv.Itoa(t.Tank)
		names = [4]string{"p" + n, "r" + n, "t" + n, "q" + n}
		if *k == nil {
			*k = tankKeys{}
		}
		(*k)[t.Tank] = names
	}
	out.tag(names[0], t.Product)
	if t.HasRate {
		out.tag(names[1], significant(t.RatePerM2, 4))
	}
	if t.HasTarget {
		out.tag(names[2], significant(t.TargetPerM2, 4))
	}
	if t.HasRate && t.HasTarget && t.TargetPerM2 > 0 {
		// Whole hundredths, so that the number has no more digits than it means.
		out.tag(names[3], 2*math.Round(t.RatePerM2/t.TargetPerM2*50)/100)
	}
}

// significant is v rounded to so many digits.
func significant(v float64, digits int) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	return r
}

func drawMarks(f frame, marks []coverage.Mark) []byte {
	out := newLayer(layerMarks.String())
	for _, m := range marks {
		if !m.Known {
			continue
		}
		p := f.point(m.LatDeg, m.LonDeg)
		if p.x < -buffer || p.y < -buffer || p.x > extent+buffer || p.y > extent+buffer {
			continue
		}
		out.point(p)
		out.tag("number", int64(m.Number))
		out.tag("kind", m.Kind)
		out.tag("note", m.Note)
		out.tag("time", m.Time.Unix())
		out.end(geometryPoint)
	}
	return out.tile()
}

func (f frame) point(latDeg, lonDeg float64) point {
	x, y := f.units(latDeg, lonDeg)
	return point{int64(roundHalf(x)), int64(roundHalf(y))}
}

func drawBoundaries(f frame, fields []Field) []byte {
	out := newLayer(layerBoundary.String())
	for _, d := range fields {
		var shape [][][]point
		for _, polygon := range d.Boundary {
			var rings [][]point
			if len(polygon) == 0 || len(polygon[0]) == 0 {
				continue
			}
			for i, r := range polygon {
				if ring := f.ring(r, polygon[0][0][0]); ring != nil {
					rings = append(rings, ring)
				} else if i == 0 {
					break
				}
			}
			shape = append(shape, clipped(rings)...)
		}
		out.polygons(shape)
		out.tag("field", d.Name)
		out.tag("current", d.Current)
		out.end(geometryPolygon)
	}
	return out.tile()
}

// ring is a ring of degrees longitude and latitude in the tile. lonDeg is of a place
// of the same polygon, from which on longitudes are counted, so that it is not torn.
func (f frame) ring(r [][2]float64, lonDeg float64) []point {
	zero, _ := f.units(0, lonDeg)
	ring := make([]point, 0, len(r))
	for _, c := range r {
		_, y := f.units(c[1], c[0])
		x := zero + math.Remainder(c[0]-lonDeg, 360)/360*f.n*extent
		p := point{int64(roundHalf(x)), int64(roundHalf(y))}
		if len(ring) == 0 || ring[len(ring)-1] != p {
			ring = append(ring, p)
		}
	}
	return tidy(ring)
}
