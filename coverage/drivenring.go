package coverage

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// Loops of a driven line. Where the machine reverses or turns on the spot the end
// of the bar swings: the line crosses itself and what lies between is no ground of
// the field. Such a loop reaches this far at most; a larger one is a line that was
// driven wrong, and which side of it is the field only the operator knows.
const (
	drivenLoopM     = 25 // or two widths of the bar if that is more
	maxDrivenMeets  = 100_000
	maxDrivenPasses = 100
)

// ring is the line as one ring that crosses itself nowhere, closed,
// counter-clockwise, on d.plane.
func (d *driven) ring() ([]plane.Coord, error) {
	p := &d.path
	if len(p.corners) > maxDrivenCorners {
		return nil, fmt.Errorf("the line has more than %d corners: drive round one field at a time", maxDrivenCorners)
	}
	line := p.line()
	for len(line) > 1 && line[len(line)-1] == line[0] {
		line = line[:len(line)-1]
	}
	if len(line) < 3 {
		return nil, fmt.Errorf("%.0f m driven enclose no ground: drive round the field first", p.lengthM)
	}
	ring, err := d.withoutLoops(line)
	if err != nil {
		return nil, err
	}
	if len(ring) < 3 {
		return nil, errors.New("the line runs back on itself and encloses no ground: drive round the field")
	}
	if plane.Area2(ring) < 0 {
		slices.Reverse(ring)
	}
	ring = append(ring, ring[0])
	ring = ground.Simplify([]ground.Polygon{{ring}}, int64(math.Round(drivenSimpleM*plane.UnitsPerM)))[0][0]
	if m2 := plane.AreaM2(plane.Area2(ring)); m2 < drivenLeastM2 {
		return nil, fmt.Errorf("the line encloses %.0f m2, a field has at least %d: drive round the field", m2, drivenLeastM2)
	}
	return ring, nil
}

// loop is a part of the ring that begins and ends where sides from and to meet:
// the corners after from, up to to. to may be past the end of the ring, to go on
// at its start.
type loop struct {
	from, to int
	at       plane.Coord
	lengthM  float64
}

// withoutLoops cuts the loops, the shortest first, of a ring that is not closed.
func (d *driven) withoutLoops(ring []plane.Coord) ([]plane.Coord, error) {
	reachM := max(drivenLoopM, 2*d.barM)
	for range maxDrivenPasses {
		loops, many := loopsOf(ring)
		if many {
			break
		}
		if len(loops) == 0 {
			return ring, nil
		}
		cut := cutLoops(ring, loops, reachM)
		if len(cut) == len(ring) {
			lat, lon := d.plane.InverseCoord(loops[0].at)
			return nil, fmt.Errorf("the line crosses itself at %.7f, %.7f (longitude, latitude), in a loop of %.0f m: drive round the field once, or stop where the line should close", lon, lat, loops[0].lengthM)
		}
		if ring = cut; len(ring) < 3 {
			return ring, nil
		}
	}
	return nil, errors.New("the line crosses itself in too many places: drive round the field once, without standing on the way")
}

// loopsOf finds the loops of a ring that is not closed, the shortest first.
func loopsOf(ring []plane.Coord) (loops []loop, many bool) {
	n := len(ring)
	closed := append(slices.Clone(ring), ring[0])
	way := make([]float64, n+1)
	for i := range n {
		way[i+1] = way[i] + distanceM(closed[i], closed[i+1])
	}
	ground.Contacts(closed, func(i, j int) bool {
		l := loop{from: i, to: j}
		switch {
		case j == i+1: // doubling back in the corner between
			l.at = closed[i+1]
		case i == 0 && j == n-1:
			l = loop{from: j, to: n, at: ring[0]}
		default:
			l.at = meeting(closed[i], closed[i+1], closed[j], closed[j+1])
			l.lengthM = way[j] - way[i+1] + distanceM(l.at, closed[i+1]) + distanceM(l.at, closed[j])
			if other := way[n] - l.lengthM; other < l.lengthM {
				l.from, l.to, l.lengthM = j, i+n, other
			}
		}
		loops = append(loops, l)
		return len(loops) < maxDrivenMeets
	})
	slices.SortFunc(loops, func(a, b loop) int {
		return cmp.Or(cmp.Compare(a.lengthM, b.lengthM), cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to))
	})
	return loops, len(loops) == maxDrivenMeets
}

// meeting is where sides a b and c d meet: an end of the one on the other, if there
// is one.
func meeting(a, b, c, d plane.Coord) plane.Coord {
	for _, e := range [4]struct{ a, b, end plane.Coord }{{a, b, c}, {a, b, d}, {c, d, a}, {c, d, b}} {
		if plane.Turn(e.a, e.b, e.end) == 0 && inOrder(e.a.X, e.b.X, e.end.X) && inOrder(e.a.Y, e.b.Y, e.end.Y) {
			return e.end
		}
	}
	ux, uy := b.Sub(a).M()
	vx, vy := d.Sub(c).M()
	wx, wy := c.Sub(a).M()
	f := 0.0
	if area := float64(ux*vy) - float64(uy*vx); area != 0 {
		f = max(0, min(1, (float64(wx*vy)-float64(wy*vx))/area))
	}
	step := plane.Snap(float64(ux*f), float64(uy*f))
	return plane.Coord{X: a.X + step.X, Y: a.Y + step.Y}
}

// inOrder tells whether v is one of a and b or in between.
func inOrder(a, b, v int64) bool { return min(a, b) <= v && v <= max(a, b) }

// cutLoops is the ring without those of its loops that reach no further than
// reachM; of loops that have sides in common the first is cut.
func cutLoops(ring []plane.Coord, loops []loop, reachM float64) []plane.Coord {
	n := len(ring)
	dropped := make([]bool, n) // corners
	used := make([]bool, n)    // sides
	put := make([]int, n)      // loop whose place follows the corner, plus 1
	for k, l := range loops {
		if !l.within(ring, reachM) {
			continue
		}
		free := true
		for i := l.from; i <= l.to && free; i++ {
			free = !used[i%n]
		}
		if !free {
			continue
		}
		for i := l.from; i <= l.to; i++ {
			used[i%n] = true
			if i > l.from {
				dropped[i%n] = true
			}
		}
		put[l.from] = k + 1
	}
	var out []plane.Coord
	add := func(c plane.Coord) {
		if len(out) == 0 || out[len(out)-1] != c {
			out = append(out, c)
		}
	}
	for i, c := range ring {
		if !dropped[i] {
			add(c)
		}
		if k := put[i]; k > 0 && loops[k-1].lengthM > 0 {
			add(loops[k-1].at)
		}
	}
	for len(out) > 1 && out[0] == out[len(out)-1] {
		out = out[:len(out)-1]
	}
	return out
}

func (l loop) within(ring []plane.Coord, reachM float64) bool {
	for i := l.from + 1; i <= l.to; i++ {
		if distanceM(l.at, ring[i%len(ring)]) > reachM {
			return false
		}
	}
	return true
}
