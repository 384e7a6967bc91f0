package ready_test

import (
	"testing"

	"drawbar/controller"
	"drawbar/internal/ready"
	"drawbar/internal/units"
)

func TestRateText(t *testing.T) {
	t.Parallel()
	kg, kgHa := unit(t, "kg"), unit(t, "kg/ha")
	for _, c := range []struct {
		q      controller.Quantity
		stated controller.Unit
		system units.System
		want   string
	}{
		{perHa(150), kgHa, units.US, "150 kg/ha"}, // as stated, whatever the system
		{perHa(150), kg, units.Metric, "150 kg/ha"},
		{perHa(112.0851156), controller.Unit{}, units.US, "100 lb/ac"}, // SP 811 B.8: 1 lb/ac = 1.120851 kg/ha
		{litresPerHa(80), controller.Unit{}, units.Metric, "80 l/ha"},
		{litresPerHa(93.53956229), kg, units.US, "10 gal/ac"}, // 1 US gal/ac = 9.353956 l/ha
		{controller.Quantity{SI: 300, Dim: controller.DimCountPerArea}, controller.Unit{}, units.Metric, "300 seeds/m2"},
		{controller.Quantity{SI: 5, Dim: controller.DimMass}, kg, units.Metric, ""},
		{controller.Quantity{}, kg, units.Metric, ""},
	} {
		got := ready.RateText(c.q, c.stated, c.system)
		if got != c.want {
			t.Errorf("%+v: got %q, want %q", c, got, c.want)
		}
		if got == "" {
			continue
		}
		if q, _, err := controller.ParseQuantityUnit(got, controller.Unit{}); err != nil || q.Dim != c.q.Dim || q.SI < c.q.SI*0.999999 || q.SI > c.q.SI*1.000001 {
			t.Errorf("%q is read as %+v, %v", got, q, err)
		}
	}
}
