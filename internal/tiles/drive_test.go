package tiles_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/maptile"

	"drawbar/coverage"
	"drawbar/internal/sim"
	"drawbar/internal/testkit"
	"drawbar/internal/tiles"
	"drawbar/replay"
)

// work is a session whose work is drawn.
type work struct {
	session *replay.Session
	feed    *tiles.Feed
	maker   *tiles.Maker
	now     time.Time // of the latest event
}

// drive runs a scenario through a session and its feed; each is called after
// every event.
func drive(t testing.TB, sc sim.Scenario, each func(*work)) *work {
	t.Helper()
	maker := tiles.NewMaker()
	w := &work{maker: maker, feed: tiles.NewFeed(maker)}
	setup := replay.Setup{LatencyS: sc.Receiver.LatencyS + sc.Receiver.JitterS/2}
	setup.Coverage = coverage.Setup{
		Implement: &sc.Implement, Field: sc.Field.Name, StaleS: 2, WatchSkips: true,
		ReportLagS: sc.Machine.LatencyS + sc.Machine.JitterS/2, OnQuad: w.feed.Quad,
	}
	var ring orb.Ring
	for _, c := range sc.Field.Ring() {
		ring = append(ring, c)
	}
	setup.Boundary = replay.Outline{{ring}}
	for _, tank := range sc.Tanks {
		setup.Coverage.Tanks = append(setup.Coverage.Tanks, tank.Tank)
	}
	var err error
	if w.session, err = replay.NewSession(setup); err != nil {
		t.Fatal(err)
	}
	_, err = sim.Run(sc, func(at time.Time, stream string, line []byte) error {
		e := replay.Event{At: at, Stream: replay.StreamOperator, Line: line}
		for _, s := range []replay.Stream{replay.StreamGNSS, replay.StreamController} {
			if s.String() == stream {
				e.Stream = s
			}
		}
		w.session.Feed(e)
		w.now = at
		if each != nil {
			each(w)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	w.session.Finish()
	w.feed.Publish(w.session, w.now, true)
	return w
}

// tile asks for a tile and fails the test where there is an error.
func (w *work) tile(t testing.TB, layer string, at maptile.Tile) tiles.Tile {
	t.Helper()
	tile, err := w.maker.Tile(context.Background(), tiles.Request{Layer: layer, Z: uint32(at.Z), X: at.X, Y: at.Y})
	if err != nil {
		t.Fatalf("tile %s %d/%d/%d: %v", layer, at.Z, at.X, at.Y, err)
	}
	return tile
}

// around are the tiles of a zoom around the work.
func (w *work) around(z maptile.Zoom) (all []maptile.Tile) {
	op := w.session.Operations()[0]
	lo, hi, _ := op.Ground().Bounds()
	south, west := op.Plane.InverseCoord(lo)
	north, east := op.Plane.InverseCoord(hi)
	more := 0.001
	a, b := maptile.At(orb.Point{west - more, north + more}, z), maptile.At(orb.Point{east + more, south - more}, z)
	for x := a.X; x <= b.X; x++ {
		for y := a.Y; y <= b.Y; y++ {
			all = append(all, maptile.New(x, y, z))
		}
	}
	return all
}

// seen is what testdata/readtiles.py says.
type seen struct {
	Features []feature `json:"features"`
	Invalid  []string  `json:"invalid"`
	Seams    int       `json:"seams"`
	Odd      []struct {
		Edge    string  `json:"edge"`
		Units   float64 `json:"units"`
		LengthM float64 `json:"length_m"`
	} `json:"odd"`
}

type feature struct {
	Layer      string         `json:"layer"`
	Properties map[string]any `json:"properties"`
	AreaM2     float64        `json:"area_m2"`
	Type       string         `json:"type"`
	At         [2]float64     `json:"at"`
}

// inspect has GDAL (https://gdal.org, its MVT driver) read the tiles of a layer,
// and GEOS (https://libgeos.org) look at their shapes.
func (w *work) inspect(t testing.TB, layer string, all []maptile.Tile) (s seen) {
	t.Helper()
	python := testkit.Python(t)
	dir := t.TempDir()
	var list bytes.Buffer
	for _, at := range all {
		tile := w.tile(t, layer, at)
		if tile.Data == nil {
			continue
		}
		path := filepath.Join(dir, fmt.Sprintf("%d-%d-%d.mvt", at.Z, at.X, at.Y))
		if err := os.WriteFile(path, tile.Data, 0o600); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintln(&list, at.Z, at.X, at.Y, path)
	}
	run := exec.Command(python, "testdata/readtiles.py")
	var out, complaint bytes.Buffer
	run.Stdin, run.Stdout, run.Stderr = &list, &out, &complaint
	if err := run.Run(); err != nil {
		t.Fatalf("run testdata/readtiles.py: %v\n%s", err, complaint.String())
	}
	if err := json.Unmarshal(out.Bytes(), &s); err != nil {
		t.Fatalf("answer of testdata/readtiles.py: %v\n%s", err, out.String())
	}
	return s
}
