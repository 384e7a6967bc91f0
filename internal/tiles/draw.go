package tiles

import (
	"math"
	"strconv"

	"github.com/paulmach/orb/maptile"

	"drawbar/coverage"
	"drawbar/coverage/ground"
	"drawbar/coverage/picture"
	"drawbar/coverage/plane"
)

// drawer makes tiles, one at a time, with storage that it uses again. The zero value
// is ready.
type drawer struct {
	tracer ground.Tracer
	layer  layer
}

// draw makes a tile of a picture; nil where it is empty.
func (d *drawer) draw(p *Picture, l layerID, operation int, at maptile.Tile) []byte {
	f, out := newFrame(at), &d.layer
	out.begin(l.String())
	switch l {
	case layerMarks:
		return drawMarks(f, out, p.Marks)
	case layerBoundary:
		return drawBoundaries(f, out, p.Fields)
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
		return v.drawSwaths(out, op)
	case layerCovered:
		return v.drawCovered(&d.tracer, out, op)
	case layerOverlap:
		return v.drawOverlap(&d.tracer, out, op)
	default:
		return v.drawSkips(out, op)
	}
}

func (v *view) drawCovered(t *ground.Tracer, out *layer, op *Operation) []byte {
	if op.Covered == nil {
		return nil
	}
	out.tagInt("operation", int64(op.Number))
	out.tagInt("times", 1)
	v.add(out, t.Window(op.Covered, v.lo, v.hi, v.coarse, 1))
	out.end(geometryPolygon)
	return out.tile()
}

func (v *view) drawOverlap(t *ground.Tracer, out *layer, op *Operation) []byte {
	for _, o := range op.Overlap {
		out.tagInt("operation", int64(op.Number))
		if o.Cause != "" {
			out.tagString("cause", o.Cause)
		}
		v.add(out, t.Window(o.Set, v.lo, v.hi, v.coarse, o.Times))
		out.end(geometryPolygon)
	}
	return out.tile()
}

func (v *view) drawSkips(out *layer, op *Operation) []byte {
	for _, s := range op.Skips {
		if lo, hi := s.box(); lo.X > v.hi.X || lo.Y > v.hi.Y || hi.X < v.lo.X || hi.Y < v.lo.Y {
			continue
		}
		out.tagInt("operation", int64(op.Number))
		out.tagFloat("area_m2", significant(s.AreaM2, 5))
		out.tagFloat("width_m", significant(s.WidthM, 4))
		out.tagFloat("length_m", significant(s.LengthM, 5))
		out.tagString("state", s.State.String())
		out.tagFloat("lon", s.LonDeg)
		out.tagFloat("lat", s.LatDeg)
		v.add(out, s.polygons())
		out.end(geometryPolygon)
	}
	return out.tile()
}

// add adds polygons of the plane to the feature in hand.
func (v *view) add(out *layer, polygons []ground.Polygon) {
	m := &out.shaper
	for _, p := range polygons {
		for i, r := range p {
			// Where the other hand is up, and without the last corner, which is the first.
			for k := len(r) - 1; k > 0; k-- {
				m.point(v.point(r[k]))
			}
			if !m.endRing() && i == 0 {
				break // without its exterior the polygon is nothing
			}
		}
		m.endPolygon()
	}
	out.polygons()
}

// maxSwathsBytes is what a tile of swaths may take before it is drawn coarser.
const maxSwathsBytes = 150_000

func (v *view) drawSwaths(out *layer, op *Operation) []byte {
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
		shown := v.swaths(out, op, coarse, least)
		if shown == 1 && out.size() <= maxSwathsBytes || least > 1024*4*v.coarse {
			return out.tile()
		}
		// Longer by a power of two, by as much as there is too much.
		least = max(2*least, 4*v.coarse)
		for much := float64(out.size()) / shown; much > 2*maxSwathsBytes; much /= 2 {
			least *= 2
		}
	}
}

// swaths draws them until there are too many, and tells about which share it drew.
func (v *view) swaths(out *layer, op *Operation, coarse, least int64) (shown float64) {
	out.begin(layerSwaths.String())
	var keys tankKeys
	return op.Swaths.Window(v.lo, v.hi, coarse, least, func(w *picture.Swath) bool {
		m := &out.shaper
		m.point(v.point(w.Left[0]))
		for _, c := range w.Right {
			m.point(v.point(c))
		}
		for k := len(w.Left) - 1; k > 0; k-- {
			m.point(v.point(w.Left[k]))
		}
		m.endRing()
		m.endPolygon()
		out.polygons()
		if len(out.geometry) == 0 {
			return true
		}
		out.tagInt("operation", int64(op.Number))
		out.tagInt("start", w.Start.Unix())
		for i := range w.Tanks {
			keys.tag(out, &w.Tanks[i])
		}
		out.end(geometryPolygon)
		return out.size() <= maxSwathsBytes || least > 1024*4*v.coarse
	})
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
	out.tagString(names[0], t.Product)
	if t.HasRate {
		out.tagFloat(names[1], significant(t.RatePerM2, 4))
	}
	if t.HasTarget {
		out.tagFloat(names[2], significant(t.TargetPerM2, 4))
	}
	if t.HasRate && t.HasTarget && t.TargetPerM2 > 0 {
		// Whole hundredths, so that the number has no more digits than it means.
		out.tagFloat(names[3], 2*math.Round(t.RatePerM2/t.TargetPerM2*50)/100)
	}
}

// significant is v rounded to so many digits, at most 15.
func significant(v float64, digits int) float64 {
	size := math.Abs(v)
	if size < 1e-9 || size >= 1e9 {
		r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
		return r
	}
	// Powers of ten up to 10^22 are exact, and so is the whole number; the quotient of
	// the two is the nearest there is to the decimal.
	scale := 1.0
	for limit := math.Pow10(digits - 1); size*scale < limit; {
		scale *= 10
	}
	if scale > 1 {
		return math.Round(v*scale) / scale
	}
	for limit := math.Pow10(digits); size/scale >= limit; {
		scale *= 10
	}
	return math.Round(v/scale) * scale
}

func (f frame) point(latDeg, lonDeg float64) point {
	x, y := f.units(latDeg, lonDeg)
	return point{int64(roundHalf(x)), int64(roundHalf(y))}
}

func drawBoundaries(f frame, out *layer, fields []Field) []byte {
	for _, d := range fields {
		for _, polygon := range d.Boundary {
			if len(polygon) == 0 || len(polygon[0]) == 0 {
				continue
			}
			for i, r := range polygon {
				if !f.ring(&out.shaper, r, polygon[0][0][0]) && i == 0 {
					break
				}
			}
			out.endPolygon()
		}
		out.polygons()
		out.tagString("field", d.Name)
		out.tagBool("current", d.Current)
		out.end(geometryPolygon)
	}
	return out.tile()
}

// ring is a ring of degrees longitude and latitude in the tile; false where nothing
// is left of it. lonDeg is of a place of the same polygon, from which on longitudes
// are counted, so that it is not torn.
func (f frame) ring(m *shaper, r [][2]float64, lonDeg float64) bool {
	zero, _ := f.units(0, lonDeg)
	for _, c := range r {
		_, y := f.units(c[1], c[0])
		x := zero + math.Remainder(c[0]-lonDeg, 360)/360*f.n*extent
		m.point(point{int64(roundHalf(x)), int64(roundHalf(y))})
	}
	return m.endRing()
}
