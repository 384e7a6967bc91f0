package ground

import (
	"slices"
	"unsafe"

	"drawbar/coverage/plane"
)

// maxReach is how far from the first quad a Set can hold ground: 100 km in
// either direction, so that a turned coordinate fits 32 bits.
const maxReach = 100_000 * plane.UnitsPerM

// Set is the ground covered so far. It is used from one goroutine; a Clone may
// be read by another while the Set goes on.
type Set struct {
	pages     []*page // nil where there is no ground
	firstPage int64   // number of pages[0]
	owner     *owner
	waiting   []stretch // covered again, not on the pages yet
	told      int       // so many of those, the first, know their cause
	only      Cause     // of a view: the cause it shows, plus 1; 0: all

	frame   frame
	survey  survey
	started bool

	// Lengths on scanlines, steps of 0.1 mm.
	covered, gross int64

	min, max plane.Coord
	refused  int
}

// New is an empty set.
func New() *Set { return &Set{owner: new(owner)} }

// Add marks the quad's ground. newA is what was not covered before, again what
// was: their sum is the quad's area as the scanlines see it.
//
// A quad larger than 1 km, or more than 100 km from the first one, is refused:
// both are zero, and Refused counts it.
//
// What was covered before counts for the first cause.
func (s *Set) Add(q Quad) (newA, again Area) {
	newA, again = s.AddWaiting(q)
	s.Settle(0)
	s.workOff(s.told)
	return newA, again
}

// AddWaiting is Add where why ground is covered again is not known yet: Settle
// tells.
func (s *Set) AddWaiting(q Quad) (newA, again Area) {
	if !s.accepts(q) {
		s.refused++
		return 0, 0
	}
	lo, hi := q.bounds()
	if !s.started {
		s.started = true
		s.min, s.max = lo, hi
		s.frame = firstFrame(q)
	}
	s.min = plane.Coord{X: min(s.min.X, lo.X), Y: min(s.min.Y, lo.Y)}
	s.max = plane.Coord{X: max(s.max.X, hi.X), Y: max(s.max.Y, hi.Y)}
	length, before := s.paint(q)
	s.workOffSome()
	if !s.survey.done {
		s.note(q)
	}
	return lengthArea(length - before), lengthArea(before)
}

// accepts says whether the quad can be held.
func (s *Set) accepts(q Quad) bool {
	if !q.Fits() {
		return false
	}
	if !s.started {
		return true
	}
	lo, hi := q.bounds()
	origin := s.frame.origin
	return lo.X >= origin.X-maxReach && hi.X <= origin.X+maxReach &&
		lo.Y >= origin.Y-maxReach && hi.Y <= origin.Y+maxReach
}

// Covered is the ground covered at least once.
func (s *Set) Covered() Area { return lengthArea(s.covered) }

// Gross is the sum of the areas of all quads. Gross minus Covered is the
// overlap: ground treated n times counts n-1 times.
func (s *Set) Gross() Area { return lengthArea(s.gross) }

// Refused is the number of quads that Add refused.
func (s *Set) Refused() int { return s.refused }

// Bounds is the smallest box around all quads added; ok is false while there is
// none.
func (s *Set) Bounds() (lo, hi plane.Coord, ok bool) { return s.min, s.max, s.started }

// Clone is a copy that shares nothing that either will change: it is cheap, and
// the pages are copied when the one or the other next touches them. It must be
// called where Add is called; the copy may then go to another goroutine. What is
// waiting for its cause is settled in the copy, for the first cause.
func (s *Set) Clone() *Set { return s.CloneSettled(0) }

// CloneSettled is Clone, with what is waiting for its cause settled for that one
// in the copy.
func (s *Set) CloneSettled(cause Cause) *Set {
	c := *s
	c.pages = append([]*page(nil), s.pages...)
	c.survey = s.survey.clone()
	// Both get a new name, so neither owns the pages they share.
	s.owner, c.owner = new(owner), new(owner)
	c.waiting = slices.Clone(s.waiting)
	c.Settle(cause)
	c.workOff(c.told)
	return &c
}

// Bytes is the memory held, pages shared with a Clone included.
func (s *Set) Bytes() int {
	n := int(unsafe.Sizeof(*s)) + cap(s.waiting)*int(unsafe.Sizeof(stretch{})) + cap(s.pages)*int(unsafe.Sizeof((*page)(nil))) + s.survey.bytes()
	for _, p := range s.pages {
		if p != nil {
			n += p.bytes()
		}
	}
	return n
}

// page is the page of that number, made or copied so that it can be changed.
func (s *Set) page(number int64) *page {
	if s.owner == nil {
		s.owner = new(owner)
	}
	if len(s.pages) == 0 {
		s.firstPage = number
	}
	if number < s.firstPage {
		grown := make([]*page, int(s.firstPage-number)+len(s.pages))
		copy(grown[s.firstPage-number:], s.pages)
		s.pages, s.firstPage = grown, number
	}
	for number >= s.firstPage+int64(len(s.pages)) {
		s.pages = append(s.pages, nil)
	}
	at := &s.pages[number-s.firstPage]
	switch {
	case *at == nil:
		*at = newPage(s.owner)
	case (*at).owner != s.owner:
		*at = (*at).copyFor(s.owner)
	}
	return *at
}
