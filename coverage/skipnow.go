package coverage

import (
	"time"

	"drawbar/coverage/ground"
)

// mostShown is how many skips a snapshot lists.
const mostShown = 5

// shownSkips is what a snapshot shows of the skips.
type shownSkips struct {
	open    int
	largest []Skip // not changed once made
}

// measure is what is worked out of a part for those who look at it.
type measure struct{ widthM, lengthM, latDeg, lonDeg float64 }

// show brings the search up to date for someone who watches, twice a second at
// most by what was heard last: also where the machine does not move on.
func (k *skips) show(op *Operation, heardNS int64) bool {
	const everyNS = 0.5e9
	if k.made && k.ground != nil && k.shownNS <= heardNS && heardNS-k.shownNS < everyNS {
		return true
	}
	k.shownNS, k.shown = heardNS, shownSkips{}
	if !k.fresh(op) {
		return false
	}
	if op.worked {
		k.shown = k.showing(op)
	}
	return true
}

// showing counts the skips that are open and lists the largest of those that are
// not closed. It remembers nothing that a later look depends on.
func (k *skips) showing(op *Operation) (s shownSkips) {
	var top [mostShown]*ground.Part
	n := 0
	for _, p := range k.ground.Parts() {
		if !k.near(p) {
			s.open++
		}
		at := n
		for at > 0 && p.Area() > top[at-1].Area() {
			at--
		}
		if at == mostShown {
			continue
		}
		n = min(n+1, mostShown)
		copy(top[at+1:n], top[at:])
		top[at] = p
	}
	for _, p := range top[:n] {
		v := Skip{part: p}
		if k.watch {
			v.Since = k.since(p, op.End)
		}
		if !k.near(p) {
			v.State = SkipOpen
		}
		k.describe(op, &v)
		s.largest = append(s.largest, v)
	}
	return s
}

// since is when a part arose, as look would find.
func (k *skips) since(p *ground.Part, now time.Time) time.Time {
	best := -1
	for i := range k.known {
		s := &k.known[i]
		if s.now != nil && (best < 0 || s.since.Before(k.known[best].since)) && s.now.Overlaps(p) {
			best = i
		}
	}
	if best < 0 {
		return k.firstTouch(p, now)
	}
	return k.known[best].since
}

// describe works out the figures of a skip, each part's once for as long as it is
// shown.
func (k *skips) describe(op *Operation, v *Skip) {
	m, ok := k.measured[v.part]
	if !ok {
		m = measure{widthM: v.part.WidthM(), lengthM: v.part.LengthM()}
		m.latDeg, m.lonDeg = op.Plane.InverseCoord(v.part.Position())
		if k.measured == nil || len(k.measured) > 2*len(k.ground.Parts())+len(k.known)+64 {
			k.measured = map[*ground.Part]measure{} // parts that are no more
		}
		k.measured[v.part] = m
	}
	v.AreaM2, v.WidthM, v.LengthM, v.LatDeg, v.LonDeg = v.part.Area().M2(), m.widthM, m.lengthM, m.latDeg, m.lonDeg
}
