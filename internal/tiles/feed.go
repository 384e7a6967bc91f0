package tiles

import (
	"slices"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/ground"
	"drawbar/coverage/picture"
)

const (
	publishEvery = time.Second
	// skipsShare: the time that looking for skips takes may be this share of all,
	// so that many of them are looked for less often.
	skipsShare = 100
)

// Session is what is drawn: a replay.Session.
type Session interface {
	Operations() []*coverage.Operation
	Marks() []coverage.Mark
}

// Feed collects what is drawn on the core's goroutine and publishes it. All its
// methods are for that goroutine.
type Feed struct {
	maker    *Maker
	revision uint64
	drawn    []*drawn
	last     *drawn          // of the latest quad
	marks    []coverage.Mark // of the session, as they were published
	own      map[int]Kept
	others   []Mark
	rekept   bool // own or others have changed since
	shown    []Mark
	known    []Field
	fields   []Field
	changes  changes
	at       time.Time // of the latest Publish that did something
	again    bool      // all is to be drawn anew
}

// drawn is an operation as it was published last.
type drawn struct {
	op      *coverage.Operation
	shown   Operation
	swaths  picture.Swaths
	boxes   picture.Boxes // of quads since it was published
	before  picture.Boxes // of the quads before those
	dirty   bool
	skipsAt time.Time // when to look for skips again
	settled bool      // they have been looked at since it was in hand
}

// NewFeed returns a Feed that publishes to maker.
func NewFeed(maker *Maker) *Feed { return &Feed{maker: maker} }

// Quad takes ground as it is worked: it is, or is called by, coverage.Setup.OnQuad.
func (f *Feed) Quad(q coverage.Quad) {
	if f.last == nil || f.last.op != q.Operation {
		i := slices.IndexFunc(f.drawn, func(d *drawn) bool { return d.op == q.Operation })
		if i < 0 {
			i = len(f.drawn)
			f.drawn = append(f.drawn, &drawn{op: q.Operation})
		}
		f.last = f.drawn[i]
	}
	f.last.swaths.Add(q)
	f.last.boxes.AddQuad(q.Corners)
	f.last.dirty = true
}

// SetFields says which fields are known: their boundaries are drawn. The Current
// of each is set by the Feed.
func (f *Feed) SetFields(known []Field) { f.known = slices.Clone(known) }

// Restart forgets all that was drawn: another session follows, or the same from
// its beginning.
func (f *Feed) Restart() {
	f.drawn, f.last, f.marks, f.shown, f.again = nil, nil, nil, nil, true
	f.rekept = len(f.others) > 0
}

// Publish publishes what has changed since the last time, once a second at most
// unless it must be now; now is by a clock of the real time, also where a recording
// is shown faster, so that looking for skips takes no more than its share. The revision is that of the tiles from now on; published
// tells whether this call has looked for changes, so that the tiles carry all
// quads up to here.
func (f *Feed) Publish(s Session, now time.Time, must bool) (revision uint64, published bool) {
	if since := now.Sub(f.at); !must && !f.again && since >= 0 && since < publishEvery {
		return f.revision, false
	}
	f.at = now
	next := f.revision + 1
	changed := f.again
	if f.again {
		f.changes.add(change{revision: next, layers: 1<<layerCount - 1, all: true})
		f.again = false
	}
	ops := s.Operations()
	inHand := f.inHand(ops)
	for _, d := range f.drawn {
		changed = d.renew(&f.changes, next) || changed
		changed = d.renewSkips(&f.changes, next, now, d.op == inHand) || changed
	}
	if marks := s.Marks(); f.rekept || !slices.Equal(marks, f.marks) {
		f.marks, f.shown, f.rekept, changed = slices.Clone(marks), f.allMarks(marks), false, true
		f.changes.add(change{revision: next, layers: 1 << layerMarks, all: true})
	}
	if fields := f.boundaries(inHand); !slices.EqualFunc(fields, f.fields, sameField) {
		f.fields, changed = fields, true
		f.changes.add(change{revision: next, layers: 1 << layerBoundary, all: true})
	}
	number := 0
	if inHand != nil {
		number = inHand.Number
	}
	if !changed && number == f.maker.Picture().InHand {
		return f.revision, true
	}
	f.revision = next
	p := &Picture{Revision: next, Marks: f.shown, Fields: f.fields, InHand: number, changes: f.changes}
	for _, d := range f.drawn {
		p.Operations = append(p.Operations, d.shown)
	}
	slices.SortStableFunc(p.Operations, func(a, b Operation) int { return a.Number - b.Number })
	f.maker.Publish(p)
	return f.revision, true
}

// inHand is the operation in hand: one without ground while there is one, else
// that which was worked last.
func (f *Feed) inHand(ops []*coverage.Operation) *coverage.Operation {
	if i := slices.IndexFunc(ops, func(o *coverage.Operation) bool { return !o.Worked() }); i >= 0 {
		return ops[i]
	}
	if f.last != nil {
		return f.last.op
	}
	if len(ops) > 0 {
		return ops[len(ops)-1]
	}
	return nil
}

// boundaries are those of all known fields and of the work in hand.
func (f *Feed) boundaries(inHand *coverage.Operation) []Field {
	fields := slices.Clone(f.known)
	if inHand == nil {
		return fields
	}
	at := slices.IndexFunc(fields, func(d Field) bool { return d.Name == inHand.Field })
	switch {
	case at < 0 && len(inHand.Boundary) > 0:
		fields = append(fields, Field{Name: inHand.Field, Boundary: inHand.Boundary})
		at = len(fields) - 1
	case at >= 0 && len(inHand.Boundary) > 0:
		fields[at].Boundary = inHand.Boundary
	}
	for i := range fields {
		fields[i].Current = i == at
	}
	return fields
}

// sameField tells whether two fields are the same without looking at every corner:
// boundaries never change, others take their place.
func sameField(a, b Field) bool {
	same := a.Name == b.Name && a.Current == b.Current && len(a.Boundary) == len(b.Boundary)
	for i := 0; same && i < len(a.Boundary); i++ {
		same = len(a.Boundary[i]) == len(b.Boundary[i])
		for k := 0; same && k < len(a.Boundary[i]); k++ {
			p, q := a.Boundary[i][k], b.Boundary[i][k]
			same = len(p) == len(q) && (len(p) == 0 || &p[0] == &q[0])
		}
	}
	return same
}

// renew takes in what was worked since.
func (d *drawn) renew(c *changes, revision uint64) bool {
	if !d.dirty {
		return false
	}
	d.dirty = false
	set := d.op.OverlapGround()
	was := d.shown.Covered
	d.shown.Number, d.shown.Plane, d.shown.Covered = d.op.Number, d.op.Plane, set
	d.shown.Swaths = d.swaths.Snapshot()
	tell := func(layers uint8, boxes picture.Boxes) {
		for _, b := range boxes {
			c.add(change{revision: revision, operation: d.op.Number, layers: layers, area: areaOf(d.op.Plane, b.Lo, b.Hi)})
		}
	}
	tell(1<<layerSwaths, d.swaths.TakeChanged())
	tell(1<<layerCovered|1<<layerOverlap, d.boxes)
	// The cause of overlap is known a little later than the overlap.
	tell(1<<layerOverlap, d.before)
	d.before, d.boxes = d.boxes, d.before[:0]
	if set == nil {
		return true
	}
	d.shown.Overlap = nil
	for cause := range coverage.OverlapCause(coverage.OverlapCauses) {
		d.shown.Overlap = append(d.shown.Overlap, Overlap{Cause: cause.String(), Set: set.Only(ground.Cause(cause)), Times: 2})
	}
	if was != nil && !was.SameLines(set) {
		c.add(change{revision: revision, operation: d.op.Number, layers: 1<<layerCovered | 1<<layerOverlap, all: true})
	}
	return true
}

// renewSkips looks at the skips: of the operation in hand time and again, of
// another one once more when it has ended.
func (d *drawn) renewSkips(c *changes, revision uint64, now time.Time, inHand bool) (changed bool) {
	if d.op.Plane == nil || inHand && now.Before(d.skipsAt) || !inHand && d.settled {
		return false
	}
	start := time.Now()
	skips := slices.DeleteFunc(d.op.Skips(), func(s coverage.Skip) bool { return s.State == coverage.SkipClosed })
	d.skipsAt = now.Add(time.Since(start) * skipsShare)
	d.settled = !inHand
	tell := func(s *Skip) {
		lo, hi := s.box()
		c.add(change{revision: revision, operation: d.op.Number, layers: 1 << layerSkips, area: areaOf(d.op.Plane, lo, hi)})
		changed = true
	}
	shown := make([]*Skip, len(skips))
	var others []*Skip // of those shown, not found in their order
	old := d.shown.Skips
	for i := range skips {
		const ahead = 8
		at := slices.IndexFunc(old[:min(ahead, len(old))], func(s *Skip) bool { return s.Skip == skips[i] })
		if at < 0 {
			continue
		}
		others = append(others, old[:at]...)
		shown[i], old = old[at], old[at+1:]
	}
	others = append(others, old...)
	was := make(map[coverage.Skip]*Skip, len(others))
	for _, s := range others {
		was[s.Skip] = s
	}
	for i, s := range skips {
		if shown[i] != nil {
			continue
		}
		if shown[i] = was[s]; shown[i] == nil {
			shown[i] = &Skip{Skip: s}
			shown[i].at, _ = d.op.Plane.ForwardCoord(s.LatDeg, s.LonDeg)
			tell(shown[i])
		}
		delete(was, s)
	}
	for _, s := range others {
		if was[s.Skip] == s {
			tell(s)
		}
	}
	d.shown.Skips = shown
	return changed
}
