package server

import (
	"encoding/json"
	"fmt"
	"sync"

	"drawbar/internal/live"
)

// Bounds of an event of work.
const (
	mostPieces = 512  // in one event
	keptPieces = 4096 // that are kept as JSON, as many as a Hub keeps
)

// pieceCache keeps the latest pieces of work as JSON, so that each is encoded once
// however many look on.
type pieceCache struct {
	mu   sync.Mutex
	ring [keptPieces]struct {
		number uint64
		text   []byte
	}
}

// append writes a piece to dst.
func (c *pieceCache) append(dst []byte, p *live.Piece) ([]byte, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	slot := &c.ring[p.Number%keptPieces]
	if slot.number != p.Number || slot.text == nil {
		text, err := json.Marshal(wirePiece(p))
		if err != nil {
			return dst, fmt.Errorf("encode a piece of work: %w", err)
		}
		slot.number, slot.text = p.Number, text
	}
	return append(dst, slot.text...), nil
}

func wirePiece(p *live.Piece) pieceJSON {
	out := pieceJSON{Operation: p.Operation, Corners: p.Corners, Tanks: []pieceTankJSON{}}
	for _, t := range p.Tanks {
		out.Tanks = append(out.Tanks, pieceTankJSON{Tank: t.Tank, Product: t.Product, Rate: only(t.RatePerM2, t.HasRate), Target: only(t.TargetPerM2, t.HasTarget)})
	}
	return out
}

// works sends the pieces since the last ones, or has the client draw anew where it
// has missed some. It does so only once the tiles stand for what was missed.
func (e *stream) works(of *live.State) error {
	if e.behind {
		pieces, whole := e.s.c.Hub.WorkSince(e.pieces[:0], of.Tiles.Work)
		e.pieces = pieces
		if !whole {
			return nil // tiles that stand for it are on their way
		}
		e.behind, e.work = false, of.Tiles.Work
		if err := e.put("redraw", redrawJSON{Work: e.s.firstWork + e.work}); err != nil {
			return err
		}
	} else {
		pieces, whole := e.s.c.Hub.WorkSince(e.pieces[:0], e.work)
		e.pieces = pieces
		if !whole {
			e.behind = true
			return e.works(of)
		}
	}
	for rest := e.pieces; len(rest) > 0; {
		some := rest[:min(len(rest), mostPieces)]
		rest = rest[len(some):]
		if err := e.workEvent(some); err != nil {
			return err
		}
		if len(rest) == 0 {
			break
		}
		if err := e.flush(); err != nil {
			return err
		}
	}
	return nil
}

func (e *stream) workEvent(pieces []live.Piece) (err error) {
	last := pieces[len(pieces)-1].Number
	b := fmt.Appendf(e.text[:0], `{"first":%d,"last":%d,"pieces":[`, e.s.firstWork+pieces[0].Number, e.s.firstWork+last)
	for i := range pieces {
		if i > 0 {
			b = append(b, ',')
		}
		if b, err = e.s.pieces.append(b, &pieces[i]); err != nil {
			return err
		}
	}
	e.text = append(b, "]}"...)
	e.event("work", e.text)
	e.work = last
	return nil
}
