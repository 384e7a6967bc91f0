package locate

import (
	"math"

	"drawbar/coverage/plane"
)

// The rules of what is ahead; see the package comment.
const (
	offerS          = 20   // to the border, at most
	offerM          = 100  // the same
	keepS           = 25   // an offer that stands is kept up to this
	keepM           = 125  // the same
	leastMPS        = 0.5  // slower has no course
	turningDegS     = 10   // faster is a turn
	turnOverS       = 1    // over which the rate of turn is smoothed
	turnNS          = 5e9  // after work, while the machine lifts and turns
	missNS          = 2e9  // the course enters no more for so long: turned away
	leastRise       = 0.25 // depth for each metre past the border that is no following of it
	firstSampleM    = 5    // past the border; the next ones twice as far
	furthestSampleM = 20
)

// bearing is where the machine is going.
type bearing struct {
	dir       point // of length 1
	speedMPS  float64
	courseDeg float64
	turnDegS  float64 // smoothed
	known     bool    // courseDeg is
	moving    bool    // dir and speedMPS are
}

// step takes the course of the fix dtNS after the last one.
func (b *bearing) step(dtNS int64, f Fix) {
	b.moving = f.HasSpeed && f.HasCourse && f.SpeedMPS >= leastMPS && math.Abs(f.CourseDeg) <= 360 && f.SpeedMPS < math.MaxFloat32
	if !b.moving {
		b.known = false
		return
	}
	if dt := float64(dtNS) / 1e9; b.known && dt > 0 {
		rate := wrapDeg(f.CourseDeg-b.courseDeg) / dt
		b.turnDegS += float64((rate - b.turnDegS) * (dt / (dt + turnOverS)))
	} else {
		b.turnDegS = 0
	}
	b.courseDeg, b.speedMPS, b.known = f.CourseDeg, f.SpeedMPS, true
	b.dir.x, b.dir.y = plane.Sincos(float64(f.CourseDeg * plane.DegToRad))
}

// wrapDeg brings an angle to [-180, 180).
func wrapDeg(d float64) float64 {
	return d - float64(360.0*math.Floor((d+180)/360.0))
}

// reachM is how far the machine comes in so many seconds, most metres where that is
// less; 0 without a course.
func (b *bearing) reachM(s, most float64) float64 {
	if !b.moving {
		return 0
	}
	return min(float64(b.speedMPS*s), most)
}

// choose keeps the offer, or drops it and finds another. inS is in how many seconds
// its field is entered.
func (l *Locator) choose(t int64, f Fix) (inS float64, has bool) {
	if l.offer != none {
		if inS, has, keep := l.keep(t, f); keep {
			return inS, has
		}
		l.dropOffer()
	}
	if l.in != none && l.mayOffer(l.in) {
		l.offer, l.wasIn = l.in, true
		return 0, true
	}
	if !l.bearing.moving || math.Abs(l.bearing.turnDegS) > turningDegS || l.workedNS != sinceUnknown && t-l.workedNS < turnNS {
		return 0, false
	}
	field, ahead := l.ahead(f)
	if field == none || !l.mayOffer(field) {
		return 0, false
	}
	l.offer = field
	return ahead / l.bearing.speedMPS, true
}

func (l *Locator) dropOffer() { l.offer, l.wasIn, l.missedNS = none, false, sinceUnknown }

func (l *Locator) mayOffer(field int) bool {
	if field == l.workAt {
		return false
	}
	for _, d := range l.declined {
		if int(d) == field {
			return false
		}
	}
	return true
}

// keep tells whether the offer stands.
func (l *Locator) keep(t int64, f Fix) (inS float64, has, keep bool) {
	if !l.mayOffer(l.offer) {
		return 0, false, false
	}
	if l.in == l.offer {
		l.wasIn = true
		return 0, true, true
	}
	if l.wasIn {
		return 0, false, false // passed
	}
	if find(l.inside, int32(l.offer)) != nil {
		l.missedNS = sinceUnknown
		return 0, true, true
	}
	if !l.bearing.moving {
		l.missedNS = sinceUnknown
		return 0, false, true
	}
	s := l.ix.shapes[l.offer]
	if m, ok := s.aheadM(s.at(f.LonDeg, f.LatDeg), l.bearing.dir, l.bearing.reachM(keepS, keepM)); ok {
		l.missedNS = sinceUnknown
		return m / l.bearing.speedMPS, true, true
	}
	if l.missedNS == sinceUnknown {
		l.missedNS = t
	}
	return 0, false, t-l.missedNS < missNS
}

// ahead is the field that the machine enters next, and how far ahead its border is.
func (l *Locator) ahead(f Fix) (field int, aheadM float64) {
	field = none
	reach := l.bearing.reachM(offerS, offerM)
	for _, n := range l.near {
		if find(l.inside, n) != nil {
			continue
		}
		s := l.ix.shapes[n]
		p := s.at(f.LonDeg, f.LatDeg)
		m, ok := s.aheadM(p, l.bearing.dir, reach)
		if !ok || field != none && (m > aheadM || m == aheadM && int(n) > field) || !s.entersAt(p, l.bearing.dir, m) {
			continue
		}
		field, aheadM = int(n), m
	}
	return field, aheadM
}

// entersAt tells whether the way that meets the border so far ahead leads into the
// field, and not along its border.
func (s *shape) entersAt(p, dir point, aheadM float64) bool {
	for past := float64(firstSampleM); past <= furthestSampleM; past *= 2 {
		m := aheadM + past
		q := point{p.x + float64(dir.x*m), p.y + float64(dir.y*m)}
		if in, _ := s.inside(q); in && s.borderM(q, past) >= leastRise*past {
			return true
		}
	}
	return false
}
