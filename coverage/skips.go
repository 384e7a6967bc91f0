package coverage

import (
	"slices"
	"time"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

// SkipState is how a skip stands.
type SkipState uint8

// A skip is provisional while the bar is within a bar's width of it, then open,
// and closed once it is covered.
const (
	SkipProvisional SkipState = iota
	SkipOpen
	SkipClosed
)

func (s SkipState) String() string {
	return [...]string{"provisional", "open", "closed"}[s]
}

// Skip is uncovered ground in the field that is too narrow for a pass, in one
// piece but for gaps of up to 0.1 m. One that is closed is shown as it was at its
// largest.
type Skip struct {
	AreaM2         float64
	WidthM         float64 // at its widest
	LengthM        float64 // between its ends
	LatDeg, LonDeg float64 // a place inside it, WGS 84
	Since          time.Time
	Closed         time.Time // with SkipClosed
	State          SkipState
	part           *ground.Part
}

// Outline is the skip's shape on its operation's plane. A Skip never changes, so
// any goroutine may ask for it.
func (s *Skip) Outline() []ground.Polygon { return s.part.Outline() }

// lookEveryNS is how often, by receiver time, skips are looked at and remembered.
// It must not depend on who asks when: a replay remembers what the run did.
const lookEveryNS = 15e9

// skips finds and remembers the skips of an operation. What ground is skipped
// follows from the covered ground alone and is worked out whenever it is asked
// for; what is remembered (since when, settled, closed) changes at fixed moments
// only, and only where skips are watched: it costs a third of a millisecond at each
// look.
type skips struct {
	rule     skipRule
	boundary Boundary
	set      *ground.Set
	ground   *ground.Skips        // nil: the boundary is out of reach
	known    []knownSkip          // as of the last look
	byPart   map[*ground.Part]int // of known, those that are there; nil: to be made
	touched  []touch              // since the last look
	lookNS   int64                // of the next look; 0: not yet set
	shownNS  int64                // when what a snapshot showed last was worked out
	shown    shownSkips           // that
	measured map[*ground.Part]measure
	bar      [2]plane.Coord
	watch    bool // remember what arises and closes on the way
	made     bool // ground stands for set, rule and boundary
	hasBar   bool
}

// knownSkip is a skip that is remembered.
type knownSkip struct {
	now     *ground.Part // as it is; nil: closed
	largest *ground.Part
	since   time.Time
	closed  time.Time
	settled bool // it has been open
}

// touch says where the bar was while it painted: about once a second.
type touch struct {
	tNS  int64
	a, b plane.Coord
}

// note says that a quad was painted at tNS.
func (k *skips) note(op *Operation, q ground.Quad, tNS int64) {
	if !k.watch && !k.made {
		return // whoever asks gets it worked out from scratch
	}
	if !k.made || k.set != op.Ground() {
		k.renew(op)
	}
	if k.ground != nil {
		k.ground.Note(q)
	}
	if !k.watch {
		return
	}
	if n := len(k.touched); n == 0 || tNS-k.touched[n-1].tNS >= nanosPerSecond || tNS < k.touched[n-1].tNS {
		k.touched = append(k.touched, touch{tNS, q[0], q[1]})
	}
}

// renew starts the search on the operation's ground as it is now.
func (k *skips) renew(op *Operation) {
	k.rule, k.boundary, k.set, k.ground, k.made = op.skipRule, op.Boundary, op.Ground(), nil, true
	at, set := op.Plane, k.set
	if set == nil {
		set = ground.New()
	}
	if at == nil && len(op.Boundary) > 0 {
		at = plane.New(op.Boundary[0][0][0][1], op.Boundary[0][0][0][0])
	}
	if rule, ok := k.rule.on(at, op.Boundary); ok {
		if k.ground = ground.NewSkips(set, rule); !k.ground.Known() {
			k.ground = nil
		}
	}
}

// fresh brings the search up to date; false where nothing can be said: no bar to
// tell what is too narrow, or a boundary out of reach.
func (k *skips) fresh(op *Operation) bool {
	if op.skipRule.barM <= 0 {
		return false
	}
	if !k.made || k.set != op.Ground() || k.rule != op.skipRule || !k.boundary.same(op.Boundary) {
		k.renew(op)
	}
	if k.ground == nil {
		return false
	}
	k.ground.Update()
	return true
}

// passed says where the bar is at tNS, and looks at the skips where that is due.
func (k *skips) passed(op *Operation, bar []plane.Coord, tNS int64) {
	k.hasBar = len(bar) > 1
	if k.hasBar {
		k.bar = [2]plane.Coord{bar[0], bar[len(bar)-1]}
	}
	if !k.watch {
		return
	}
	due := k.lookNS != 0 && tNS >= k.lookNS
	switch {
	case !due:
	case len(k.touched) == 0:
		for i := range k.known {
			if v := &k.known[i]; v.now != nil && !v.settled {
				v.settled = !k.near(v.now)
			}
		}
	case k.fresh(op):
		k.known, k.byPart = k.look(utc(tNS)), nil
		k.touched = k.touched[:0]
	}
	if due || k.lookNS-tNS > lookEveryNS || k.lookNS == 0 {
		k.lookNS = tNS - tNS%lookEveryNS + lookEveryNS
	}
}

// left says that the bar works elsewhere now.
func (k *skips) left() { k.hasBar = false }

// look is what is known once the skips as they are have been taken in.
func (k *skips) look(at time.Time) []knownSkip {
	parts := k.ground.Parts()
	if k.byPart == nil {
		k.byPart = make(map[*ground.Part]int, len(k.known))
		for i, s := range k.known {
			if s.now != nil {
				k.byPart[s.now] = i
			}
		}
	}
	kept := make([]bool, len(k.known))  // goes on as a part
	spent := make([]bool, len(k.known)) // went into a part of an older one
	out := slices.Clone(k.known)
	var fresh []knownSkip
	for _, p := range parts {
		i, ok := k.byPart[p] // it stayed as it was
		if !ok {
			i = k.ancestor(p, kept, spent)
		}
		if i < 0 {
			fresh = append(fresh, knownSkip{now: p, largest: p, since: k.firstTouch(p, at), settled: !k.near(p)})
			continue
		}
		was := &out[i]
		if kept[i] { // it has fallen apart, and another part goes on as it
			fresh = append(fresh, knownSkip{now: p, largest: p, since: was.since, settled: was.settled || !k.near(p)})
			continue
		}
		kept[i] = true
		was.now = p
		if p.Area() > was.largest.Area() {
			was.largest = p
		}
		was.settled = was.settled || !k.near(p)
	}
	n := 0
	for i, s := range out {
		switch {
		case s.now == nil || kept[i]:
		case spent[i] || !s.settled || s.now.CoveredShare(k.set) < 0.5:
			continue // taken over, passing, or no skip any more by another rule
		default:
			s.closed, s.now = k.lastTouch(s.now, at), nil
		}
		out[n] = s
		n++
	}
	return append(out[:n], fresh...)
}

// ancestor is the oldest skip that the part has ground in common with, -1 for
// none. The others it has taken over.
func (k *skips) ancestor(p *ground.Part, kept, spent []bool) int {
	best := -1
	for i := range k.known {
		s := &k.known[i]
		if s.now == nil || !s.now.Overlaps(p) {
			continue
		}
		spent[i] = true
		if best < 0 || s.since.Before(k.known[best].since) {
			best = i
		}
	}
	return best
}

// near says whether the bar is within a bar's width of a part.
func (k *skips) near(p *ground.Part) bool {
	return k.hasBar && p.Within(k.bar[0], k.bar[1], steps01mm(k.rule.barM))
}

// firstTouch is when work since the last look first came so near to a part that
// it may have made it.
func (k *skips) firstTouch(p *ground.Part, at time.Time) time.Time {
	for i := range k.touched {
		if k.touches(i, p) {
			return utc(k.touched[i].tNS)
		}
	}
	return at
}

func (k *skips) lastTouch(p *ground.Part, at time.Time) time.Time {
	for i := len(k.touched) - 1; i >= 0; i-- {
		if k.touches(i, p) {
			return utc(k.touched[i].tNS)
		}
	}
	return at
}

// touches says whether the work from a touch to the next one reached a part.
func (k *skips) touches(i int, p *ground.Part) bool {
	t := &k.touched[i]
	reach := steps01mm(k.rule.widthM) + plane.UnitsPerM
	if i+1 < len(k.touched) {
		next := k.touched[i+1].a
		reach += max(next.X-t.a.X, t.a.X-next.X) + max(next.Y-t.a.Y, t.a.Y-next.Y)
	}
	return p.Within(t.a, t.b, reach)
}

// list is all skips as they stand, in the order in which they arose.
func (k *skips) list(op *Operation, at time.Time) []Skip {
	if !k.fresh(op) {
		return nil
	}
	known := k.look(at)
	out := make([]Skip, 0, len(known))
	for _, s := range known {
		v := Skip{Since: s.since, Closed: s.closed, part: s.now}
		switch {
		case s.now == nil:
			v.State, v.part = SkipClosed, s.largest
		case !k.near(s.now):
			v.State = SkipOpen
		}
		k.describe(op, &v)
		out = append(out, v)
	}
	bySince := func(a, b Skip) int { return a.Since.Compare(b.Since) }
	if !slices.IsSortedFunc(out, bySince) {
		slices.SortStableFunc(out, bySince)
	}
	return out
}

// Skips are the operation's skips, provisional, open and closed, in the order in
// which they arose; none where nothing can be said.
func (o *Operation) Skips() []Skip {
	if !o.worked {
		return nil
	}
	return o.skips.list(o, o.End)
}

// SkipM2 is the area of the skips that are not closed; false where nothing can be
// said, for want of an implement.
func (o *Operation) SkipM2() (float64, bool) {
	if !o.skips.fresh(o) {
		return 0, false
	}
	return o.skips.ground.Area().M2(), true
}

// RemainingM2 is the uncovered ground inside the boundary that is no skip; false
// without a boundary or an implement.
func (o *Operation) RemainingM2() (float64, bool) {
	if len(o.Boundary) == 0 || !o.skips.fresh(o) {
		return 0, false
	}
	return max(0, (o.skips.ground.Uncovered() - o.skips.ground.Area()).M2()), true
}
