package picture

import "math"

// thinner leaves out bars that lie between others.
type thinner struct {
	kept        []bar
	last        bar // that came after the last kept
	some        bool
	left, right fan // how the ends may go on from the last kept
}

func (t *thinner) begin(b bar) {
	t.kept, t.some, t.left, t.right = append(t.kept[:0], b), false, fan{}, fan{}
}

// add takes the next bar; tolerance is how far off the ends of one left out may
// lie.
func (t *thinner) add(b bar, tolerance int64) {
	left, right := t.kept[len(t.kept)-1].to(b)
	if t.some && !(t.left.reaches(left) && t.right.reaches(right)) {
		t.kept = append(t.kept, t.last)
		left, right = t.last.to(b)
		t.left, t.right = fan{}, fan{}
	}
	t.left.narrow(left, tolerance)
	t.right.narrow(right, tolerance)
	t.last, t.some = b, true
}

// bars are those kept, to the last one.
func (t *thinner) bars(dst []bar) []bar {
	dst = append(dst, t.kept...)
	if t.some {
		dst = append(dst, t.last)
	}
	return dst
}

// fan is the directions in which a straight line from a place passes others within
// a tolerance. The zero fan is all of them.
//
//	place +-----------  from the one hand
//	        `--. o  o
//	            `-----  to the other
type fan struct {
	from, to heading // counter-clockwise
	far      float64 // square of the way to the farthest place; 0: none to pass
}

// heading is a direction, of any length.
type heading struct{ x, y float64 }

// reaches tells whether a straight line so far passes all places on its way, which
// lie no farther.
func (f *fan) reaches(v vector) bool {
	if f.far == 0 {
		return true
	}
	h := heading{float64(v.x), float64(v.y)}
	return dot(v, v) >= f.far && cross(f.from, h) >= 0 && cross(h, f.to) >= 0
}

// narrow has lines pass one more place, which f reaches.
func (f *fan) narrow(v vector, tolerance int64) {
	d2, off := dot(v, v), float64(tolerance)
	beside := d2 - float64(off*off)
	if beside <= 0 {
		return // so near that no line misses it
	}
	along := math.Sqrt(beside)
	x, y := float64(v.x), float64(v.y)
	from := heading{float64(x*along) + float64(y*off), float64(y*along) - float64(x*off)}
	to := heading{float64(x*along) - float64(y*off), float64(y*along) + float64(x*off)}
	if f.far == 0 || cross(f.from, from) > 0 {
		f.from = from
	}
	if f.far == 0 || cross(f.to, to) < 0 {
		f.to = to
	}
	f.far = d2
}

func cross(u, v heading) float64 { return float64(u.x*v.y) - float64(u.y*v.x) }
