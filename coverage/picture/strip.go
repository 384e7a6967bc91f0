package picture

import (
	"math"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/plane"
)

// bar is the two ends of a strip's bar at a moment, steps of 0.1 mm from the
// origin of the Swaths.
type bar struct{ lx, ly, rx, ry int32 }

// box is the smallest box around bars.
type box struct{ loX, loY, hiX, hiY int32 }

// strip is a closed strip, in as little memory as it takes.
type strip struct {
	startNS, endNS int64
	box            box
	bars, tanks    uint32 // where they begin in their logs
	barCount       uint16
	from, to       uint16
	tankCount      uint8
}

// laid is what one tank laid in a strip.
type laid struct {
	use          uint16 // of the products' list
	has          uint8
	rate, target float32 // means, per m2
}

const (
	hasRate = 1 << iota
	hasTarget
)

// use is a tank and what it held.
type use struct {
	tank          int
	product, unit string
}

// Swath is a strip as it is drawn: the ground between the left and the right ends
// of its bars, which are as many. It belongs to whoever shows it and changes with
// the next one.
type Swath struct {
	From, To    int // sections from 1, leftmost, inclusive
	Start, End  time.Time
	Left, Right []plane.Coord
	Tanks       []coverage.SwathTank // means over the strip, in ascending order of tank
}

// reach is the farthest that a bar may lie from the origin: 200 km, as far as
// ground reaches.
const reach = 200_000 * plane.UnitsPerM

func boxOf(bars []bar) box {
	b := box{bars[0].lx, bars[0].ly, bars[0].lx, bars[0].ly}
	for _, v := range bars {
		b.loX, b.hiX = min(b.loX, v.lx, v.rx), max(b.hiX, v.lx, v.rx)
		b.loY, b.hiY = min(b.loY, v.ly, v.ry), max(b.hiY, v.ly, v.ry)
	}
	return b
}

func (b box) with(o box) box {
	return box{min(b.loX, o.loX), min(b.loY, o.loY), max(b.hiX, o.hiX), max(b.hiY, o.hiY)}
}

func (b box) meets(o box) bool {
	return b.loX <= o.hiX && o.loX <= b.hiX && b.loY <= o.hiY && o.loY <= b.hiY
}

// vector is a way in steps.
type vector struct{ x, y int64 }

func (b bar) across() vector {
	return vector{int64(b.rx) - int64(b.lx), int64(b.ry) - int64(b.ly)}
}

// to is how the left and the right end move.
func (b bar) to(o bar) (left, right vector) {
	return vector{int64(o.lx) - int64(b.lx), int64(o.ly) - int64(b.ly)},
		vector{int64(o.rx) - int64(b.rx), int64(o.ry) - int64(b.ry)}
}

// within tells whether v points where u does, give or take 30 degrees. A v of no
// length does.
func within(u, v vector) bool {
	const cos2 = 0.75 // the square of the cosine of 30 degrees
	d := dot(u, v)
	return d >= 0 && float64(d*d) >= float64(float64(dot(u, u)*dot(v, v))*cos2)
}

func dot(u, v vector) float64 {
	return float64(float64(u.x)*float64(v.x)) + float64(float64(u.y)*float64(v.y))
}

// way is how far the middle of a bar goes while its ends do, about.
func way(left, right vector) float64 {
	x, y := float64(left.x+right.x), float64(left.y+right.y)
	return float64(math.Sqrt(float64(x*x)+float64(y*y)) / 2)
}

// area is that between two bars, square steps.
func (b bar) area(o bar) float64 {
	p, q := vector{int64(o.rx) - int64(b.lx), int64(o.ry) - int64(b.ly)}, vector{int64(o.lx) - int64(b.rx), int64(o.ly) - int64(b.ry)}
	return float64(math.Abs(float64(float64(p.x)*float64(q.y))-float64(float64(p.y)*float64(q.x))) / 2)
}

// ahead is square to the bar, to the side to which it moves.
func ahead(across, left, right vector) vector {
	n := vector{-across.y, across.x}
	if dot(n, vector{left.x + right.x, left.y + right.y}) < 0 {
		return vector{across.y, -across.x} // backing up
	}
	return n
}

// crossing is where a-b and c-d cross, each within the other's length.
func crossing(a, b, c, d plane.Coord) (plane.Coord, bool) {
	ca, cb := plane.Cross(c, d, a), plane.Cross(c, d, b)
	if !opposite(ca, cb) || !opposite(plane.Cross(a, b, c), plane.Cross(a, b, d)) {
		return plane.Coord{}, false
	}
	share := float64(ca) / (float64(ca) - float64(cb))
	return plane.Coord{
		X: a.X + int64(float64(float64(b.X-a.X)*share)),
		Y: a.Y + int64(float64(float64(b.Y-a.Y)*share)),
	}, true
}

func opposite(a, b int64) bool { return a > 0 && b < 0 || a < 0 && b > 0 }
