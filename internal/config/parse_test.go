package config_test

import (
	"io/fs"
	"testing"
	"time"
	_ "time/tzdata"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/config"
	"drawbar/internal/units"
	"drawbar/nmea"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"
)

// files opens what a test lays out.
func files(m map[string]string) func(string) ([]byte, error) {
	return func(name string) ([]byte, error) {
		s, ok := m[name]
		if !ok {
			return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
		}
		return []byte(s), nil
	}
}

// ignore leaves out what has no comparable inside: the compiled profile.
var ignore = cmp.Options{
	cmpopts.IgnoreFields(config.Controller{}, "Profile"),
	cmp.Comparer(func(a, b *time.Location) bool { return a.String() == b.String() }),
}

func TestExampleConfiguration(t *testing.T) {
	t.Parallel()
	got, err := config.Parse("config.yaml", []byte(exampleConfig), files(map[string]string{"mill-piece.geojson": millPiece}))
	if err != nil {
		t.Fatal(err)
	}
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	want := config.File{
		Units:    units.Metric,
		Timezone: london,
		GNSS:     config.GNSS{Source: "/dev/serial/by-id/usb-example-if00", Baud: 38400, MinQuality: nmea.QualitySimulated},
		Controller: config.Controller{
			Source: "/dev/ttyUSB1", Baud: 9600, StaleAfterS: 2,
			Line: controller.ProfileSpec{Kind: "keyvalue"},
		},
		Implement: &coverage.Implement{
			Name: "12 m drill", Operation: "seeding", AntennaToHitchM: 1.8, Mount: coverage.MountTowed,
			HitchToAxleM: 6, HitchToBarM: 7.2, SectionsM: []float64{3, 3, 3, 3},
		},
		Tanks: []coverage.Tank{{
			Number:  1,
			Product: coverage.Product{Name: "Spring oats", Kind: coverage.KindSeed, ThousandKernelG: 38},
			// 112 kg on 10,000 m2.
			Target:   controller.Quantity{SI: 0.0112, Dim: controller.DimMassPerArea},
			Capacity: controller.Quantity{SI: 3800, Dim: controller.DimMass},
			Unit:     controller.Unit{Name: "kg/ha", Dim: controller.DimMassPerArea, ToSI: 1e-4},
			LagS:     4,
		}},
		Field: config.Field{
			Name: "Mill Piece", BoundaryFile: "mill-piece.geojson",
			Boundary: orb.MultiPolygon{{{{0.1, 53.4}, {0.104, 53.4}, {0.104, 53.402}, {0.1, 53.402}, {0.1, 53.4}}}},
		},
		Limits:        coverage.Limits{MaxGapS: 2, MaxSpeedMPS: 15},
		Listen:        "127.0.0.1:8080",
		Data:          "./data",
		HasGNSS:       true,
		HasController: true,
	}
	if diff := cmp.Diff(want, got, ignore); diff != "" {
		t.Errorf("the example configuration (-want +got):\n%s", diff)
	}
	if got.Controller.Profile == nil {
		t.Error("no compiled line profile")
	}
}
