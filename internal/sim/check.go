package sim

import (
	"fmt"
	"math"

	"drawbar/controller"
	"drawbar/coverage"
)

// bound is a number that must lie between two others. NaN and infinity never do.
type bound struct {
	what   string
	v      float64
	lo, hi float64
	unit   string
}

// check refuses what cannot be driven, saying what to change.
func (sc *Scenario) check() error {
	for _, group := range [][]bound{sc.implementBounds(), sc.driveBounds(), sc.reportBounds(), sc.receiverBounds()} {
		for _, b := range group {
			if !(b.v >= b.lo && b.v <= b.hi) {
				return fmt.Errorf("%s %g%s: give between %g and %g", b.what, b.v, b.unit, b.lo, b.hi)
			}
		}
	}
	if err := sc.checkField(); err != nil {
		return err
	}
	for i, t := range sc.Tanks {
		for _, u := range sc.Tanks[:i] {
			if u.Number == t.Number {
				return fmt.Errorf("tank %d is given twice", t.Number)
			}
		}
		if !t.Target.Dim.PerArea() {
			return fmt.Errorf("tank %d: give a target per area", t.Number)
		}
	}
	if len(sc.Receiver.Sentences) == 0 {
		return fmt.Errorf("no sentence to send: choose among %s", formatters)
	}
	for _, s := range sc.Receiver.Sentences {
		if !knownFormatter(s.Formatter) {
			return fmt.Errorf("sentence %q is not one of %s", s.Formatter, formatters)
		}
	}
	if t := sc.Receiver.Talker; len(t) != 2 || t[0] < 'A' || t[0] > 'Z' || t[1] < 'A' || t[1] > 'Z' {
		return fmt.Errorf("talker %q: give two capital letters such as GN", t)
	}
	for _, p := range sc.Machine.Plugs {
		if p.Section < 0 || p.Section >= len(sc.Implement.SectionsM) {
			return fmt.Errorf("plugged section %d: the implement has %d", p.Section+1, len(sc.Implement.SectionsM))
		}
	}
	return nil
}

// checkField looks at how field, implement and turns go together.
func (sc *Scenario) checkField() error {
	im, d := sc.Implement, sc.Drive
	if (sc.fixed == nil || sc.Control.Mode == ControlCovered) && len(sc.Field.Outline) < 3 {
		return fmt.Errorf("an outline of %d corners: give at least 3", len(sc.Field.Outline))
	}
	if im.Mount != coverage.MountTowed {
		return nil
	}
	switch {
	case !(im.HitchToAxleM > 0):
		return fmt.Errorf("a towed implement needs a distance from hitch to axle above 0, not %g m", im.HitchToAxleM)
	case d.Turn == TurnFishtail:
		return fmt.Errorf("a towed implement is not reversed into a turn: choose the bulb turn")
	case sc.fixed == nil && d.RadiusM <= im.HitchToAxleM:
		// The trailed wheel has no steady circle then and the implement
		// jack-knifes.
		return fmt.Errorf("a turning radius of %g m folds up an implement trailed %g m behind its hitch: turn wider", d.RadiusM, im.HitchToAxleM)
	}
	return nil
}

func (sc *Scenario) implementBounds() []bound {
	im := sc.Implement
	b := []bound{
		{"number of sections", float64(len(im.SectionsM)), 1, controller.MaxSections, ""},
		{"bar", im.WidthM(), 0.1, 100, " m"},
		{"antenna to hitch", im.AntennaToHitchM, -50, 50, " m"},
		{"antenna right", im.AntennaRightM, -20, 20, " m"},
		{"hitch to axle", im.HitchToAxleM, 0, 50, " m"},
		{"hitch to bar", im.HitchToBarM, -50, 50, " m"},
		{"bar right", im.BarRightM, -50, 50, " m"},
	}
	for _, s := range im.SectionsM {
		b = append(b, bound{"section", s, 0.01, 100, " m"})
	}
	return b
}

func (sc *Scenario) driveBounds() []bound {
	d := sc.Drive
	b := []bound{
		{"heading", d.HeadingDeg, -3600, 3600, " degrees"},
		{"headland passes", float64(d.HeadlandPasses), 0, 50, ""},
		{"passes", float64(d.Passes), 0, 10_000, ""},
		{"repeats", float64(d.Repeats), 0, 100, ""},
		{"run-in", d.RunInM, 0, 500, " m"},
		{"run-out", d.RunOutM, 0, 500, " m"},
		{"working speed", d.WorkMPS, 0.1, 20, " m/s"},
		{"turning speed", d.TurnMPS, 0.1, 20, " m/s"},
		{"acceleration", d.AccelMPS2, 0.01, 10, " m/s2"},
		{"speed wobble", d.Wobble, 0, 0.9, ""},
		{"standing time", d.StandS, 0, 86_400, " s"},
		{"filling time", d.RefillS, 0, 86_400, " s"},
		{"latitude of the field", sc.Field.LatDeg, -85, 85, " degrees"},
		{"longitude of the field", sc.Field.LonDeg, -180, 180, " degrees"},
		{"turn of the outline", sc.Field.TurnDeg, -3600, 3600, " degrees"},
	}
	if sc.fixed == nil {
		b = append(b, bound{"turning radius", d.RadiusM, 0.5, 200, " m"})
		if d.SpacingM != 0 {
			b = append(b, bound{"pass spacing", d.SpacingM, 0.2, 1000, " m"})
		}
	}
	for _, p := range sc.Field.Outline {
		b = append(b, bound{"corner", p.X, -20_000, 20_000, " m east"}, bound{"corner", p.Y, -20_000, 20_000, " m north"})
	}
	return b
}

func (sc *Scenario) reportBounds() []bound {
	c, m := sc.Control, sc.Machine
	b := []bound{
		{"late on", c.OnLateS, -30, 30, " s"},
		{"late off", c.OffLateS, -30, 30, " s"},
		{"scatter of switching", c.ScatterS, 0, 10, " s"},
		{"latency of reports", m.LatencyS, 0, 60, " s"},
		{"jitter of reports", m.JitterS, 0, 60, " s"},
		{"damaged reports", m.Damaged, 0, 1, ""},
	}
	if len(sc.Tanks) > 0 {
		b = append(b, bound{"reports a second", m.HZ, 0.2, 20, ""})
	}
	for _, t := range sc.Tanks {
		b = append(b,
			bound{"tank number", float64(t.Number), 1, 99, ""},
			bound{"lag", t.LagS, 0, 60, " s"},
			bound{"wander of the rate", t.RateNoise, 0, 1, ""},
			bound{"target", t.Target.SI, 0, 1e6, " " + t.Target.Dim.SIUnit()},
		)
	}
	for _, s := range m.Stale {
		b = append(b, s.bounds("silence of the controller")...)
	}
	for _, p := range m.Plugs {
		b = append(b, p.bounds("plugged section")...)
	}
	return b
}

func (sc *Scenario) receiverBounds() []bound {
	r, c := sc.Receiver, sc.Clock
	const century = 100 * 365.25 * 86_400
	b := []bound{
		{"fixes a second", r.HZ, 1, 50, ""},
		{"latency of fixes", r.LatencyS, 0, 60, " s"},
		{"jitter of fixes", r.JitterS, 0, 60, " s"},
		{"baud", r.Baud, 0, 1e9, ""},
		{"damaged sentences", r.Damaged, 0, 1, ""},
		{"repeated epochs", r.Repeated, 0, 1, ""},
		{"epochs that go back", r.Backward, 0, 1, ""},
		{"decimals of a minute", float64(r.PositionDecimals), 0, 10, ""},
		{"offset of the clock", c.OffsetS, -century, century, " s"},
		{"drift of the clock", c.DriftPPM, -1000, 1000, " ppm"},
	}
	for _, o := range r.Outages {
		b = append(b, o.bounds("outage")...)
	}
	for _, j := range r.Jumps {
		far := math.Max(math.Abs(j.EastM), math.Abs(j.NorthM))
		b = append(b, bound{"jump", far, 0, 200_000, " m"}, bound{"time of a jump", j.AtS, 0, 1e7, " s"})
	}
	for _, s := range c.Steps {
		b = append(b, bound{"step of the clock", s.ByS, -century, century, " s"}, bound{"time of a step", s.AtS, 0, 1e7, " s"})
	}
	return b
}

func (s Span) bounds(what string) []bound {
	return []bound{{what + " from", s.FromS, 0, 1e7, " s"}, {what + " for", s.ForS, 0, 1e7, " s"}}
}
