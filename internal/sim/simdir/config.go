package simdir

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"drawbar/coverage"
	"drawbar/internal/sim"
	"drawbar/replay/statement"
)

// Ports are where the lines of a scenario come in.
type Ports struct {
	GNSS, Controller         string
	GNSSBaud, ControllerBaud int // 0: not written
}

// Config is the configuration that describes the scenario's machine, for its
// written lines.
func Config(sc sim.Scenario) []byte {
	text := ConfigFor(sc, Ports{GNSS: "tcp://127.0.0.1:5001", Controller: "tcp://127.0.0.1:5002"})
	return append([]byte("# A simulated session: replay reads this file, no port of it is opened.\n"), text...)
}

// ConfigFor is the same with the given ports.
func ConfigFor(sc sim.Scenario, ports Ports) []byte {
	var b bytes.Buffer
	put := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	port := func(source string, baud int) {
		put("  source: %s", source)
		if baud != 0 {
			put("  baud: %d", baud)
		}
	}
	put("units: metric")
	put("timezone: Europe/London")
	put("gnss:")
	port(ports.GNSS, ports.GNSSBaud)
	put("  latency_s: %s", number(sc.Receiver.LatencyS+sc.Receiver.JitterS/2))
	put("  min_quality: any")
	put("controller:")
	port(ports.Controller, ports.ControllerBaud)
	put("  stale_after_s: %s", number(max(2, 2.5/sc.Machine.HZ)))
	put("  report_lag_s: %s", number(sc.Machine.LatencyS+sc.Machine.JitterS/2))
	put("  line: {kind: keyvalue}")
	im := sc.Implement
	put("implement:")
	put("  name: %s", quoted(im.Name))
	put("  operation: %s", quoted(im.Operation))
	put("  antenna_to_hitch_m: %s", number(im.AntennaToHitchM))
	put("  antenna_right_m: %s", number(im.AntennaRightM))
	if im.Mount == coverage.MountTowed {
		put("  mount: towed")
		put("  hitch_to_axle_m: %s", number(im.HitchToAxleM))
	} else {
		put("  mount: rigid")
	}
	put("  hitch_to_bar_m: %s", number(im.HitchToBarM))
	put("  bar_right_m: %s", number(im.BarRightM))
	var widths []string
	for _, w := range im.SectionsM {
		widths = append(widths, number(w))
	}
	put("  sections_m: [%s]", strings.Join(widths, ", "))
	if len(sc.Tanks) > 0 {
		put("tanks:")
	}
	for _, t := range sc.Tanks {
		put("  - tank: %d", t.Number)
		product := "name: " + quoted(t.Product.Name)
		if k := statement.ProductKindName(t.Product.Kind); k != "" {
			product += ", kind: " + k
		}
		if g := t.Product.ThousandKernelG; g > 0 {
			product += ", thousand_kernel_g: " + number(g)
		}
		put("    product: {%s}", product)
		put("    target: %s", statement.QuantityText(t.Target, t.Unit))
		if t.Capacity.SI > 0 {
			put("    capacity: %s", statement.QuantityText(t.Capacity, t.Unit))
		}
		put("    lag_s: %s", number(t.LagS))
	}
	if len(sc.Field.Outline) > 0 {
		put("field: {name: %s, boundary: %s}", quoted(sc.Field.Name), BoundaryFile)
	} else {
		put("field: {name: %s}", quoted(sc.Field.Name))
	}
	return b.Bytes()
}

// number leaves out what lies below a billionth, the rounding of a sum.
func number(v float64) string { return strconv.FormatFloat(math.Round(v*1e9)/1e9, 'f', -1, 64) }

// quoted is a YAML string in double quotes; its escapes are JSON's.
func quoted(s string) string { return strconv.Quote(s) }
