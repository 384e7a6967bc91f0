package daemon

import (
	"drawbar/coverage"
	"drawbar/internal/live"
)

// draw has the work of a session drawn on the board.
func (b *board) draw(setup *coverage.Setup) {
	setup.OnQuad = b.quad
}

// quad takes ground as it is worked. It is for the goroutine that feeds the session.
func (b *board) quad(q coverage.Quad) {
	p := live.Piece{Operation: q.Operation.Number, Tanks: q.Tanks}
	for i, c := range q.Corners {
		lat, lon := q.Operation.Plane.InverseCoord(c)
		p.Corners[i] = [2]float64{lon, lat}
	}
	b.pieces = append(b.pieces, p)
}

// restart has everything drawn anew.
func (b *board) restart() {
	b.pieces = b.pieces[:0]
	b.hub.ClearWork()
}
