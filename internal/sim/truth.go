package sim

import "time"

// TruthSchema names the format of truth.json.
const TruthSchema = "drawbar.truth.1"

// Truth is what really happened. Areas are m2, amounts kg, litres or seeds,
// times UTC by GNSS. A figure that is not known is null, never 0.
type Truth struct {
	Schema           string           `json:"schema"`
	Seed             uint64           `json:"seed"`
	Field            string           `json:"field"`
	FieldM2          *float64         `json:"field_m2"`
	Start            time.Time        `json:"start"`
	End              time.Time        `json:"end"`
	DistanceM        float64          `json:"distance_m"`
	WorkingS         float64          `json:"working_s"`
	WorkingDistanceM float64          `json:"working_distance_m"`
	GrossM2          float64          `json:"gross_m2"`
	CoveredM2        *float64         `json:"covered_m2"`
	OverlapM2        *float64         `json:"overlap_m2"`
	SkipM2           *float64         `json:"skip_m2"`
	OutsideM2        *float64         `json:"outside_m2"`
	Tanks            []TankTruth      `json:"tanks"`
	Operations       []OperationTruth `json:"operations"`
	Plugged          []PlugTruth      `json:"plugged"`
	GNSS             GNSSTruth        `json:"gnss"`
	Controller       ControllerTruth  `json:"controller"`
	Passes           int              `json:"passes"`
	Refills          int              `json:"refills"`
	Closed           *Closed          `json:"closed_form"`
	How              []How            `json:"how"`
	Switches         []Switch         `json:"switches"`
}

// How says where a figure comes from and how far it may be off.
type How struct {
	Figure    string  `json:"figure"`
	Kind      string  `json:"kind"`      // closed form, integrated or counted
	Tolerance float64 `json:"tolerance"` // share of the figure
	Note      string  `json:"note"`
}

// TankTruth is what one tank put on the ground.
type TankTruth struct {
	Tank    int     `json:"tank"`
	Name    string  `json:"name"`
	Unit    string  `json:"unit"`
	Applied float64 `json:"applied"`
	AreaM2  float64 `json:"area_m2"` // gross
}

// OperationTruth is one operation's part.
type OperationTruth struct {
	Field     string      `json:"field"`
	Operation string      `json:"operation"`
	Start     time.Time   `json:"start"`
	GrossM2   float64     `json:"gross_m2"`
	Tanks     []TankTruth `json:"tanks"`
}

// PlugTruth is ground that was reported on and stayed bare. Gross figures
// include it: the controller cannot see it either.
type PlugTruth struct {
	Section int       `json:"section"` // from 0 at the left
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	BareM2  float64   `json:"bare_m2"`
}

// Switch is a section going on or off on the ground.
type Switch struct {
	At      time.Time `json:"at"`
	Section int       `json:"section"` // from 0 at the left
	On      bool      `json:"on"`
}

// GNSSTruth counts what the receiver sent. Good are lines that hold a whole
// sentence, those with noise in front included.
type GNSSTruth struct {
	Epochs      int `json:"epochs"` // with a position, each time of day once
	Lines       int `json:"lines"`
	Good        int `json:"good"`
	Flipped     int `json:"flipped"`
	Cut         int `json:"cut"`
	NoiseBefore int `json:"noise_before"`
	Jumps       int `json:"jumps"`
	Repeated    int `json:"repeated"`
	Backward    int `json:"backward"`
}

// ControllerTruth counts the controller's lines.
type ControllerTruth struct {
	Lines   int     `json:"lines"`
	Good    int     `json:"good"`
	Damaged int     `json:"damaged"`
	StaleS  float64 `json:"stale_s"` // silent stretches as asked for
}

// Closed holds the figures that a preset's geometry gives without any
// integration.
type Closed struct {
	GrossM2   float64  `json:"gross_m2"`
	CoveredM2 *float64 `json:"covered_m2"`
	OverlapM2 *float64 `json:"overlap_m2"`
	SkipM2    *float64 `json:"skip_m2"`
	OutsideM2 *float64 `json:"outside_m2"`
	Formula   string   `json:"formula"`
}

// stamp is a time from the start as UTC, to the microsecond.
func (tr *Truth) stamp(s float64) time.Time { return stamp(tr.Start, s) }

func newTruth(sc *Scenario, ops []orderedOperation) *Truth {
	tr := &Truth{
		Schema: TruthSchema, Seed: sc.Seed, Field: sc.Field.Name, Start: sc.Start.UTC(),
		Closed: sc.Closed, Plugged: []PlugTruth{}, Switches: []Switch{},
	}
	if len(sc.Field.Outline) > 2 {
		a := sc.Field.outline().areaM2()
		tr.FieldM2 = &a
	}
	tanks := func() []TankTruth {
		out := []TankTruth{}
		for _, t := range sc.Tanks {
			out = append(out, TankTruth{Tank: t.Number, Name: t.Product.Name, Unit: unitOf(t.Target.Dim).amount})
		}
		return out
	}
	tr.Tanks = tanks()
	for _, o := range ops {
		tr.Operations = append(tr.Operations, OperationTruth{
			Field: o.field, Operation: o.operation, Start: tr.stamp(o.atS), Tanks: tanks(),
		})
	}
	for _, p := range sc.Machine.Plugs {
		tr.Plugged = append(tr.Plugged, PlugTruth{Section: p.Section, From: tr.stamp(p.FromS), To: tr.stamp(p.FromS + p.ForS)})
	}
	for _, s := range sc.Machine.Stale {
		tr.Controller.StaleS += s.ForS
	}
	return tr
}

// finish adds the figures known at the end and says how each was got.
func (tr *Truth) finish(sc *Scenario, pl *Plan, endS float64) {
	tr.End = tr.stamp(endS)
	tr.DistanceM = pl.LengthM
	tr.Passes = len(pl.passEnd)
	for _, sg := range pl.Segments {
		if sg.StopS > 0 {
			tr.Refills++
		}
	}
	step := "continuous path of the bar, steps of at most 1 cm of travel"
	if mounted(sc.Implement) {
		step = "continuous path of the bar; exact on lines and arcs of a mounted implement"
	}
	tr.How = []How{
		{"distance_m", "closed form", 1e-9, "sum of the path's lines and arcs, of the antenna"},
		{"gross_m2", "integrated", 1e-6, step + "; sections as switched on the ground"},
		{"working_s", "integrated", 1e-6, "at least one section on, on the ground"},
		{"working_distance_m", "integrated", 1e-6, "of the antenna, while working"},
		{"tanks.applied", "integrated", 1e-6, "rate held from report to report, on the ground one lag later, times gross area"},
		{"switches", "closed form", 0, "to the microsecond at the meter, plus the lag"},
		{"gnss, controller", "counted", 0, "lines as sent"},
	}
	if tr.FieldM2 != nil {
		tr.How = append(tr.How, How{"field_m2", "closed form", 1e-6, "shoelace formula on the plane"})
	}
	if c := tr.Closed; c != nil {
		tr.CoveredM2, tr.OverlapM2, tr.SkipM2, tr.OutsideM2 = c.CoveredM2, c.OverlapM2, c.SkipM2, c.OutsideM2
		tr.How = append(tr.How, How{"covered_m2, overlap_m2, skip_m2, outside_m2", "closed form", 1e-6, c.Formula})
	}
}
