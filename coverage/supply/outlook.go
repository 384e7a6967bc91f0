package supply

import (
	"drawbar/coverage"
	"drawbar/coverage/plane"
)

// Answer is yes, no or not known.
type Answer uint8

// The answers.
const (
	Unknown Answer = iota
	Yes
	No
)

// String is the answer in a word.
func (a Answer) String() string { return [...]string{"unknown", "yes", "no"}[min(a, No)] }

func answer(is bool) Answer {
	if is {
		return Yes
	}
	return No
}

// Forecast is what lies ahead of the machine.
type Forecast struct {
	PassLeftM   float64 // way to the end of the present pass, m; with HasPassLeft
	NextPassM   float64 // work of the next pass, m of way; with HasNextPass
	Tanks       []Outlook
	HasPassLeft bool
	HasNextPass bool
}

// Outlook is how far a tank reaches at its present rate.
type Outlook struct {
	Tank          int
	AreaLeftM2    float64 // m2; with HasArea
	DistanceLeftM float64 // m of work with the sections that are on, the whole bar where none is; with HasDistance
	TimeLeftS     float64 // s of that at the present speed; with HasTime
	RunsOut       Place   // with ThisPass No
	ThisPass      Answer  // it is enough for the rest of the present pass
	NextPass      Answer  // and for the next pass after that
	NextShare     float64 // a share, no unit: what is left after this pass of what the next one needs, 10 at most; with NextPass known
	HasArea       bool
	HasDistance   bool
	HasTime       bool
}

// Place is where a tank runs out.
type Place struct {
	LatDeg, LonDeg float64
	InM            float64 // way from the middle of the bar, m
	InS            float64 // the same at the present speed, s; with HasInS
	HasInS         bool
}

const (
	leastSpeedMPS = 0.2 // slower is standing
	mostShare     = 10
)

// Of works out the forecast for a snapshot and the pass it is on. It is nil of
// tanks that were never set up nor heard of.
func Of(s *coverage.Snapshot, p Pass) Forecast {
	var f Forecast
	w := widths(s)
	here, placed := place(s)
	ahead := p.ahead(s, here, placed)
	if ahead.known {
		f.PassLeftM, f.HasPassLeft = ahead.endM, true
	}
	f.NextPassM, f.HasNextPass = p.next(ahead)
	needM2, hasNeed := f.NextPassM*w.bar, f.HasNextPass && w.bar > 0
	if o := s.Operation; hasNeed && o != nil && o.HasField && o.HasSkip {
		needM2 = min(needM2, max(0, o.RemainingM2-float64(ahead.workM()*w.on)))
	}
	for i := range s.Tanks {
		o := Outlook{Tank: s.Tanks[i].Number}
		if areaM2, ok := areaLeft(&s.Tanks[i], w.any); ok {
			o.AreaLeftM2, o.HasArea = areaM2, true
			if w.on > 0 {
				o.reach(s, w, here, ahead)
			}
			o.judgeNext(p, w, ahead, needM2, hasNeed)
		}
		f.Tanks = append(f.Tanks, o)
	}
	return f
}

// reach works out how far the tank's area goes on the way ahead.
func (o *Outlook) reach(s *coverage.Snapshot, w width, here spot, ahead stretches) {
	o.DistanceLeftM, o.HasDistance = o.AreaLeftM2/w.on, true
	moving := s.HasSpeed && s.SpeedMPS >= leastSpeedMPS
	if moving {
		o.TimeLeftS, o.HasTime = o.DistanceLeftM/s.SpeedMPS, true
	}
	if !ahead.known {
		return
	}
	inM, out := ahead.after(o.DistanceLeftM)
	if o.ThisPass = answer(!out); !out {
		return
	}
	at := here.at.on(here.forward, inM)
	o.RunsOut.LatDeg, o.RunsOut.LonDeg = here.plane.Inverse(at.x, at.y)
	if o.RunsOut.InM = inM; moving {
		o.RunsOut.InS, o.RunsOut.HasInS = inM/s.SpeedMPS, true
	}
}

// judgeNext says whether the tank is enough for the next pass.
func (o *Outlook) judgeNext(p Pass, w width, ahead stretches, needM2 float64, hasNeed bool) {
	switch {
	case !hasNeed || p.Working && !ahead.known:
		return
	case needM2 <= 0: // there is no next pass
		o.NextPass, o.NextShare = Yes, mostShare
		if o.ThisPass == No {
			o.NextPass, o.NextShare = No, 0
		}
		return
	}
	left := max(0, o.AreaLeftM2-float64(ahead.workM()*w.on))
	o.NextShare = min(mostShare, left/needM2)
	o.NextPass = answer(left >= needM2)
}

// width is how wide the work is, m.
type width struct {
	bar float64 // the whole bar
	on  float64 // of the sections that are on, the whole bar where none is
	any bool    // some are on
}

// widths are by what the controller said last: it is what leaves the tanks.
func widths(s *coverage.Snapshot) (w width) {
	for i, m := range s.SectionsM {
		w.bar += m
		if i < len(s.Metered) && s.Metered[i] == coverage.SectionOn {
			w.on, w.any = w.on+m, true
		}
	}
	if !w.any {
		w.on = w.bar
	}
	return w
}

// areaLeft is the ground that a tank is enough for at its present rate, m2.
func areaLeft(t *coverage.TankNow, on bool) (m2 float64, ok bool) {
	rate := 0.0
	switch {
	case t.HasRate && t.RatePerM2 > 0:
		rate = t.DrainPerM2()
	case t.HasTarget && (!t.HasRate || !on):
		rate = t.TargetPerM2
	}
	if !t.HasLevel || rate <= 0 {
		return 0, false
	}
	const most = 1e12 // a rate next to nothing is no outlook
	m2 = max(0, t.LevelAmount) / rate
	return m2, m2 <= most
}

// spot is where the bar is, on a plane.
type spot struct {
	plane   *plane.Plane
	at      vec // middle of the bar, m
	forward vec // of length 1, square to the bar
}

// place is the bar's place on a plane of its own.
func place(s *coverage.Snapshot) (spot, bool) {
	if len(s.Bar) < 2 {
		return spot{}, false
	}
	return placeOn(plane.New(s.Bar[0][1], s.Bar[0][0]), s)
}

// placeOn is the bar's place on a plane; false without a bar, or where the plane
// does not reach.
func placeOn(p *plane.Plane, s *coverage.Snapshot) (spot, bool) {
	if len(s.Bar) < 2 {
		return spot{}, false
	}
	l, r := s.Bar[0], s.Bar[len(s.Bar)-1]
	lx, ly, lok := p.Forward(l[1], l[0])
	rx, ry, rok := p.Forward(r[1], r[0])
	across := vec{rx - lx, ry - ly}
	long := across.length()
	if !lok || !rok || long <= 0 {
		return spot{}, false
	}
	return spot{plane: p, at: vec{(lx + rx) / 2, (ly + ry) / 2}, forward: vec{-across.y / long, across.x / long}}, true
}
