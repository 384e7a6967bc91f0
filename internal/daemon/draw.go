package daemon

import (
	"drawbar/coverage"
	"drawbar/internal/live"
)

// draw has the work of a session drawn on the board.
func (b *board) draw(setup *coverage.Setup) {
	b.operations = nil
	setup.OnQuad = b.quad
}

// quad takes ground as it is worked. It is for the goroutine that feeds the session.
func (b *board) quad(q coverage.Quad) {
	p := live.Piece{Operation: b.number(q.Operation), Tanks: q.Tanks}
	for i, c := range q.Corners {
		lat, lon := q.Operation.Plane.InverseCoord(c)
		p.Corners[i] = [2]float64{lon, lat}
	}
	b.pieces = append(b.pieces, p)
}

// number is the place of an operation among those with ground, from 1.
func (b *board) number(op *coverage.Operation) int {
	for i := len(b.operations); i > 0; i-- {
		if b.operations[i-1] == op {
			return i
		}
	}
	b.operations = append(b.operations, op)
	return len(b.operations)
}

// restart has everything drawn anew.
func (b *board) restart() {
	b.pieces = b.pieces[:0]
	b.hub.ClearWork()
}
