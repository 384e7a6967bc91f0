package ground

import (
	"math"
	"math/rand/v2"

	"drawbar/coverage/plane"
)

// drive makes quads as a machine would: passes over a field, the bar sampled
// every stepM. Lengths are metres.
type drive struct {
	widthM, lengthM float64 // across and along the passes
	barM            float64
	sections        int
	overlapM        float64 // of neighbouring passes
	stepM           float64
	noiseM          float64 // steering: standard deviation across
	angleDeg        float64 // of the passes, from the y axis, counter-clockwise
	switching       float64 // share of the sections' states that change a metre
	curveM          float64 // passes wave by this much
	headland        bool    // one round first
	turnM           float64 // radius of the turns between passes, bar on; 0 = no turns
	merged          bool    // neighbouring sections in the same state are one quad
	seed            uint64
}

// place is where the bar is at a moment.
type place struct {
	x, y, heading float64 // centre of the bar; radians from the y axis, counter-clockwise
}

func (d drive) path() (passes [][]place) {
	rng := rand.New(rand.NewPCG(d.seed, 1))
	wander := 0.0
	steer := func() float64 { // wanders with a memory of about 5 m
		keep := math.Exp(-d.stepM / 5)
		wander = wander*keep + rng.NormFloat64()*d.noiseM*math.Sqrt(1-keep*keep)
		return wander
	}
	left, right, low, high := 0.0, d.widthM, 0.0, d.lengthM
	line := func(x0, y0, x1, y1 float64) {
		length := math.Hypot(x1-x0, y1-y0)
		heading := math.Atan2(-(x1 - x0), y1-y0)
		n := max(1, int(math.Round(length/d.stepM)))
		var pass []place
		for i := 0; i <= n; i++ {
			t := float64(i) / float64(n)
			off, turn := steer(), 0.0
			if d.curveM != 0 {
				k := 2 * math.Pi / 200
				s := t * length
				if y1 < y0 {
					s = length - s // the same curve, driven the other way
				}
				wave := d.curveM * math.Sin(k*s)
				slope := d.curveM * k * math.Cos(k*s)
				if y1 < y0 {
					off += wave
					turn = math.Atan(slope)
				} else {
					off -= wave
					turn = math.Atan(slope)
				}
			}
			pass = append(pass, place{
				x: x0 + (x1-x0)*t - math.Cos(heading)*off, y: y0 + (y1-y0)*t - math.Sin(heading)*off,
				heading: heading + turn + rng.NormFloat64()*d.noiseM/5,
			})
		}
		passes = append(passes, pass)
	}
	if d.headland {
		h := d.barM / 2
		line(h, 0, h, d.lengthM)
		line(0, d.lengthM-h, d.widthM, d.lengthM-h)
		line(d.widthM-h, d.lengthM, d.widthM-h, 0)
		line(d.widthM, h, 0, h)
		inset := d.barM - d.overlapM
		left, right, low, high = left+inset, right-inset, low+inset, high-inset
	}
	for i := 0; ; i++ {
		x := left + d.barM/2 + float64(i)*(d.barM-d.overlapM)
		if x > right {
			break
		}
		if i%2 == 0 {
			line(x, low, x, high)
		} else {
			line(x, high, x, low)
		}
		if d.turnM > 0 {
			passes = append(passes, d.turn(passes[len(passes)-1], i%2 == 0))
		}
	}
	return passes
}

// turn is half a circle from the end of a pass, to the right or to the left.
func (d drive) turn(pass []place, right bool) (turn []place) {
	from := pass[len(pass)-1]
	side := 1.0
	if right {
		side = -1
	}
	cx, cy := from.x-side*math.Cos(from.heading)*d.turnM, from.y-side*math.Sin(from.heading)*d.turnM
	n := max(4, int(math.Pi*d.turnM/d.stepM))
	for i := 0; i <= n; i++ {
		h := from.heading + side*math.Pi*float64(i)/float64(n)
		turn = append(turn, place{x: cx + side*math.Cos(h)*d.turnM, y: cy + side*math.Sin(h)*d.turnM, heading: h})
	}
	return turn
}

// each calls do with the quads of every step in turn.
func (d drive) each(do func(step []Quad)) {
	rng := rand.New(rand.NewPCG(d.seed, 2))
	on := make([]bool, d.sections)
	for i := range on {
		on[i] = true
	}
	ends := func(p place) []plane.Coord { // from left to right
		out := make([]plane.Coord, d.sections+1)
		for i := range out {
			across := (float64(i)/float64(d.sections) - 0.5) * d.barM
			out[i] = d.turned(p.x+math.Cos(p.heading)*across, p.y+math.Sin(p.heading)*across)
		}
		return out
	}
	var step []Quad
	for _, pass := range d.path() {
		before := ends(pass[0])
		for _, p := range pass[1:] {
			after := ends(p)
			step = step[:0]
			for i := 0; i < d.sections; {
				if d.switching > 0 && rng.Float64() < d.switching*d.stepM {
					on[i] = !on[i]
				}
				j := i + 1
				for d.merged && j < d.sections && on[j] == on[i] {
					j++
				}
				if on[i] {
					step = append(step, Quad{before[i], before[j], after[j], after[i]})
				}
				i = j
			}
			do(step)
			before = after
		}
	}
}

func (d drive) quads() (all []Quad) {
	d.each(func(step []Quad) { all = append(all, step...) })
	return all
}

// turned is a place of the field on the plane, where the field lies at an angle
// some way from the origin.
func (d drive) turned(x, y float64) plane.Coord {
	sin, cos := math.Sincos(d.angleDeg * math.Pi / 180)
	return at(x*cos-y*sin+123.4567, x*sin+y*cos-765.4321)
}

// at is a place in metres on the grid.
func at(x, y float64) plane.Coord {
	return plane.Coord{X: int64(math.Round(x * plane.UnitsPerM)), Y: int64(math.Round(y * plane.UnitsPerM))}
}

// field is a square field of that many hectares with 18 m passes that overlap
// by 5 %.
func field(ha float64) drive {
	side := math.Sqrt(ha * 10_000)
	return drive{widthM: side, lengthM: side, barM: 18, sections: 18, overlapM: 0.9, stepM: 0.25, noiseM: 0.02, angleDeg: 31, merged: true, seed: 1}
}

// randomDrive is a small field of any kind.
func randomDrive(seed uint64) drive {
	rng := rand.New(rand.NewPCG(seed, 3))
	maybe := func(v float64) float64 { return v * float64(rng.IntN(2)) }
	d := drive{
		widthM: 60 + 60*rng.Float64(), lengthM: 50 + 80*rng.Float64(),
		barM: 3 + 21*rng.Float64(), sections: 1 + rng.IntN(12),
		stepM: 0.2 + 0.6*rng.Float64(), noiseM: maybe(0.03 * rng.Float64()), angleDeg: 360 * rng.Float64(),
		switching: maybe(0.02), curveM: maybe(6 * rng.Float64()), headland: rng.IntN(2) == 0, merged: rng.IntN(3) > 0, seed: seed,
	}
	d.overlapM = d.barM * (0.2*rng.Float64() - 0.03)
	d.turnM = maybe(d.barM * rng.Float64())
	return d
}
