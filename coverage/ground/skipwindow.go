package ground

import "math"

// window is the half-open stretch [lo, hi) of scanlines that is looked at; empty
// where lo >= hi.
type window struct{ lo, hi int32 }

func (w window) empty() bool { return w.lo >= w.hi }

// with is the smallest window around both.
func (w window) with(o window) window {
	switch {
	case o.empty():
		return w
	case w.empty():
		return o
	}
	return window{min(w.lo, o.lo), max(w.hi, o.hi)}
}

// wider is the window with d more on either side.
func (w window) wider(d int64) window {
	if w.empty() {
		return w
	}
	return window{int32(max(int64(w.lo)-d, -wide)), int32(min(int64(w.hi)+d, wide))}
}

// windows is one window for every strip of rows; w[0] is that of strip first.
type windows struct {
	first int64
	w     []window
}

func (v *windows) empty() bool { return len(v.w) == 0 }

func (v *windows) end() int64 { return v.first + int64(len(v.w)) }

func (v *windows) at(strip int64) window {
	if i := strip - v.first; i >= 0 && i < int64(len(v.w)) {
		return v.w[i]
	}
	return window{}
}

func (v *windows) mark(strip int64, w window) {
	if len(v.w) == 0 {
		v.first = strip
	}
	if strip < v.first {
		grown := make([]window, int(v.first-strip)+len(v.w), int(v.first-strip)+len(v.w)+16)
		copy(grown[v.first-strip:], v.w)
		v.first, v.w = strip, grown
	}
	for strip >= v.end() {
		v.w = append(v.w, window{})
	}
	at := &v.w[strip-v.first]
	*at = at.with(w)
}

// reach puts into dst, strip by strip, all that lies within d of v.
func (v *windows) reach(dst *windows, d int64) {
	strips := d/(rowHeight*stripRows) + 2
	dst.first, dst.w = v.first-strips, dst.w[:0]
	if v.empty() {
		return
	}
	for s := dst.first; s < v.end()+strips; s++ {
		var w window
		for o := max(s-strips, v.first); o <= s+strips && o < v.end(); o++ {
			w = w.with(v.w[o-v.first])
		}
		dst.w = append(dst.w, w.wider(d))
	}
}

// root is the square root, rounded down, of a number that is not negative and
// below 2^53.
func root(v int64) int64 {
	r := int64(math.Sqrt(float64(v)))
	for r*r > v {
		r--
	}
	for (r+1)*(r+1) <= v {
		r++
	}
	return r
}
