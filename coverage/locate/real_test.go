package locate

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"math/rand"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"drawbar/coverage"
	"drawbar/coverage/plane"
	"drawbar/internal/testkit"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// realFields are the recorded outlines, by file.
func realFields(t testing.TB) map[string][]Field {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(testkit.SharedData(t), "boundaries", "*.geojson"))
	if err != nil || len(names) == 0 {
		t.Skipf("no outlines among the recordings: %v", err)
	}
	out := map[string][]Field{}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		c, err := geojson.UnmarshalFeatureCollection(text)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for i, f := range c.Features {
			var all orb.MultiPolygon
			switch g := f.Geometry.(type) {
			case orb.Polygon:
				all = orb.MultiPolygon{g}
			case orb.MultiPolygon:
				all = g
			}
			var b coverage.Boundary
			for _, p := range all {
				var polygon [][][2]float64
				for _, r := range p {
					var ring [][2]float64
					for _, c := range r {
						ring = append(ring, c)
					}
					polygon = append(polygon, ring)
				}
				b = append(b, polygon)
			}
			if len(b) > 0 {
				out[filepath.Base(name)] = append(out[filepath.Base(name)], Field{fmt.Sprintf("%s %d", filepath.Base(name), i), b})
			}
		}
	}
	return out
}

// middleOf is a plane about a field, and its reach on it.
func middleOf(f Field) (p *plane.Plane, reachM float64) {
	s := newShape(f.Boundary)
	return plane.New(s.latDeg, s.lonDeg), math.Max(s.hi.x, s.hi.y)
}

// Inside and how far from the border, against GEOS (https://libgeos.org) on the real
// outlines: places all over each field and about it, distances on a transverse
// Mercator plane about the field. Inside must agree but for places nearer to a side
// than 2 cm and 0.1 %, and so must distances: a side that is straight in degrees bends
// on that plane, by L² tan φ / 8 R, 1.6 cm for 2 km at latitude 12.
func TestAgainstGEOS(t *testing.T) {
	t.Parallel()
	python := testkit.Python(t)
	chance := rand.New(rand.NewSource(4))
	type place struct {
		s  *shape
		at point
	}
	var in bytes.Buffer
	var asked [][]place
	for _, name := range []string{"bahia-brazil-2020.geojson", "denmark-2026.geojson"} {
		for _, f := range realFields(t)[name] {
			p, reach := middleOf(f)
			s := newShape(f.Boundary)
			var polygons [][][][2]float64
			for _, polygon := range f.Boundary {
				var rings [][][2]float64
				for _, ring := range polygon {
					var r [][2]float64
					for _, c := range ring {
						x, y, _ := p.Forward(c[1], c[0])
						r = append(r, [2]float64{x, y})
					}
					rings = append(rings, r)
				}
				polygons = append(polygons, rings)
			}
			var places []place
			var xy [][2]float64
			ring := polygons[0][0]
			for k := range 60 {
				x, y := (chance.Float64()*2.4-1.2)*reach, (chance.Float64()*2.4-1.2)*reach
				if k%2 == 0 { // near the border
					c := ring[chance.Intn(len(ring))]
					x, y = c[0]+chance.NormFloat64()*8, c[1]+chance.NormFloat64()*8
				}
				lat, lon := p.Inverse(x, y)
				places, xy = append(places, place{s, s.at(lon, lat)}), append(xy, [2]float64{x, y})
			}
			line, err := json.Marshal([]any{polygons, xy})
			if err != nil {
				t.Fatal(err)
			}
			in.Write(append(line, '\n'))
			asked = append(asked, places)
		}
	}
	run := exec.Command(python, "testdata/geos.py")
	run.Stdin = &in
	out, err := run.Output()
	if err != nil {
		t.Fatalf("run testdata/geos.py: %v", err)
	}
	lines := bytes.Split(bytes.TrimSpace(out), []byte("\n"))
	if len(lines) != len(asked) {
		t.Fatalf("got %d answers, want %d", len(lines), len(asked))
	}
	checked, worst := 0, 0.0
	for i, places := range asked {
		var want [][3]any
		if err := json.Unmarshal(lines[i], &want); err != nil {
			t.Fatal(err)
		}
		for k, q := range places {
			distance := want[k][2].(float64)
			in, ground := q.s.inside(q.at)
			border := q.s.borderM(q.at, 50)
			if off := math.Abs(border - min(distance, 50)); off > 0.02+0.001*min(distance, 50) {
				t.Errorf("field %d, place %v: got %.4f m from the border, GEOS %.4f", i, q.at, border, distance)
			} else {
				worst = max(worst, off)
			}
			if sideM(q.s, q.at) > 0.02+0.001*min(distance, 50) && (in != want[k][0].(bool) || ground != want[k][1].(bool)) {
				t.Errorf("field %d, place %v, %.4f m from the border: got inside %v, ground %v, GEOS %v", i, q.at, distance, in, ground, want[k][:2])
			}
			checked++
		}
	}
	t.Logf("%d fields, %d places, distances within 50 m off by %.4f m at most", len(asked), checked, worst)
	if checked < 10_000 {
		t.Errorf("only %d places were looked at", checked)
	}
}

// sideM is how far a place is from any side, holes' too.
func sideM(s *shape, p point) float64 {
	all := *s
	all.sides = append([]side(nil), s.sides...)
	for i := range all.sides {
		all.sides[i].hole = false
	}
	return all.borderM(p, 50)
}

// Straight drives over the real fields. Looked at every 20 cm and without an index, a
// drive is in a field for certain where it is 2 s deeper than 5 m and in no other, and
// perhaps where it is 2 s or deeper than 5 m. All certain stretches are entered, in
// order, none but those perhaps ones beside them, and none twice. What is offered is
// told with the seconds that are left, to half a second.
func TestDrivesOverRealFields(t *testing.T) {
	t.Parallel()
	drives, entries, predicted := 0, 0, 0
	for _, name := range []string{"bahia-brazil-2020.geojson", "denmark-2026.geojson"} {
		fields := realFields(t)[name]
		ix := newIndex(t, fields)
		chance := rand.New(rand.NewSource(5))
		for i := range fields {
			p, reach := middleOf(fields[i])
			course := chance.Float64() * 360
			s, c := math.Sincos(course * math.Pi / 180)
			side := (chance.Float64() - 0.5) * reach
			length := 2*min(reach, 1500) + 300
			x0, y0 := -s*length/2+c*side, -c*length/2-s*side
			v := 2 + 3*chance.Float64()
			path := func(m float64) (x, y float64) { return x0 + s*m, y0 + c*m }

			want := stretches(ix, p, path, length, v)
			tr := newTractor(New(ix), x0, y0)
			tr.on, tr.noiseM = p, 0.01
			var got []string
			at := State{}
			way := 0.0
			tr.steps = func(_ *tractor, st State) {
				if st.In && (!at.In || at.Field != st.Field) {
					got = append(got, st.Name)
				}
				// Foretold against the border as the drive meets it.
				if o := st.Offer; int(way/v*10)%10 == 0 && o.OK && !o.Inside && o.HasInS && o.InS > 0 {
					if left, ok := meets(ix.shapes[o.Field], p, path, way); ok {
						predicted++
						if math.Abs(o.InS-left/v) > 0.5 {
							t.Errorf("%s, drive %d at %.1f m: %s in %.2f s, want %.2f", name, i, way, o.Name, o.InS, left/v)
						}
					}
				}
				at = st
			}
			tr.chance = rand.New(rand.NewSource(int64(i)))
			for ; way < length; way += v / 10 {
				tr.x, tr.y = path(way)
				tr.now = way / v
				tr.exact(course, v)
			}
			drives++
			entries += len(got)
			if why := unlike(got, want); why != "" {
				t.Errorf("%s, drive %d: %s; entered\n %s\nstretches %+v", name, i, why, strings.Join(got, "; "), want)
			}
		}
	}
	t.Logf("%d drives, %d fields entered, %d predictions", drives, entries, predicted)
	if entries < 200 || predicted < 1000 {
		t.Errorf("only %d fields were entered and %d entries foretold", entries, predicted)
	}
}

// exact is a fix with an exact course.
func (tr *tractor) exact(course, v float64) {
	lat, lon := tr.on.Inverse(tr.x, tr.y)
	s := tr.l.Step(Fix{Time: begin.Add(seconds(tr.now)), LatDeg: lat, LonDeg: lon, SpeedMPS: v, CourseDeg: course, HasSpeed: true, HasCourse: true, HalfBarM: 6})
	tr.steps(tr, s)
}

// meets is how far ahead the drive meets the border of a field, by halving; false
// where it is in it already or comes to no place inside within 130 m.
func meets(s *shape, p *plane.Plane, path func(float64) (x, y float64), from float64) (float64, bool) {
	in := func(m float64) bool {
		lat, lon := p.Inverse(path(from + m))
		is, _ := s.inside(s.at(lon, lat))
		return is
	}
	if in(0) {
		return 0, false
	}
	lo := 0.0
	for ; !in(lo + 0.5); lo += 0.5 {
		if lo > 130 {
			return 0, false
		}
	}
	return lo + 0.25, true
}

// stretch is a part of a drive inside a field.
type stretch struct {
	name    string
	from    float64 // way
	certain bool
	perhaps bool
}

// stretches are those of a drive, in order, those of one field joined where the drive
// is between them not for certain in another, no more than 10 m outside and for less
// than 10 s.
func stretches(ix *Index, p *plane.Plane, path func(float64) (x, y float64), length, v float64) (all []stretch) {
	const step = 0.2
	type running struct {
		stretch
		deep float64 // since when deep and on no other's ground
		away float64 // since when outside by more than 2 m
		out  bool
		on   bool
	}
	now := make([]running, ix.Len())
	end := func(f int) {
		if now[f].on {
			all = append(all, now[f].stretch)
			now[f] = running{}
		}
	}
	for m := 0.0; m < length; m += step {
		lat, lon := p.Inverse(path(m))
		here := ix.everyAt(lat, lon)
		for f, s := range ix.shapes {
			r := &now[f]
			at := s.at(lon, lat)
			if !here[f] {
				border := s.borderM(at, 20)
				if filled, _ := s.inside(at); filled {
					border = 0 // a pond
				}
				if !r.out || border <= 2 {
					r.out, r.away = true, m
				}
				if r.on && (border > 10 || m-r.away >= 10*v) {
					end(f)
				}
				continue
			}
			if !r.on {
				*r = running{stretch: stretch{name: ix.names[f], from: m}, deep: m, on: true}
			}
			if r.out {
				r.out, r.deep = false, m
				if !r.perhaps {
					r.from = m
				}
			}
			border := s.borderM(at, 20)
			if border <= 5 || len(here) > 1 {
				r.deep = m
			}
			r.perhaps = r.perhaps || border > 5 || m-r.from >= 2*v
			if !r.certain && m-r.deep >= 2*v+step {
				r.certain = true
			}
			if m-r.deep >= 2*v+step {
				for other := range now {
					if other != f && now[other].out {
						end(other)
					}
				}
			}
		}
	}
	for f := range now {
		end(f)
	}
	slices.SortStableFunc(all, func(a, b stretch) int { return cmp.Compare(a.from, b.from) })
	return all
}

// everyAt are the fields on whose ground a place is, asked one by one.
func (ix *Index) everyAt(latDeg, lonDeg float64) map[int]bool {
	here := map[int]bool{}
	for f, s := range ix.shapes {
		if _, ground := s.inside(s.at(lonDeg, latDeg)); ground {
			here[f] = true
		}
	}
	return here
}

// unlike says what of the fields entered is not as the stretches are.
func unlike(got []string, want []stretch) string {
	for _, s := range want {
		switch {
		case len(got) > 0 && got[0] == s.name && s.perhaps:
			got = got[1:]
		case s.certain:
			return "never in " + s.name
		}
	}
	if len(got) > 0 {
		return "in " + got[0] + " without a reason"
	}
	return ""
}
