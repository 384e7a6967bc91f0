package ground

import "drawbar/coverage/plane"

// survey keeps the first quads, so that the frame can still be turned once it
// shows which way the work goes.
type survey struct {
	log  []Quad
	done bool
}

func (v survey) clone() survey {
	v.log = append([]Quad(nil), v.log...)
	return v
}

func (v survey) bytes() int { return cap(v.log) * 64 }

// firstFrame is the frame for a set that begins with q.
func firstFrame(q Quad) Frame {
	return newFrame(q[0], 0.9, 0.1)
}

func (s *Set) note(q Quad) { s.survey.done = true }

// Polygon is one piece of ground: its outer ring counter-clockwise, then its
// holes clockwise. Each ring is closed (its last corner is its first) and
// crosses neither itself nor another.
type Polygon [][]plane.Coord

func (s *Set) Outline(times int) []Polygon { return nil }

// Within is the covered ground inside a polygon with holes (even-odd).
func (s *Set) Within(rings [][]plane.Coord) Area { return 0 }
