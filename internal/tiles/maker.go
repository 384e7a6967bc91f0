package tiles

import (
	"container/list"
	"context"
	"errors"
	"fmt"
	"hash/maphash"
	"strconv"
	"sync"
	"sync/atomic"

	"github.com/paulmach/orb/maptile"
)

// Errors of a Request.
var (
	ErrNoLayer     = errors.New("no such layer: want swaths, covered, overlap, skips, marks or boundary")
	ErrNoTile      = errors.New("no such tile: want z from 0 to 22, x and y from 0 to 2^z - 1")
	ErrNoOperation = errors.New("no such operation: want a number from 1, or none for the one in hand")
)

// Request names a tile.
type Request struct {
	Layer     string
	Z, X, Y   uint32
	Operation int // from 1 to the next, which has no ground yet; 0: the one in hand
}

// Tile is a tile made. It is shared and must not be changed.
type Tile struct {
	Data     []byte // nil: the tile is empty
	ETag     string // of what it shows, quoted; the same for the same bytes while the program runs
	Revision uint64 // of the picture that it shows, or of one before since when nothing changed there
}

const (
	makersAtOnce = 2
	keepBytes    = 32 << 20 // of tiles, and what holds them
	tileOverhead = 256      // bytes that hold a tile beside its own, about
)

// Maker makes tiles of the Picture published last and keeps them. All methods may
// be called from any goroutine.
type Maker struct {
	current atomic.Pointer[Picture]
	working chan struct{} // holds a place for each that is making a tile
	drawers sync.Pool     // of *drawer
	seed    maphash.Seed

	mu    sync.Mutex
	kept  map[key]*entry
	order list.List // of kept entries that are ready, those used longest ago last
	bytes int
	made  uint64
}

type key struct {
	layer     layerID
	operation int
	tile      maptile.Tile
}

// entry is a tile that is kept or being made.
type entry struct {
	key    key
	tile   Tile
	making chan struct{} // closed when it is made, or cannot be
	place  *list.Element // in the order; nil until it is ready
}

// NewMaker returns a Maker that has nothing to show yet.
func NewMaker() *Maker {
	m := &Maker{working: make(chan struct{}, makersAtOnce), seed: maphash.MakeSeed(), kept: map[key]*entry{}}
	m.current.Store(&Picture{})
	return m
}

// Publish has tiles made of p from now on. p must not be changed any more, and its
// changes must follow those of the picture before.
func (m *Maker) Publish(p *Picture) { m.current.Store(p) }

// Picture is the one published last.
func (m *Maker) Picture() *Picture { return m.current.Load() }

// Made is how many tiles were made so far: the others asked for were kept.
func (m *Maker) Made() uint64 {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.made
}

// Tile is a tile as the picture published last shows it, or one published while it
// was made. The error says what is wrong with the request, or is that of ctx.
func (m *Maker) Tile(ctx context.Context, r Request) (Tile, error) {
	p := m.current.Load()
	k, err := r.key(p)
	if err != nil {
		return Tile{}, err
	}
	for {
		m.mu.Lock()
		e := m.kept[k]
		switch {
		case e == nil:
			e = &entry{key: k}
			m.kept[k] = e
		case e.making != nil:
			wait := e.making
			m.mu.Unlock()
			select {
			case <-wait:
				continue
			case <-ctx.Done():
				return Tile{}, ctx.Err()
			}
		case e.place != nil && (e.tile.Revision >= p.Revision || !p.changes.touch(e.tile.Revision, k.layer, k.operation, tileArea(k.tile))):
			m.order.MoveToFront(e.place)
			e.tile.Revision = max(e.tile.Revision, p.Revision)
			tile := e.tile
			m.mu.Unlock()
			return tile, nil
		}
		e.making = make(chan struct{})
		m.mu.Unlock()
		return m.make(ctx, p, k, e)
	}
}

// make makes a tile that is marked as being made.
func (m *Maker) make(ctx context.Context, p *Picture, k key, e *entry) (tile Tile, err error) {
	made := false
	defer func() {
		m.mu.Lock()
		defer m.mu.Unlock()
		close(e.making)
		e.making = nil
		if made {
			m.keep(e, tile)
		} else if e.place == nil {
			delete(m.kept, k)
		}
	}()
	select {
	case m.working <- struct{}{}:
		defer func() { <-m.working }()
	case <-ctx.Done():
		return Tile{}, ctx.Err()
	}
	if now := m.current.Load(); now.Revision > p.Revision {
		p = now // it had to wait
	}
	d, _ := m.drawers.Get().(*drawer)
	if d == nil {
		d = new(drawer)
	}
	tile = Tile{Data: d.draw(p, k.layer, k.operation, k.tile), Revision: p.Revision}
	m.drawers.Put(d)
	tile.ETag = strconv.Quote(strconv.FormatUint(maphash.Bytes(m.seed, tile.Data), 36))
	made = true
	return tile, nil
}

// keep puts a tile that was made among those that are kept, and lets others go
// where they take too much.
func (m *Maker) keep(e *entry, tile Tile) {
	if e.place == nil {
		e.place = m.order.PushFront(e)
	} else {
		m.bytes -= e.tile.bytes()
		m.order.MoveToFront(e.place)
	}
	e.tile = tile
	m.bytes += tile.bytes()
	m.made++
	for last := m.order.Back(); last != nil && m.bytes > keepBytes; {
		old, before := last.Value.(*entry), last.Prev()
		if old.making == nil {
			m.order.Remove(last)
			delete(m.kept, old.key)
			m.bytes -= old.tile.bytes()
		}
		last = before
	}
}

func (t *Tile) bytes() int { return len(t.Data) + tileOverhead }

// key checks a request.
func (r Request) key(p *Picture) (key, error) {
	var k key
	for k.layer.String() != r.Layer {
		if k.layer++; k.layer == layerCount {
			return key{}, fmt.Errorf("layer %.40q: %w", r.Layer, ErrNoLayer)
		}
	}
	if r.Z > maxZoom || r.X >= 1<<r.Z || r.Y >= 1<<r.Z {
		return key{}, fmt.Errorf("tile %d/%d/%d: %w", r.Z, r.X, r.Y, ErrNoTile)
	}
	k.tile = maptile.New(r.X, r.Y, maptile.Zoom(r.Z))
	if !k.layer.ofOperation() {
		return k, nil
	}
	k.operation = r.Operation
	if r.Operation == 0 {
		k.operation = p.InHand
	} else if r.Operation < 0 || r.Operation > p.next() {
		return key{}, fmt.Errorf("operation %d: %w", r.Operation, ErrNoOperation)
	}
	return k, nil
}
