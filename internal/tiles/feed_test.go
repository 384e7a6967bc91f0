package tiles_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/paulmach/orb/maptile"
	"pgregory.net/rapid"

	"drawbar/internal/sim"
	"drawbar/internal/tiles"
)

var layers = [...]string{"swaths", "covered", "overlap", "skips", "marks", "boundary"}

// Tiles that were kept while the work went on are those made from the picture from
// scratch, whenever they are asked for.
func TestKeptTilesAreFresh(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(seed, 7))
			published, compared, kept := 0, 0, 0
			drive(t, sim.RandomField(seed), func(w *work) {
				if _, ok := w.feed.Publish(w.session, w.now, false); !ok {
					return
				}
				if published++; published%20 != 0 || len(w.maker.Picture().Operations) == 0 {
					return
				}
				scratch := tiles.NewMaker()
				scratch.Publish(w.maker.Picture())
				fresh := &work{maker: scratch}
				for _, z := range [...]maptile.Zoom{13, 15, 17, 18} {
					for _, at := range w.around(z) {
						if rng.IntN(3) == 0 {
							continue // not asked for this time: it goes stale
						}
						layer := layers[rng.IntN(len(layers))]
						before := w.maker.Made()
						got, want := w.tile(t, layer, at), fresh.tile(t, layer, at)
						if w.maker.Made() == before {
							kept++
						}
						compared++
						if !bytes.Equal(got.Data, want.Data) {
							t.Fatalf("%s %d/%d/%d at %s: %d bytes kept since revision %d, from scratch %d differ",
								layer, at.Z, at.X, at.Y, w.now, len(got.Data), got.Revision, len(want.Data))
						}
					}
				}
			})
			t.Logf("%d published, %d tiles compared, %d of them kept", published, compared, kept)
			if kept == 0 || kept == compared {
				t.Errorf("%d of %d tiles came from those kept: nothing is shown by that", kept, compared)
			}
		})
	}
}

// The core goes on painting while tiles are made: for the race detector.
func TestPaintingWhileTilesAreMade(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(t.Context())
	var readers sync.WaitGroup
	started := make(chan *work, 1)
	readers.Go(func() {
		w := <-started
		rng := rand.New(rand.NewPCG(1, 1))
		around := maptile.New(32767, 21256, 16)
		var inner sync.WaitGroup
		for range 3 {
			seed := rng.Uint64()
			inner.Go(func() {
				rng := rand.New(rand.NewPCG(seed, 2))
				for ctx.Err() == nil {
					at := maptile.New(around.X+rng.Uint32N(2), around.Y+rng.Uint32N(2), 16)
					if _, err := w.maker.Tile(ctx, tiles.Request{Layer: layers[rng.IntN(len(layers))], Z: 16, X: at.X, Y: at.Y}); err != nil && ctx.Err() == nil {
						t.Error(err)
					}
				}
			})
		}
		inner.Wait()
	})
	var once sync.Once
	drive(t, sim.Demo(3), func(w *work) {
		w.feed.Publish(w.session, w.now, false)
		once.Do(func() { started <- w })
	})
	stop()
	readers.Wait()
}

// Requests that nothing answers to are refused in words; others are answered.
func TestRequests(t *testing.T) {
	t.Parallel()
	w := drive(t, sim.ParallelPasses(3, 60, 12, 11), nil)
	for _, c := range []struct {
		r    tiles.Request
		want error
	}{
		{tiles.Request{Layer: "covered", Z: 0}, nil},
		{tiles.Request{Layer: "covered", Z: 22, X: 1<<22 - 1, Y: 1<<22 - 1}, nil},
		{tiles.Request{Layer: "covered", Operation: 1}, nil},
		{tiles.Request{Layer: "marks", Operation: 7}, nil},
		{tiles.Request{Layer: "roads"}, tiles.ErrNoLayer},
		{tiles.Request{Layer: ""}, tiles.ErrNoLayer},
		{tiles.Request{Layer: "covered", Z: 23}, tiles.ErrNoTile},
		{tiles.Request{Layer: "covered", Z: 1, X: 2}, tiles.ErrNoTile},
		{tiles.Request{Layer: "covered", Z: 1, Y: 2}, tiles.ErrNoTile},
		{tiles.Request{Layer: "covered", Operation: 3}, tiles.ErrNoOperation},
		{tiles.Request{Layer: "covered", Operation: -1}, tiles.ErrNoOperation},
	} {
		if _, err := w.maker.Tile(t.Context(), c.r); !errors.Is(err, c.want) {
			t.Errorf("%+v: got error %v, want %v", c.r, err, c.want)
		}
	}
	gone, stop := context.WithCancel(t.Context())
	stop()
	if _, err := w.maker.Tile(gone, tiles.Request{Layer: "covered", Z: 3}); err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("a request that was given up: %v", err)
	}
}

// Nothing changes: nothing is published, and the tag stays.
func TestNothingNew(t *testing.T) {
	t.Parallel()
	w := drive(t, sim.ParallelPasses(3, 60, 12, 11), nil)
	first := w.maker.Picture().Revision
	at := w.around(16)[0]
	tile := w.tile(t, "covered", at)
	if rev, ok := w.feed.Publish(w.session, w.now.Add(time.Hour), true); rev != first || !ok {
		t.Errorf("nothing was worked: revision %d, looked %v; want %d, true", rev, ok, first)
	}
	if _, ok := w.feed.Publish(w.session, w.now.Add(time.Hour+time.Second/2), false); ok {
		t.Error("published twice within a second")
	}
	w.feed.Restart()
	if rev, _ := w.feed.Publish(w.session, w.now.Add(time.Hour+time.Second/2), false); rev <= first {
		t.Errorf("all was forgotten: revision %d, want more than %d", rev, first)
	}
	again := w.tile(t, "covered", at)
	if again.Data != nil || again.ETag == tile.ETag {
		t.Errorf("all was forgotten, the tile still has %d bytes and tag %s", len(again.Data), again.ETag)
	}
}

// Any request is answered or refused, and what is answered holds together.
func FuzzTile(f *testing.F) {
	w := drive(f, sim.ParallelPasses(3, 60, 12, 11), nil)
	f.Add("covered", uint32(16), uint32(32767), uint32(21256), 1)
	f.Add("swaths", uint32(0), uint32(0), uint32(0), 0)
	f.Add("skips", uint32(22), uint32(1<<22-1), uint32(0), -3)
	f.Add("", uint32(40), uint32(1<<31), uint32(7), 9)
	f.Fuzz(func(t *testing.T, layer string, z, x, y uint32, operation int) {
		tile, err := w.maker.Tile(t.Context(), tiles.Request{Layer: layer, Z: z, X: x, Y: y, Operation: operation})
		if err != nil {
			return
		}
		readTile(t, tile.Data, layer)
	})
}

// Whatever the polygon, what is left of it after rounding lies in the tile.
func TestAnyBoundary(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(-180, 180)
		lat := rapid.Float64Range(-89, 89)
		n := rapid.IntRange(0, 9).Draw(t, "corners")
		var ring [][2]float64
		for range n {
			ring = append(ring, [2]float64{at.Draw(t, "lon"), lat.Draw(t, "lat")})
		}
		maker := tiles.NewMaker()
		maker.Publish(&tiles.Picture{Revision: 1, Fields: []tiles.Field{{Name: "Far Reach", Boundary: [][][][2]float64{{ring}}}}})
		z := rapid.Uint32Range(0, 22).Draw(t, "z")
		x, y := rapid.Uint32Range(0, 1<<z-1).Draw(t, "x"), rapid.Uint32Range(0, 1<<z-1).Draw(t, "y")
		tile, err := maker.Tile(context.Background(), tiles.Request{Layer: "boundary", Z: z, X: x, Y: y})
		if err != nil {
			t.Fatal(err)
		}
		readTile(t, tile.Data, "boundary")
	})
}
