package tiles_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb/maptile"

	"drawbar/coverage"
	"drawbar/internal/sim"
)

// What GDAL reads in the tiles of made-up fields, and GEOS of their shapes: areas
// are those of the summary, shapes are valid as section 4.3.3.3 of the Mapbox Vector
// Tile Specification 2.1 wants them, and go on beyond the edges of tiles.
func TestTilesByGDAL(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		sc   sim.Scenario
	}{{"demo", sim.Demo(3)}, {"random", sim.RandomField(5)}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := drive(t, c.sc, nil)
			op := w.session.Operations()[0]
			gross := op.Gross.M2()
			skips := 0.0
			for _, s := range op.Skips() {
				if s.State != coverage.SkipClosed {
					skips += s.AreaM2
				}
			}
			field, _ := op.FieldAreaM2()
			want := map[string]float64{"swaths": gross, "covered": op.Covered().M2(), "overlap": op.Overlap().M2(), "skips": skips, "boundary": field}
			for _, z := range []maptile.Zoom{14, 16, 18} {
				for _, layer := range []string{"swaths", "covered", "overlap", "skips", "boundary"} {
					got := w.inspect(t, layer, w.around(z))
					if len(got.Invalid) > 0 {
						t.Errorf("%s at zoom %d: %d features are not valid for GEOS: %s", layer, z, len(got.Invalid), got.Invalid[0])
					}
					if len(got.Odd) > 0 && got.Odd[0].Units > 0 {
						t.Errorf("%s at zoom %d: the edge of tiles %s shows %.1f units on one side only", layer, z, got.Odd[0].Edge, got.Odd[0].Units)
					}
					sum := 0.0
					for _, f := range got.Features {
						if f.Layer != layer {
							t.Errorf("%s at zoom %d: layer named %q", layer, z, f.Layer)
						}
						sum += f.AreaM2
					}
					off := math.Abs(sum-want[layer]) / gross
					t.Logf("%s at zoom %d: %.1f m2 in %d features, want %.1f: off by %.3f %% of gross; %d seams", layer, z, sum, len(got.Features), want[layer], 100*off, got.Seams)
					if z >= 16 && off > 0.002 {
						t.Errorf("%s at zoom %d: %.1f m2, want %.1f within 0.2 %% of gross", layer, z, sum, want[layer])
					}
				}
			}
		})
	}
}

// What features say.
func TestPropertiesByGDAL(t *testing.T) {
	t.Parallel()
	w := drive(t, sim.Demo(3), nil)
	has := func(layer string, f feature, names ...string) {
		t.Helper()
		for _, n := range names {
			if _, ok := f.Properties[n]; !ok {
				t.Errorf("%s: a feature says %v, want %q in it", layer, f.Properties, n)
			}
		}
	}
	all := w.around(16)
	causes := map[string]float64{}
	for _, f := range w.inspect(t, "swaths", all).Features {
		has("swaths", f, "operation", "start", "p1", "r1", "t1", "q1")
		rate, target, q := f.Properties["r1"].(float64), f.Properties["t1"].(float64), f.Properties["q1"].(float64)
		if math.Abs(rate/target-q) > 0.0105 {
			t.Errorf("swaths: rate %v by target %v is said to be %v", rate, target, q)
		}
	}
	for _, f := range w.inspect(t, "covered", all).Features {
		has("covered", f, "operation", "times")
	}
	for _, f := range w.inspect(t, "overlap", all).Features {
		has("overlap", f, "operation", "cause")
		causes[f.Properties["cause"].(string)] += f.AreaM2
	}
	by := w.session.Operations()[0].OverlapBy()
	gross := w.session.Operations()[0].Gross.M2()
	for cause, want := range map[string]float64{"headland": by.HeadlandM2, "between_passes": by.BetweenPassesM2, "sections": by.SectionsM2} {
		if got := causes[cause]; math.Abs(got-want) > 0.002*gross {
			t.Errorf("overlap of cause %s: %.1f m2, want %.1f", cause, got, want)
		}
	}
	for _, f := range w.inspect(t, "skips", all).Features {
		has("skips", f, "operation", "area_m2", "width_m", "length_m", "state", "lon", "lat")
	}
	marks := w.inspect(t, "marks", all).Features
	if want := len(w.session.Marks()); len(marks) != want {
		t.Errorf("%d marks in the tiles, want %d", len(marks), want)
	}
	for _, f := range marks {
		has("marks", f, "number", "kind", "note", "time")
		for _, m := range w.session.Marks() {
			if float64(m.Number) != f.Properties["number"].(float64) {
				continue
			}
			// Web Mercator metres (EPSG:3857) by their definition.
			x := m.LonDeg * math.Pi / 180 * 6378137
			y := math.Asinh(math.Tan(m.LatDeg*math.Pi/180)) * 6378137
			if off := math.Hypot(f.At[0]-x, f.At[1]-y); off > 0.15 {
				t.Errorf("mark %d lies %.2f m from its place", m.Number, off)
			}
		}
	}
	for _, f := range w.inspect(t, "boundary", all).Features {
		has("boundary", f, "field", "current")
	}
}
