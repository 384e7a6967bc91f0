package ground

import "drawbar/coverage/plane"

// SkipRule says which uncovered ground is a skip. Lengths are steps of 0.1 mm.
type SkipRule struct {
	// Width of the narrowest pass: ground that a disc of this diameter can enter
	// without leaving uncovered ground is no skip.
	Width   int64
	MinArea Area // smaller parts are no skips
	// Field is the boundary as rings, of which a place is inside where it is inside
	// an odd number; nil if it is not known.
	Field [][]plane.Coord
}

// Skips finds the uncovered ground that is too narrow for a pass. With U the
// field without the covered ground and r half the width,
//
//	skip = U minus grow(opening(U, r), 0.25 m)
//
// in parts of the least area or more. Without a boundary the closing of the
// covered ground by r takes the place of the field: whatever of it is uncovered
// is narrow, so that its opening is empty and all of it is skip.
//
// # How
//
// Opening is erosion, then dilation, by a disc; growing is more dilation by a
// disc, so grow(opening(U, r), g) is the ground eroded by r and dilated by r+g.
// On scanlines a disc is a stack of chords: the eroded row is what is left of
// the row above and below by every height when each run has lost that height's
// half chord at both ends, and the dilated row has won it. Run ends stay exact to
// the 0.1 mm; only every pitch-th row (r/16 apart, r/48 without a boundary, 5 to 25 cm) is eroded, the
// skips themselves are on all of them.
//
//	       r                      a row of U     [================)   [====)
//	   .-------.                  eroded             [========)
//	 /___chord___\   <- height    dilated again  [================)
//	|      +      |               left over                           [====)
//
// Runs are joined into parts across up to 0.1 m. Bands of rows hold their
// fragments of parts; those of bands that changed, and of the parts they belonged and
// now belong to, are joined across bands anew.
//
// What changed is noted (Note) and worked off when it is asked for (Update): only
// rows and stretches within reach of a change are computed anew, and they come
// out as they would from scratch, to the last bit.
//
// It belongs to the goroutine of its Set.
type Skips struct {
	set   *Set
	rule  SkipRule
	frame frame
	laid  bool // frame and field are; what is noted counts
	field fieldRows
	// everywhere stands for the field where there is no boundary.
	everywhere []span

	pitch        int64   // of eroded rows, in scanlines
	inner, outer []int32 // half chords: of erosion by eroded row, of dilation by scanline

	bands     []*band // nil: nothing there ever changed
	firstBand int64
	dirty     windows
	uncovered int64 // in the field, length on scanlines

	parts partIndex
	work  skipWork
}

const (
	bandRows  = 120 // height of a band, a multiple of every pitch and of stripRows
	stripRows = 20  // what changed is noted by strips of 1 m
	// growth of the opened ground
	skipGrowth = plane.UnitsPerM / 4
	// wide is beyond every place a Set can hold.
	wide = 2_000_000_000
	// maxSkipWidth and maxFieldRows bound the work: 1 km, and a field 50 km high.
	maxSkipWidth = 1000 * plane.UnitsPerM
	maxFieldRows = 50_000 * plane.UnitsPerM / rowHeight
)

// NewSkips looks for skips on the set's ground, which may already be there; the
// set may be empty. What is added to the set later must be noted.
func NewSkips(set *Set, rule SkipRule) *Skips {
	rule.Width = min(max(rule.Width, 0), maxSkipWidth)
	k := &Skips{set: set, rule: rule, everywhere: []span{{-wide, wide}}}
	r := rule.Width / 2
	finer := int64(16)
	if rule.Field == nil { // what the growth takes away counts there
		finer = 48
	}
	k.pitch = min(max(r/(finer*rowHeight), 1), 5)
	k.inner = chords(r, k.pitch*rowHeight)
	k.outer = chords(r+k.growth(), rowHeight)
	return k
}

// growth is what the opened ground is grown by. Without a boundary it only has
// to hide that eroded rows are some way apart.
func (k *Skips) growth() int64 {
	if k.rule.Field == nil {
		return k.pitch * rowHeight
	}
	return skipGrowth
}

// chords are half the chords of a disc at heights 0, step, 2 step …
func chords(r, step int64) []int32 {
	var out []int32
	for h := int64(0); h <= r; h += step {
		out = append(out, int32(root(r*r-h*h)))
	}
	return out
}

// Note says that a quad was added to the set.
func (k *Skips) Note(q Quad) {
	if !k.laid || !q.Fits() {
		return
	}
	p := k.frame.scan(q[0])
	lo, hi := p, p
	for _, c := range q[1:] {
		p = k.frame.scan(c)
		lo = point{min(lo.x, p.x), min(lo.y, p.y)}
		hi = point{max(hi.x, p.x), max(hi.y, p.y)}
	}
	first, _ := floorDiv(lo.y, rowHeight*stripRows)
	last, _ := floorDiv(hi.y, rowHeight*stripRows)
	for s := first; s <= last; s++ {
		k.dirty.mark(s, window{int32(lo.x - 1), int32(hi.x + 2)})
	}
}

// Known is false where the field is too large to be looked at.
func (k *Skips) Known() bool { return k.lay() }

// Update works off what was noted.
func (k *Skips) Update() {
	if k.lay() && !k.dirty.empty() {
		k.refresh()
		k.join()
	}
}

// Area is the area of all skips, as of the last Update.
func (k *Skips) Area() Area { return lengthArea(k.parts.length) }

// Uncovered is the uncovered ground inside the boundary, as of the last Update;
// 0 without one.
func (k *Skips) Uncovered() Area { return lengthArea(k.uncovered) }

// Field is the ground inside the boundary as the scanlines see it; 0 without one.
func (k *Skips) Field() Area { return lengthArea(k.field.length) }

// lay starts anew where the set's scanlines are not those of the last time. It
// is false where the field is too large.
func (k *Skips) lay() bool {
	f := k.set.frame
	if !k.set.started {
		f = k.ownFrame()
	}
	if k.laid && f == k.frame {
		return true
	}
	k.frame, k.laid = f, false
	k.bands, k.firstBand, k.dirty, k.uncovered = nil, 0, windows{}, 0
	k.parts.drop()
	if k.rule.Field != nil {
		var ok bool
		if k.field, ok = layField(f, k.rule.Field); !ok {
			return false
		}
		k.laid = true
		k.markRows(k.field.first, k.field.first+k.field.rows())
		return true
	}
	k.laid = true
	k.markRows(k.set.firstPage*pageRows, (k.set.firstPage+int64(len(k.set.pages)))*pageRows)
	return true
}

// markRows says that everything on the rows from first to end may have changed.
func (k *Skips) markRows(first, end int64) {
	if first >= end {
		return
	}
	from, _ := floorDiv(first, stripRows)
	to, _ := floorDiv(end-1, stripRows)
	for s := from; s <= to; s++ {
		k.dirty.mark(s, window{-wide, wide})
	}
}

// ownFrame serves for as long as the set has none.
func (k *Skips) ownFrame() frame {
	for _, ring := range k.rule.Field {
		if len(ring) > 0 {
			return newCompass().middle(ring[0])
		}
	}
	return frame{cos: 1 << fixedBits}
}

func (c compass) middle(at plane.Coord) frame { return c.frame(at, sectors/3) }

// Bytes is the memory held besides the set.
func (k *Skips) Bytes() int {
	n := k.field.bytes() + cap(k.bands)*8 + cap(k.dirty.w)*8
	for _, b := range k.bands {
		if b != nil {
			n += b.bytes()
		}
	}
	return n + k.parts.bytes() + k.work.bytes()
}
