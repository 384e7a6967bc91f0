package replay

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
)

// SummarySchema names the form of a Summary.
const SummarySchema = "drawbar.summary.1"

// stampLayout is how times are written: RFC 3339, UTC, milliseconds.
const stampLayout = "2006-01-02T15:04:05.000Z"

// Summary is the figures of a session. Areas are m2, lengths m, times s;
// amounts are in the product's unit, rates in that unit per m2. A nil member is
// not known and is written as null.
type Summary struct {
	Schema           string             `json:"schema"`
	GNSS             GNSSFigures        `json:"gnss"`
	Controller       ControllerFigures  `json:"controller"`
	Start            *string            `json:"start"` // of the first and last fix, by receiver time
	End              *string            `json:"end"`
	WorkingS         float64            `json:"working_s"`
	DistanceM        float64            `json:"distance_m"`
	WorkingDistanceM float64            `json:"working_distance_m"`
	Operations       []OperationFigures `json:"operations"`
	Marks            []MarkFigures      `json:"marks"`
	Warnings         []string           `json:"warnings"`
}

// GNSSFigures counts what the receiver sent. Sentences are those with a good
// checksum; gap_s is the whole of the holes between fixes longer than allowed.
type GNSSFigures struct {
	Lines       int     `json:"lines"`
	Sentences   int     `json:"sentences"`
	BadChecksum int     `json:"bad_checksum"`
	Unparsed    int     `json:"unparsed"`
	Fixes       int     `json:"fixes"`
	Gaps        int     `json:"gaps"`
	GapS        float64 `json:"gap_s"`
}

// ControllerFigures counts what the rate controller sent. stale_s is how long
// it had been silent for too long while the machine moved.
type ControllerFigures struct {
	Lines    int     `json:"lines"`
	Reports  int     `json:"reports"`
	Rejected int     `json:"rejected"`
	StaleS   float64 `json:"stale_s"`
}

// OperationFigures are those of one operation.
type OperationFigures struct {
	Field     string           `json:"field"`
	Operation string           `json:"operation"`
	Start     *string          `json:"start"`
	End       *string          `json:"end"`
	Area      AreaFigures      `json:"area"`
	OverlapBy OverlapFigures   `json:"overlap_by"`
	Products  []ProductFigures `json:"products"`

	// The skips that are not closed, the largest first; not part of the JSON form.
	Skips []coverage.Skip `json:"-"`
}

// AreaFigures are areas on the ground in m2.
type AreaFigures struct {
	FieldM2     *float64 `json:"field_m2"`
	GrossM2     float64  `json:"gross_m2"`
	CoveredM2   float64  `json:"covered_m2"`
	OverlapM2   float64  `json:"overlap_m2"`
	SkipM2      *float64 `json:"skip_m2"`
	RemainingM2 *float64 `json:"remaining_m2"`
	OutsideM2   *float64 `json:"outside_m2"`
}

// OverlapFigures are the overlap by cause, as coverage.OverlapCause has them.
type OverlapFigures struct {
	HeadlandM2      float64 `json:"headland_m2"`
	BetweenPassesM2 float64 `json:"between_passes_m2"`
	SectionsM2      float64 `json:"sections_m2"`
}

// ProductFigures are those of one product from one tank; area_m2 is gross.
type ProductFigures struct {
	Tank       int      `json:"tank"`
	Name       string   `json:"name"`
	Unit       string   `json:"unit"`
	Applied    *float64 `json:"applied"`
	AreaM2     float64  `json:"area_m2"`
	MeanRate   *float64 `json:"mean_rate"`
	MeanTarget *float64 `json:"mean_target"`

	// Not part of the JSON form: the amount before any factor, and the factor, nil where
	// it changed or nothing is known.
	Metered *float64 `json:"-"`
	Factor  *float64 `json:"-"` // ratio
}

// MarkFigures is one mark.
type MarkFigures struct {
	Kind string   `json:"kind"`
	Note string   `json:"note"`
	Time string   `json:"time"`
	Lon  *float64 `json:"lon"`
	Lat  *float64 `json:"lat"`
}

// Decimals of the figures.
const (
	placesM2     = 3
	placesM      = 3
	placesS      = 3
	placesAmount = 6
	placesRate   = 9
	placesDeg    = 9
)

// Summary adds up the session as it stands; after Finish it is final.
func (s *Session) Summary() Summary {
	t, g := s.engine.Totals(), s.reader.Tally()
	out := Summary{
		Schema: SummarySchema,
		GNSS: GNSSFigures{
			Lines: int(g.Lines), Sentences: int(g.Sentences), BadChecksum: int(g.BadChecksum), Unparsed: int(g.Unparsed),
			Fixes: t.Fixes, Gaps: t.Gaps, GapS: round(float64(t.GapNS)/1e9, placesS),
		},
		Controller: ControllerFigures{
			Lines: s.tally.Lines, Reports: s.tally.Reports, StaleS: round(float64(t.SilentNS)/1e9, placesS),
		},
		WorkingS:         round(float64(t.WorkingNS)/1e9, placesS),
		DistanceM:        round(t.DistanceM, placesM),
		WorkingDistanceM: round(t.WorkingDistanceM, placesM),
		Operations:       []OperationFigures{},
		Marks:            []MarkFigures{},
		Warnings:         s.warnings(),
	}
	for _, n := range s.tally.Rejected {
		out.Controller.Rejected += n
	}
	from, to := s.span()
	out.Start, out.End = stamp(from), stamp(to)
	for i, o := range s.engine.Operations() {
		f := figures(o, from, to)
		out.Operations = append(out.Operations, f)
		if doubt := boundaryDoubt(o, f.Area); doubt != "" {
			out.Warnings = append(out.Warnings, "operation "+strconv.Itoa(i+1)+": "+doubt)
		}
	}
	for _, m := range s.engine.Marks() {
		f := MarkFigures{Kind: m.Kind, Note: m.Note, Time: m.Time.UTC().Format(stampLayout)}
		f.Lon, f.Lat = known(m.LonDeg, m.Known, placesDeg), known(m.LatDeg, m.Known, placesDeg)
		out.Marks = append(out.Marks, f)
	}
	return out
}

// span is from the first fix to the last, by receiver time; without any from the
// first event to the last.
func (s *Session) span() (from, to time.Time) {
	if t := s.engine.Totals(); t.LastNS != 0 {
		return time.Unix(0, t.FirstNS).UTC(), time.Unix(0, t.LastNS).UTC()
	}
	return s.first, s.last
}

// Figures are an operation's by itself, outside a session.
func Figures(o *coverage.Operation) OperationFigures { return figures(o, o.Start, o.End) }

// figures are an operation's.
func figures(o *coverage.Operation, from, to time.Time) OperationFigures {
	start, end := lasts(o, from, to)
	f := OperationFigures{Field: o.Field, Operation: o.Name, Start: stamp(start), End: stamp(end), Products: []ProductFigures{}}
	f.Area.GrossM2 = round(o.Gross.M2(), placesM2)
	f.Area.CoveredM2 = round(o.Covered().M2(), placesM2)
	f.Area.OverlapM2 = round(o.Overlap().M2(), placesM2)
	by := o.OverlapBy()
	f.OverlapBy = OverlapFigures{round(by.HeadlandM2, placesM2), round(by.BetweenPassesM2, placesM2), round(by.SectionsM2, placesM2)}
	skip, ok := o.SkipM2()
	f.Area.SkipM2 = known(skip, ok, placesM2)
	remaining, ok := o.RemainingM2()
	f.Area.RemainingM2 = known(remaining, ok, placesM2)
	f.Skips = slices.DeleteFunc(o.Skips(), func(k coverage.Skip) bool { return k.State == coverage.SkipClosed })
	slices.SortStableFunc(f.Skips, func(a, b coverage.Skip) int { return cmp.Compare(b.AreaM2, a.AreaM2) })
	field, ok := o.FieldAreaM2()
	f.Area.FieldM2 = known(field, ok, placesM2)
	outside, ok := o.OutsideM2()
	f.Area.OutsideM2 = known(outside, ok, placesM2)
	for _, u := range o.Products {
		p := ProductFigures{Tank: u.Tank, Name: u.Product.Name, Unit: u.Unit.AmountUnit(), AreaM2: round(u.Gross.M2(), placesM2)}
		applied, ok := u.Applied()
		p.Applied = known(applied, ok, placesAmount)
		mean, ok := u.MeanRatePerM2()
		p.MeanRate = known(mean, ok, placesRate)
		target, ok := u.MeanTargetPerM2()
		p.MeanTarget = known(target, ok, placesRate)
		metered, ok := u.Metered()
		p.Metered = known(metered, ok, placesAmount)
		factor, ok := u.Factor()
		p.Factor = known(factor, ok, placesRate)
		f.Products = append(f.Products, p)
	}
	return f
}

// boundaryDoubt says in words that an operation's boundary cannot be that of its
// ground, as when latitude was written before longitude; empty where it can.
func boundaryDoubt(o *coverage.Operation, a AreaFigures) string {
	const check = "; check that it is the right field's and says longitude before latitude"
	switch {
	case len(o.Boundary) == 0 || !o.Worked():
		return ""
	case a.FieldM2 == nil || a.OutsideM2 == nil:
		return "the boundary reaches too far from the work to be compared with it" + check
	case *a.OutsideM2 >= a.CoveredM2:
		return "all of the work lies outside the boundary" + check
	}
	return ""
}

func (s *Session) warnings() []string {
	out := append([]string{}, s.engine.Warnings()...)
	if n := s.reader.Repeated(); n > 0 {
		out = append(out, "position sentences that came again after the fix of their epoch: "+strconv.FormatUint(n, 10)+"; they changed nothing")
	}
	if s.align.steps > 0 {
		out = append(out, "times that the clock was set or the receiver's time changed during the session: "+strconv.Itoa(s.align.steps)+"; reports were carried over by receiver time")
	}
	for r, n := range s.tally.Rejected {
		if n > 0 {
			out = append(out, "controller lines rejected ("+controller.Reason(r).String()+"): "+strconv.Itoa(n))
		}
	}
	if s.setup.Coverage.Implement != nil && s.tally.Lines == 0 && !s.setup.Coverage.AlwaysOn {
		out = append(out, "no controller line was recorded, so nothing is known of what was on; --always-on paints the whole bar")
	}
	out = append(out, s.faults...)
	if s.dropped > 0 {
		out = append(out, "further faults in operator lines: "+strconv.Itoa(s.dropped))
	}
	return out
}

func stamp(t time.Time) *string {
	if t.IsZero() {
		return nil
	}
	s := t.UTC().Format(stampLayout)
	return &s
}

func known(v float64, ok bool, places int) *float64 {
	if !ok {
		return nil
	}
	v = round(v, places)
	return &v
}

// round is v at the given number of decimals, by way of text so that every
// machine rounds alike; never NaN and never minus zero.
func round(v float64, places int) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', places, 64), 64)
	if err != nil || r == 0 {
		return 0
	}
	return r
}
