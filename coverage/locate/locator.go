package locate

import (
	"slices"
	"time"
)

// The rules; see the package comment.
const (
	enterNS      = 2e9  // inside for so long: entered
	enterDepthM  = 5    // or deeper than this
	leaveM       = 10   // outside by more, or by half the bar: left
	outsideM     = 2    // no noise of a receiver and no steering
	outsideNS    = 10e9 // outside by more than that for so long: left
	acrossNS     = 30e9 // the same where that is in another field
	deepNS       = 2e9  // in another field deeper than enterDepthM for so long: that one
	runs         = 2    // fixes in a row, so that one far off changes nothing
	breakNS      = 5e9  // after a hole of more than this nothing goes on that was being timed
	maxHalfBarM  = 50
	reachSlackM  = 1
	sinceUnknown = -1 << 63
)

// Fix is where the machine is, and what it works.
type Fix struct {
	Time      time.Time
	LatDeg    float64 // of the antenna, WGS 84
	LonDeg    float64
	SpeedMPS  float64 // over ground; with HasSpeed
	CourseDeg float64 // over ground, true; with HasCourse
	HalfBarM  float64 // half the width of the bar; 0 = not known
	Work      string  // field of the work in hand; empty = none
	Working   bool    // product is being laid
	HasSpeed  bool
	HasCourse bool
}

// State is what is known after a fix. It is a value of its own.
type State struct {
	Field int    // number of the field that the machine is in; with In
	Name  string // its name
	Offer Offer
	In    bool
}

// Offer is a field that the machine is in or is about to enter and that is not the
// one worked.
type Offer struct {
	Field  int // its number; with OK
	Name   string
	InS    float64 // seconds until it is entered, on the present course; 0 inside; with HasInS
	OK     bool    // there is one
	Inside bool    // the machine is in it
	HasInS bool
}

// Locator follows one machine. It belongs to one goroutine.
type Locator struct {
	ix       *Index
	state    State
	work     string
	workAt   int // number of that field; none where it has no outline
	declined []int32

	in      int
	farRuns int
	outNS   int64 // since when outside by more than outsideM

	inside []watched // fields whose outline the antenna is in
	spare  []watched
	near   []int32 // fields about the machine

	bearing  bearing
	offer    int
	wasIn    bool  // the machine has been in the field offered
	missedNS int64 // since when the course does not enter it
	workedNS int64 // when the field of the work was last being worked
	lastNS   int64
	started  bool
}

// none is the number of no field.
const none = -1

// watched is a field whose outline the antenna is in.
type watched struct {
	field    int32
	deepRuns int32
	sinceNS  int64
	deepNS   int64 // since when deeper than enterDepthM
	ground   bool  // not in a hole
}

// New returns a locator that knows nothing yet.
func New(ix *Index) *Locator {
	return &Locator{ix: ix, workAt: none, in: none, offer: none, outNS: sinceUnknown, missedNS: sinceUnknown, workedNS: sinceUnknown}
}

// State is the one after the last fix.
func (l *Locator) State() State { return l.state }

// Decline says that the operator does not want the field that is offered: it is not
// offered again until the machine has been in it and left it, or until work moves to
// another field. A name that no field has does nothing.
func (l *Locator) Decline(name string) {
	at := l.ix.number(name)
	if at == none {
		return
	}
	if !slices.Contains(l.declined, int32(at)) {
		l.declined = append(l.declined, int32(at))
	}
	if l.offer == at {
		l.dropOffer()
		l.state.Offer = Offer{}
	}
}

// Replace goes on with other fields; those of the same name stay entered, offered
// and declined.
func (l *Locator) Replace(ix *Index) {
	moved := func(at int) int {
		if at == none {
			return none
		}
		return ix.number(l.ix.names[at])
	}
	l.in, l.offer, l.workAt = moved(l.in), moved(l.offer), ix.number(l.work)
	declined := l.declined[:0]
	for _, d := range l.declined {
		if at := moved(int(d)); at != none {
			declined = append(declined, int32(at))
		}
	}
	l.declined, l.inside = declined, l.inside[:0]
	if l.offer == none {
		l.dropOffer()
	}
	l.ix = ix
	l.tell(l.state.Offer.InS, l.state.Offer.HasInS)
}

// Step takes the next fix. One without a place, or that repeats or goes back in
// time, changes nothing.
func (l *Locator) Step(f Fix) State {
	t := f.Time.UnixNano()
	if l.started && t <= l.lastNS || !placed(f.LatDeg, f.LonDeg) {
		return l.state
	}
	if l.started && t-l.lastNS > breakNS {
		l.inside, l.bearing = l.inside[:0], bearing{}
		l.farRuns, l.outNS, l.missedNS = 0, sinceUnknown, sinceUnknown
	}
	if f.Work != l.work {
		l.work, l.workAt, l.declined = f.Work, l.ix.number(f.Work), l.declined[:0]
		l.workedNS = sinceUnknown
	}
	l.bearing.step(t-l.lastNS, f)
	l.lastNS, l.started = t, true
	leave := float64(leaveM)
	if f.HalfBarM > leave {
		leave = min(f.HalfBarM, maxHalfBarM)
	}
	l.look(f, leave+reachSlackM)
	l.watch(t, f)
	l.settle(t, f, leave)
	if f.Working && l.in != none && l.in == l.workAt {
		l.workedNS = t
	}
	inS, has := l.choose(t, f)
	l.tell(inS, has)
	return l.state
}

// tell puts the state together.
func (l *Locator) tell(inS float64, has bool) {
	l.state = State{}
	if l.in != none {
		l.state.Field, l.state.Name, l.state.In = l.in, l.ix.names[l.in], true
	}
	if l.offer != none {
		l.state.Offer = Offer{Field: l.offer, Name: l.ix.names[l.offer], OK: true, Inside: l.offer == l.in, InS: inS, HasInS: has}
	}
}

// look finds the fields about the machine, and as far ahead as an offer looks.
func (l *Locator) look(f Fix, reachM float64) {
	perLon, perLat := degreeM(f.LatDeg)
	at := point{0, 0}
	lo, hi := point{-reachM, -reachM}, point{reachM, reachM}
	if far := l.bearing.reachM(keepS, keepM); far > 0 {
		at = point{float64(l.bearing.dir.x * far), float64(l.bearing.dir.y * far)}
	}
	lo, hi = point{min(lo.x, at.x), min(lo.y, at.y)}, point{max(hi.x, at.x), max(hi.y, at.y)}
	perLon = max(perLon, 1) // at the poles
	l.near = l.ix.appendMeeting(l.near[:0], box{
		f.LonDeg + lo.x/perLon, f.LatDeg + lo.y/perLat, f.LonDeg + hi.x/perLon, f.LatDeg + hi.y/perLat,
	})
}

// watch notes in which outlines the antenna is, and since when.
func (l *Locator) watch(t int64, f Fix) {
	now := l.spare[:0]
	for _, n := range l.near {
		s := l.ix.shapes[n]
		p := s.at(f.LonDeg, f.LatDeg)
		in, ground := s.inside(p)
		if !in || find(now, n) != nil {
			continue
		}
		w := watched{field: n, sinceNS: t, deepNS: sinceUnknown}
		if old := find(l.inside, n); old != nil {
			w = *old
		}
		w.ground = ground
		if s.borderM(p, enterDepthM+reachSlackM) > enterDepthM {
			w.deepRuns++
			if w.deepNS == sinceUnknown {
				w.deepNS = t
			}
		} else {
			w.deepRuns, w.deepNS = 0, sinceUnknown
		}
		now = append(now, w)
	}
	l.inside, l.spare = now, l.inside
}

func find(list []watched, field int32) *watched {
	for i := range list {
		if list[i].field == field {
			return &list[i]
		}
	}
	return nil
}

// entered tells whether the field would be entered from outside all fields.
func (w *watched) entered(t int64) bool { return t-w.sinceNS >= enterNS || w.deepRuns >= runs }

// firmly tells whether the machine is so far on the field's ground that it has left
// the field that it was in.
func (w *watched) firmly(t int64) bool {
	return w.ground && w.deepNS != sinceUnknown && t-w.deepNS >= deepNS
}

// settle decides in which field the machine is.
func (l *Locator) settle(t int64, f Fix, leave float64) {
	if l.workAt != none && l.workAt != l.in {
		if w := find(l.inside, int32(l.workAt)); w != nil && w.ground && w.entered(t) {
			l.enter(l.workAt)
		}
	}
	if l.in != none && !l.left(t, f, leave) {
		return
	}
	entered := l.best(func(w *watched) bool { return int(w.field) != l.in && w.entered(t) })
	switch {
	case entered != nil:
		l.enter(int(entered.field))
	case l.in != none && l.best(func(w *watched) bool { return int(w.field) != l.in }) == nil:
		l.enter(none) // else it waits until the field that the machine came into is entered
	}
}

func (l *Locator) left(t int64, f Fix, leave float64) bool {
	here := find(l.inside, int32(l.in))
	if here == nil || !here.ground {
		if l.best(func(w *watched) bool { return int(w.field) != l.in && w.firmly(t) }) != nil {
			return true
		}
	}
	s := l.ix.shapes[l.in]
	out := 0.0
	if here == nil {
		out = s.borderM(s.at(f.LonDeg, f.LatDeg), leave+reachSlackM)
	}
	if out > leave {
		l.farRuns++
	} else {
		l.farRuns = 0
	}
	if out <= outsideM {
		l.outNS = sinceUnknown
		return false
	}
	if l.outNS == sinceUnknown {
		l.outNS = t
	}
	long := int64(outsideNS)
	if len(l.inside) > 0 {
		long = acrossNS
	}
	return l.farRuns >= runs || t-l.outNS >= long
}

// best is the field to be in, of those that the antenna is in and that will do: that
// of the work first, then one whose ground it is, then the one that it came into
// first, then the first by number.
func (l *Locator) best(will func(*watched) bool) *watched {
	var best *watched
	for i := range l.inside {
		w := &l.inside[i]
		if will(w) && (best == nil || l.before(w, best)) {
			best = w
		}
	}
	return best
}

func (l *Locator) before(a, b *watched) bool {
	switch {
	case int(a.field) == l.workAt || int(b.field) == l.workAt:
		return int(a.field) == l.workAt
	case a.ground != b.ground:
		return a.ground
	case a.sinceNS != b.sinceNS:
		return a.sinceNS < b.sinceNS
	}
	return a.field < b.field
}

// enter moves the machine to another field or to none.
func (l *Locator) enter(field int) {
	if l.in != none {
		l.declined = slices.DeleteFunc(l.declined, func(d int32) bool { return int(d) == l.in })
	}
	l.in, l.farRuns, l.outNS = field, 0, sinceUnknown
}
