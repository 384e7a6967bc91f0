// Package tiles draws the work as vector tiles: what was laid where, what is
// covered, worked twice and skipped, the marks and the boundaries.
//
//	maker := tiles.NewMaker()
//	feed := tiles.NewFeed(maker)          // on the core's goroutine
//	setup.Coverage.OnQuad = feed.Quad
//	…
//	revision := feed.Publish(session, now, false)
//
//	// on any goroutine
//	tile, err := maker.Tile(ctx, tiles.Request{Layer: "swaths", Z: 16, X: 32750, Y: 21000})
//
// A tile holds one layer, in the encoding of the Mapbox Vector Tile Specification
// 2.1, extent 4096, in the Web Mercator tiling of the world.
//
// # How
//
// The core publishes a Picture about once a second: clones of the ground, the
// pieces of swath and what else is drawn, none of which changes any more. Tiles
// are made from it when somebody asks, on the asker's goroutine, two at a time;
// they are kept until the picture changes where they lie.
//
//	core: quads -> Feed ----Picture----> Maker <- Request : HTTP
//	                        (atomic)       |-> kept tiles
//
// Places on an operation's plane come into a tile by a polynomial of the second
// degree fitted to the part of the plane that the tile shows, and checked there.
package tiles
