package picture

// thinner leaves out bars that lie between others.
type thinner struct {
	kept    []bar
	pending []bar // since the last kept; the latest is the last
}

// maxPending bounds what is looked at for every bar.
const maxPending = 64

func (t *thinner) begin(b bar) {
	t.kept, t.pending = append(t.kept[:0], b), t.pending[:0]
}

// add takes the next bar; tolerance is how far off the ends of one left out may
// lie.
func (t *thinner) add(b bar, tolerance int64) {
	if n := len(t.pending); n > 0 && (n >= maxPending || !t.spans(b, tolerance)) {
		t.kept = append(t.kept, t.pending[n-1])
		t.pending = t.pending[:0]
	}
	t.pending = append(t.pending, b)
}

// spans tells whether b follows the last bar kept closely enough.
func (t *thinner) spans(b bar, tolerance int64) bool {
	a := t.kept[len(t.kept)-1]
	left, right := a.to(b)
	ll, rr := dot(left, left), dot(right, right)
	limit := float64(tolerance * tolerance)
	for _, p := range t.pending {
		l, r := a.to(p)
		if off(left, l, ll) > limit || off(right, r, rr) > limit {
			return false
		}
	}
	return true
}

// off is the square of the distance of p from the way v, which is of square
// length vv; both begin at the same place.
func off(v, p vector, vv float64) float64 {
	along := dot(v, p)
	switch {
	case along <= 0 || vv == 0:
		return dot(p, p)
	case along >= vv:
		return dot(vector{p.x - v.x, p.y - v.y}, vector{p.x - v.x, p.y - v.y})
	}
	cross := float64(float64(v.x)*float64(p.y)) - float64(float64(v.y)*float64(p.x))
	return float64(cross*cross) / vv
}

// bars are those kept, to the last one.
func (t *thinner) bars(dst []bar) []bar {
	dst = append(dst, t.kept...)
	if n := len(t.pending); n > 0 {
		dst = append(dst, t.pending[n-1])
	}
	return dst
}
