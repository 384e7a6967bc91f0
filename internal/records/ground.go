package records

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"

	"github.com/klauspost/compress/zstd"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"drawbar/coverage"
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// Bounds of a shape that is drawn.
const (
	shapeM       = 0.25   // how far its line may be from the ground's edge, m
	shapeLeastM2 = 1      // smaller pieces are left out
	shapeMost    = 20_000 // positions in all; with more it is drawn coarser
)

// shaped is the ground of an operation to be drawn.
type shaped struct {
	plane   *plane.Plane
	covered []ground.Polygon
	overlap []causeShape
	skips   []coverage.Skip
}

type causeShape struct {
	cause string // "": of a joined operation, not told apart
	shape []ground.Polygon
}

// shapeOf is the ground of an operation of a session.
func shapeOf(op *coverage.Operation) shaped {
	s := shaped{plane: op.Plane, skips: op.Skips()}
	if set := op.Ground(); set != nil {
		s.covered = set.Outline(1)
	}
	if set := op.OverlapGround(); set != nil {
		for cause := range coverage.OverlapCause(coverage.OverlapCauses) {
			if pieces := set.Only(ground.Cause(cause)).Outline(2); len(pieces) > 0 {
				s.overlap = append(s.overlap, causeShape{cause.String(), pieces})
			}
		}
	}
	return s
}

// shapeOfJoint is that of a joined one.
func shapeOfJoint(j *coverage.Joint) shaped {
	s := shaped{plane: j.Plane(), skips: j.Skips(), covered: j.Ground().Outline(1)}
	if pieces := j.Ground().Outline(2); len(pieces) > 0 {
		s.overlap = []causeShape{{"", pieces}}
	}
	return s
}

// packed is the shape as GeoJSON features, packed.
func (s *shaped) packed(r Ref, e *zstd.Encoder) []byte {
	if s.plane == nil {
		return nil
	}
	for within := shapeM; ; within *= 2 {
		d := drawing{plane: s.plane, within: within}
		text := d.features(s, r)
		if d.positions <= shapeMost || within > 16 {
			return e.EncodeAll(text, nil)
		}
	}
}

// drawing writes features.
type drawing struct {
	plane     *plane.Plane
	within    float64 // m
	positions int
	text      []byte
	many      bool
}

func (d *drawing) features(s *shaped, r Ref) []byte {
	d.feature(r, "covered", "", s.covered, 0)
	for _, o := range s.overlap {
		d.feature(r, "overlap", o.cause, o.shape, 0)
	}
	for i := range s.skips {
		if k := &s.skips[i]; k.State != coverage.SkipClosed {
			d.feature(r, "skip", "", k.Outline(), k.AreaM2)
		}
	}
	return d.text
}

// feature writes one, unless nothing of it is large enough. areaM2 0: that of the
// pieces drawn.
func (d *drawing) feature(r Ref, kind, cause string, pieces []ground.Polygon, areaM2 float64) {
	var drawn []orb.Polygon
	for _, p := range pieces {
		if p.Area().M2() < shapeLeastM2 && kind != "skip" {
			continue
		}
		if areaM2 == 0 || kind != "skip" {
			areaM2 += p.Area().M2()
		}
		if q := d.simple(p); len(q) > 0 {
			drawn = append(drawn, q)
		}
	}
	if len(drawn) == 0 {
		return
	}
	if d.many {
		d.text = append(d.text, ",\n"...)
	}
	d.many = true
	d.text = append(d.text, `{"type":"Feature","properties":{"session":`...)
	session, _ := json.Marshal(r.Session) // a string always can be
	d.text = append(d.text, session...)
	d.text = strconv.AppendInt(append(d.text, `,"operation":`...), int64(r.Number), 10)
	d.text = append(append(append(d.text, `,"kind":"`...), kind...), '"')
	if cause != "" {
		d.text = append(append(append(d.text, `,"cause":"`...), cause...), '"')
	}
	d.text = strconv.AppendFloat(append(d.text, `,"area_m2":`...), areaM2, 'f', 1, 64)
	d.text = append(d.text, `},"geometry":{"type":"MultiPolygon","coordinates":[`...)
	for i, p := range drawn {
		if i > 0 {
			d.text = append(d.text, ',')
		}
		d.polygon(p)
	}
	d.text = append(d.text, "]}}"...)
}

// simple is a polygon in metres on the plane with fewer corners. Holes that become
// lines are left out.
func (d *drawing) simple(p ground.Polygon) orb.Polygon {
	s := simplify.DouglasPeucker(d.within)
	var out orb.Polygon
	for i, ring := range p {
		line := make(orb.Ring, 0, len(ring))
		for _, c := range ring {
			x, y := c.M()
			line = append(line, orb.Point{x, y})
		}
		if line = s.Ring(line); len(line) < 4 {
			if i == 0 {
				return nil
			}
			continue
		}
		out = append(out, line)
	}
	return out
}

func (d *drawing) polygon(p orb.Polygon) {
	d.text = append(d.text, '[')
	for i, ring := range p {
		if i > 0 {
			d.text = append(d.text, ',')
		}
		d.text = append(d.text, '[')
		for k, c := range ring {
			if k > 0 {
				d.text = append(d.text, ',')
			}
			lat, lon := d.plane.Inverse(c[0], c[1])
			d.text = strconv.AppendFloat(append(d.text, '['), lon, 'f', 7, 64)
			d.text = append(strconv.AppendFloat(append(d.text, ','), lat, 'f', 7, 64), ']')
			d.positions++
		}
		d.text = append(d.text, ']')
	}
	d.text = append(d.text, ']')
}

// Ground is the ground of operations as one GeoJSON feature collection (RFC 7946):
// features of the kinds covered, overlap and skip, simplified to be drawn. What has no
// ground has no features.
func (x *Index) Ground(ctx context.Context, refs []Ref) ([]byte, error) {
	out := []byte(`{"type":"FeatureCollection","features":[` + "\n")
	many, v := false, x.view.Load()
	for _, r := range refs {
		o := v.of[r]
		if o == nil {
			continue
		}
		packed, err := x.file.ground(ctx, o.result, o.Number)
		if err != nil {
			return nil, fmt.Errorf("read the ground of %s: %w", r, err)
		}
		if len(packed) == 0 {
			continue
		}
		if many {
			out = append(out, ",\n"...)
		}
		if out, err = x.unpacker.DecodeAll(packed, out); err != nil {
			return nil, fmt.Errorf("read the ground of %s: %w", r, err)
		}
		many = true
	}
	return append(out, "\n]}\n"...), nil
}
