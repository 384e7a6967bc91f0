package daemon

import (
	"time"

	"drawbar/coverage"
	"drawbar/coverage/supply"
	"drawbar/internal/live"
	"drawbar/internal/tiles"
	"drawbar/replay"
)

// draw has the work of a session drawn on the board.
func (b *board) draw(setup *coverage.Setup) {
	setup.OnQuad = b.quad
	if b.maker == nil {
		b.maker = tiles.NewMaker()
		b.feed = tiles.NewFeed(b.maker)
		b.feed.SetFields(b.place.drawn())
	}
}

// replaceFields goes on with other known fields.
func (b *board) replaceFields(p place) {
	b.place.replace(p)
	b.feed.SetFields(b.place.drawn())
}

// quad takes ground as it is worked. It is for the goroutine that feeds the session.
func (b *board) quad(q coverage.Quad) {
	p := live.Piece{Operation: q.Operation.Number, Tanks: q.Tanks}
	for i, c := range q.Corners {
		lat, lon := q.Operation.Plane.InverseCoord(c)
		p.Corners[i] = [2]float64{lon, lat}
	}
	b.pieces = append(b.pieces, p)
	b.feed.Quad(q)
}

// redraw has the tiles alone show what was worked so far.
func (b *board) redraw() {
	b.pieces = b.pieces[:0]
	b.hub.ClearWork()
}

// restart forgets all that was worked: a session begins.
func (b *board) restart() {
	b.redraw()
	b.feed.Restart()
	b.passes = supply.Passes{}
}

// showWork has the pieces and, where that is due, the tiles show what was worked.
func (b *board) showWork(s *replay.Session) live.TilesState {
	b.hub.AddWork(b.pieces)
	b.pieces = b.pieces[:0]
	revision, published := b.feed.Publish(s, time.Now(), false)
	b.tiles.Revision = revision
	if published {
		b.tiles.Work = b.hub.LastWork()
	}
	return b.tiles
}
