package ground

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"
	"os/exec"
	"testing"

	"drawbar/coverage/plane"
)

// missField is a field with work that leaves something out.
type missField struct {
	name     string
	boundary [][]xy // rings; nil: not known
	width    float64
	least    float64
	turnDeg  float64
	swept    [][4]xy
	planted  []xy // places that were left out on purpose
}

type xy struct{ x, y float64 }

// sweep drives a bar with sections of the given widths along a line, with sections
// on where on says so of their centre.
func (f *missField) sweep(line []xy, sections []float64, on func(section int, at xy) bool) {
	whole := 0.0
	for _, w := range sections {
		whole += w
	}
	bar := func(i int) (ends []xy) {
		a, b := line[max(0, i-1)], line[min(len(line)-1, i+1)]
		l := math.Hypot(b.x-a.x, b.y-a.y)
		rx, ry := (b.y-a.y)/l, -(b.x-a.x)/l // to the right
		off := -whole / 2
		ends = append(ends, xy{line[i].x + rx*off, line[i].y + ry*off})
		for _, w := range sections {
			off += w
			ends = append(ends, xy{line[i].x + rx*off, line[i].y + ry*off})
		}
		return ends
	}
	before := bar(0)
	for i := range line[1:] {
		after := bar(i + 1)
		for s := 0; s < len(sections); {
			state := func(s int) bool {
				return on == nil || on(s, xy{(after[s].x + after[s+1].x) / 2, (after[s].y + after[s+1].y) / 2})
			}
			if !state(s) {
				s++
				continue
			}
			e := s + 1
			for e < len(sections) && state(e) {
				e++
			}
			f.swept = append(f.swept, [4]xy{before[s], before[e], after[e], after[s]})
			s = e
		}
		before = after
	}
}

// straight is a line with a point every step.
func straight(x0, y0, x1, y1, step float64) (line []xy) {
	n := max(1, int(math.Round(math.Hypot(x1-x0, y1-y0)/step)))
	for i := 0; i <= n; i++ {
		t := float64(i) / float64(n)
		line = append(line, xy{x0 + (x1-x0)*t, y0 + (y1-y0)*t})
	}
	return line
}

func (f *missField) turned(p xy) plane.Coord {
	sin, cos := math.Sincos(f.turnDeg * math.Pi / 180)
	return at(p.x*cos-p.y*sin+321.1, p.x*sin+p.y*cos+55.3)
}

func (f *missField) quads() (all []Quad) {
	for _, q := range f.swept {
		all = append(all, Quad{f.turned(q[0]), f.turned(q[1]), f.turned(q[2]), f.turned(q[3])})
	}
	return all
}

func (f *missField) rule() SkipRule {
	rule := SkipRule{Width: int64(math.Round(f.width * 1e4)), MinArea: Area(math.Round(f.least * areaPerM2))}
	for _, ring := range f.boundary {
		var r []plane.Coord
		for _, p := range ring {
			r = append(r, f.turned(p))
		}
		rule.Field = append(rule.Field, r)
	}
	return rule
}

func box(x0, y0, x1, y1 float64) []xy { return []xy{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}} }

func inRings(rings [][]xy, p xy) bool {
	in := false
	for _, ring := range rings {
		for i, b := range ring {
			a := ring[(i+len(ring)-1)%len(ring)]
			if (a.y > p.y) != (b.y > p.y) && p.x < a.x+(b.x-a.x)*(p.y-a.y)/(b.y-a.y) {
				in = !in
			}
		}
	}
	return in
}

func sections(n int, width float64) (out []float64) {
	for range n {
		out = append(out, width)
	}
	return out
}

// missFields are fields of every kind. Widths are those that the bar and its
// sections give by the default rule.
func missFields() []missField {
	var out []missField
	add := func(f missField) { out = append(out, f) }

	f := missField{name: "passes along the axes, one too far off", planted: []xy{{36.1, 2}, {36.1, 75}}, boundary: [][]xy{box(0, 0, 120, 150)}, width: 4.2, least: 1.47}
	for i, x := range []float64{6, 17.8, 29.6, 42.6, 54.4, 66.2, 78.0, 89.8, 101.6, 113.4} {
		y0, y1 := 0.0, 150.0
		if i%2 == 1 {
			y0, y1 = y1, y0
		}
		f.sweep(straight(x, y0, x, y1, 0.5), sections(4, 3), nil)
	}
	add(f)

	f = missField{name: "oblique, gaps of 10 and 30 cm", planted: []xy{{36.15, 70}, {12.05, 70}}, boundary: [][]xy{box(0, 0, 130, 140)}, width: 4.2, least: 1.47, turnDeg: 31}
	for i, x := range []float64{6, 18.1, 30, 42.3, 54.1, 65, 77, 88.9, 101, 113, 124.4} {
		y0, y1 := 0.0, 140.0
		if i%2 == 1 {
			y0, y1 = y1, y0
		}
		f.sweep(straight(x, y0, x, y1, 0.25), sections(4, 3), nil)
	}
	add(f)

	f = missField{name: "curved passes", planted: []xy{{80, 47.1}}, boundary: [][]xy{box(0, 0, 160, 180)}, width: 4.2, least: 1.47, turnDeg: 12}
	for i := range 12 {
		x := 6 + float64(i)*11.7
		if i == 5 {
			x += 0.7
		}
		var line []xy
		for y := 0.0; y <= 180; y += 0.1 {
			line = append(line, xy{x + 9*math.Sin(y/30) + 12, y})
		}
		f.sweep(line, sections(4, 3), func(_ int, p xy) bool { return inRings(f.boundary, p) })
	}
	add(f)

	f = missField{name: "pointed rows", boundary: [][]xy{{{0, 0}, {150, 0}, {150, 60}, {0, 160}}}, width: 4.2, least: 1.47, turnDeg: 200}
	for i := range 13 {
		x := 6 + float64(i)*11.9
		line := straight(x, 0, x, 170, 0.3)
		if i%2 == 1 {
			line = straight(x, 170, x, 0, 0.3)
		}
		f.sweep(line, sections(4, 3), func(_ int, p xy) bool { return inRings(f.boundary, p) })
	}
	add(f)

	f = missField{name: "passes that run together", boundary: [][]xy{box(0, 0, 150, 150)}, width: 4.2, least: 1.47, turnDeg: 77}
	for i := range 6 {
		x := 6 + float64(i)*12
		f.sweep(straight(x, 0, x, 150, 0.3), sections(4, 3), nil)
	}
	for i := range 5 {
		x := 84 + float64(i)*12
		f.sweep(straight(x-2, 0, x+10, 150, 0.3), sections(4, 3), func(_ int, p xy) bool { return inRings(f.boundary, p) })
	}
	add(f)

	f = missField{name: "islands", boundary: [][]xy{
		box(0, 0, 140, 140), {{40, 40}, {62, 44}, {58, 66}, {38, 60}}, {{90, 90}, {92, 90}, {92, 92}, {90, 92}},
	}, width: 4.2, least: 1.47, turnDeg: 45}
	for i := range 12 {
		x := 6 + float64(i)*11.8
		f.sweep(straight(x, 0, x, 140, 0.3), sections(4, 3), func(_ int, p xy) bool { return inRings(f.boundary, p) })
	}
	add(f)

	f = missField{name: "sliver at the boundary", planted: []xy{{120.4, 75}}, boundary: [][]xy{{{0, 0}, {121.4, 0}, {120.3, 150}, {0, 150}}}, width: 4.2, least: 1.47, turnDeg: 301}
	for i := range 10 {
		x := 6 + float64(i)*12
		f.sweep(straight(x, 0, x, 150, 0.3), sections(4, 3), nil)
	}
	add(f)

	f = missField{name: "plugged section", planted: []xy{{55.3, 57}, {118.1, 90}}, boundary: [][]xy{box(0, 0, 144, 120)}, width: 4.2, least: 1.47, turnDeg: 5}
	for i := range 6 {
		x := 12 + float64(i)*23.9
		f.sweep(straight(x, 0, x, 120, 0.3), sections(8, 3), func(s int, p xy) bool {
			return !(s == 2 && i == 2 && p.y > 35 && p.y < 80) && !(s == 7 && i == 4 && p.y > 60)
		})
	}
	add(f)

	f = missField{name: "half-metre sections, two plugged", planted: []xy{{46.15, 40}, {102.55, 20}}, boundary: [][]xy{box(0, 0, 144, 60)}, width: 1, least: 1, turnDeg: 63}
	for i := range 4 {
		x := 18 + float64(i)*35.9
		f.sweep(straight(x, 0, x, 60, 0.4), sections(72, 0.5), func(s int, p xy) bool {
			return !(s == 20 && i == 1 && p.y > 15) && !(s == 61 && i == 2 && p.y < 40)
		})
	}
	add(f)

	f = missField{name: "drift", boundary: [][]xy{box(0, 0, 150, 150)}, width: 6, least: 3, turnDeg: 118}
	for i := range 13 {
		var line []xy
		for y := 0.0; y <= 150; y += 0.3 {
			s := float64(i)*150 + y // of the way, along which positions wander
			line = append(line, xy{6 + float64(i)*11.7 + 0.25*math.Sin(s/37) + 0.15*math.Sin(s/11+1), y})
		}
		f.sweep(line, sections(1, 12), nil)
	}
	add(f)

	f = missField{name: "missed pass, half done", boundary: [][]xy{box(0, 0, 200, 150)}, width: 4.2, least: 1.47, turnDeg: 160}
	for i := range 9 {
		if i == 4 {
			continue
		}
		x := 6 + float64(i)*11.9
		f.sweep(straight(x, 0, x, 150, 0.3), sections(4, 3), func(_ int, p xy) bool { return p.y < 148.8 })
	}
	add(f)

	f = missField{name: "no boundary, gaps and wedges", planted: []xy{{37, 20}, {28.5, 70}}, width: 4.2, least: 1.47, turnDeg: 23}
	for i, x := range []float64{6, 18.3, 30, 44, 55.8, 67.8, 79.8} {
		x1 := x
		if i == 5 {
			x1 = x + 4
		}
		f.sweep(straight(x, 0, x1, 140, 0.3), sections(4, 3), func(s int, p xy) bool { return !(i == 2 && s == 1 && p.y > 40 && p.y < 95) })
	}
	add(f)

	f = missField{name: "no boundary, headland round a field of narrow sections", width: 1.2, least: 1, turnDeg: 84}
	for i := range 6 {
		x := 9 + float64(i)*8.9
		if i == 3 {
			x += 0.4
		}
		f.sweep(straight(x, 10, x, 100, 0.3), sections(10, 0.9), nil)
	}
	for _, l := range [][]xy{straight(-4, 5, 70, 5, 0.3), straight(70, 105.3, -4, 105.3, 0.3)} {
		f.sweep(l, sections(10, 0.9), nil)
	}
	add(f)

	f = missField{name: "wide bar of one section", boundary: [][]xy{box(0, 0, 300, 200)}, width: 18, least: 27, turnDeg: 37}
	for i, x := range []float64{18, 53, 95, 130, 165, 210, 245} {
		f.sweep(straight(x, 0, x+float64(i%2)*4, 200, 0.5), sections(1, 36), nil)
	}
	add(f)
	return out
}

// missedPart is a part as GEOS sees it.
type missedPart struct {
	AreaM2 float64 `json:"area_m2"`
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
}

type missedAnswer struct {
	TookS       float64      `json:"took_s"`
	UnionS      float64      `json:"union_s"`
	FieldM2     float64      `json:"field_m2"`
	UncoveredM2 float64      `json:"uncovered_m2"`
	Parts       []missedPart `json:"parts"`
	Crumbs      []float64    `json:"crumbs"`
}

// geosSkips asks GEOS (https://libgeos.org) for the skips by its buffers.
func geosSkips(t testing.TB, quads []Quad, rule SkipRule) (a missedAnswer) {
	t.Helper()
	needShapely(t)
	var numbers []int64
	numbers = append(numbers, int64(len(quads)))
	for _, q := range quads {
		for _, c := range q {
			numbers = append(numbers, c.X, c.Y)
		}
	}
	numbers = append(numbers, int64(len(rule.Field)))
	for _, ring := range rule.Field {
		numbers = append(numbers, int64(len(ring)))
		for _, c := range ring {
			numbers = append(numbers, c.X, c.Y)
		}
	}
	numbers = append(numbers, rule.Width, int64(rule.MinArea)/2)
	var in, out, complaint bytes.Buffer
	if err := binary.Write(&in, binary.NativeEndian, numbers); err != nil {
		t.Fatal(err)
	}
	run := exec.Command(python, "testdata/skips.py")
	run.Stdin, run.Stdout, run.Stderr = &in, &out, &complaint
	if err := run.Run(); err != nil {
		t.Fatalf("run testdata/skips.py: %v\n%s", err, complaint.String())
	}
	if err := json.Unmarshal(out.Bytes(), &a); err != nil {
		t.Fatalf("answer of testdata/skips.py: %v\n%s", err, out.String())
	}
	return a
}
