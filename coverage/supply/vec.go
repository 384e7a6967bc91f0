package supply

import "math"

// vec is a place or a way on a plane, m east and north.
type vec struct{ x, y float64 }

func (a vec) to(b vec) vec      { return vec{b.x - a.x, b.y - a.y} }
func (a vec) dot(b vec) float64 { return float64(a.x*b.x) + float64(a.y*b.y) }

// left is how far b lies to the left of the way a, times a's length.
func (a vec) left(b vec) float64 { return float64(a.x*b.y) - float64(a.y*b.x) }

func (a vec) length() float64 { return math.Sqrt(a.dot(a)) }

// on is the place m metres from a along forward, which has length 1.
func (a vec) on(forward vec, m float64) vec {
	return vec{a.x + float64(forward.x*m), a.y + float64(forward.y*m)}
}
