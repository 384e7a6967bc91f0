package live

import "drawbar/coverage"

// keepPieces is how many pieces of work a Hub keeps for those who draw them: a
// minute and more at 50 fixes a second.
const keepPieces = 4096

// Piece is ground worked a moment ago, as it is drawn until the map tiles carry
// it: the quad under neighbouring sections that were on.
type Piece struct {
	Number    uint64        // of the session, from 1
	Operation int           // from 1
	Corners   [4][2]float64 // degrees longitude, latitude: around the quad
	Tanks     []coverage.SwathTank
}

// work is the latest pieces in a ring, by number.
type work struct {
	ring []Piece // keepPieces of them, made with the first
	kept uint64
	last uint64
}

// AddWork hands over the pieces that followed the last ones; the Hub gives them
// their numbers. They are seen with the next Publish.
func (h *Hub) AddWork(pieces []Piece) {
	h.mu.Lock()
	defer h.mu.Unlock()
	w := &h.work
	if w.ring == nil && len(pieces) > 0 {
		w.ring = make([]Piece, keepPieces)
	}
	for _, p := range pieces {
		w.last++
		p.Number = w.last
		w.ring[w.last%keepPieces] = p
		w.kept = min(w.kept+1, keepPieces)
	}
}

// WorkSince appends the pieces after number after to dst. whole is false where
// some of them are kept no more, or after is of another run: then dst has all that
// are kept, and what is drawn must be fetched anew.
func (h *Hub) WorkSince(dst []Piece, after uint64) (pieces []Piece, whole bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	w := &h.work
	before := w.last - w.kept // the latest that is kept no more
	whole = after >= before && after <= w.last
	if !whole {
		after = before
	}
	for n := after + 1; n <= w.last; n++ {
		dst = append(dst, w.ring[n%keepPieces])
	}
	return dst, whole
}

// LastWork is the number of the piece added last, 0 before the first.
func (h *Hub) LastWork() uint64 {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.work.last
}

// ClearWork forgets all pieces, as when a replay goes back: whoever has not had
// them all draws anew. Numbers go on.
func (h *Hub) ClearWork() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.work.last++ // so that also those who had them all are behind
	h.work.kept = 0
}
