package tiles_test

import (
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/mvt"
	"github.com/paulmach/orb/planar"
)

// failer is a test of any kind.
type failer interface {
	Helper()
	Fatalf(format string, args ...any)
}

// readTile has the decoder of github.com/paulmach/orb read a tile and looks at
// what the Mapbox Vector Tile Specification 2.1 wants of it: one layer of version 2
// and extent 4096 with features, polygons of closed rings with an area (section
// 4.3.3.3), the exterior's of one sign, its holes' of the other, all within the
// tile and its buffer.
func readTile(t failer, data []byte, name string) mvt.Layers {
	t.Helper()
	if data == nil {
		return nil
	}
	all, err := mvt.Unmarshal(data)
	if err != nil {
		t.Fatalf("read the tile: %v", err)
	}
	if len(all) != 1 || all[0].Name != name || all[0].Version != 2 || all[0].Extent != 4096 || len(all[0].Features) == 0 {
		t.Fatalf("%d layers, want one named %q with features: %+v", len(all), name, all)
	}
	for _, f := range all[0].Features {
		b := f.Geometry.Bound()
		if b.Min[0] < -64 || b.Min[1] < -64 || b.Max[0] > 4096+64 || b.Max[1] > 4096+64 {
			t.Fatalf("%s reaches to %v, beyond the tile and its buffer", name, b)
		}
		switch g := f.Geometry.(type) {
		case orb.Polygon:
			lookAt(t, g)
		case orb.MultiPolygon:
			for _, p := range g {
				lookAt(t, p)
			}
		}
	}
	return all
}

func lookAt(t failer, p orb.Polygon) {
	t.Helper()
	for i, r := range p {
		// In tile units y goes down, so the exterior, clockwise on the screen, is
		// counter-clockwise for orb.
		want := orb.CCW
		if i > 0 {
			want = orb.CW
		}
		if len(r) < 4 || r[0] != r[len(r)-1] || planar.Area(r) == 0 || r.Orientation() != want {
			t.Fatalf("ring %d of a polygon: %d points, closed %v, area %v, orientation %v, want %v", i, len(r), r[0] == r[len(r)-1], planar.Area(r), r.Orientation(), want)
		}
	}
}
