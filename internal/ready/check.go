package ready

import (
	"fmt"
	"strings"
	"time"

	"drawbar/coverage"
	"drawbar/internal/catalog"
	"drawbar/internal/live"
	"drawbar/internal/units"
	"drawbar/nmea"
)

// Tolerances. Common practice, no source, where nothing else is said: a metered
// rate is held to a few per cent, and a controller's width is entered to the
// decimetre, but flow and speed are a moment's readings.
const (
	// PlanTolerance is how far a target may be from the plan, as a part of the plan.
	PlanTolerance = 0.05
	// LimitTolerance is what the rounding of units may add to a limit; more is over it.
	LimitTolerance = 0.0005
	// WidthTolerance is how far the width that follows from flow, rate and speed may be
	// from that of the sections that are on, as a part of the latter.
	WidthTolerance = 0.15
	// WidthFromMPS is the speed from which a width is worked out, m/s: below it the
	// receiver's speed is too coarse.
	WidthFromMPS = 1.0
)

// Input is what Check looks at. The zero value of each is "not known".
type Input struct {
	State  *live.State
	Around catalog.Around // of the field of the work, or of the one that the machine is in
	// Outlined tells that an outline of the field is known, from the catalogue or
	// elsewhere.
	Outlined   bool
	Earlier    []Application // on the field of the work
	MinQuality nmea.Quality  // below it nothing is painted
	Units      units.System
	Zone       *time.Location // nil: UTC
	LastPerson string         // who worked last
}

// Application is a product that was laid on a field.
type Application struct {
	Product string
	At      time.Time // the latest moment of it
}

// check is one run.
type check struct {
	Input
	work  *coverage.Snapshot
	op    *coverage.OperationNow // nil: none
	now   time.Time
	plans []catalog.Plan // of the season and of the operation in hand
	items []Item
}

// Check is what is missing or doubtful, the gravest first. Nothing is found where
// nothing is known of the session.
func Check(in Input) []Item {
	if in.State == nil {
		return nil
	}
	if in.Zone == nil {
		in.Zone = time.UTC
	}
	c := check{Input: in, work: &in.State.Snapshot.Work, op: in.State.Snapshot.Work.Operation, now: Now(in.State)}
	c.plans = planned(&in.Around, c.op, Day(c.now, in.Zone))
	c.field()
	c.implement()
	c.position()
	c.person()
	for i := range c.work.InForce.Tanks {
		c.tank(&c.work.InForce.Tanks[i])
	}
	c.intervals()
	return sorted(c.items)
}

// Now is the moment by the receiver, whose clock is right, else by the session's.
func Now(s *live.State) time.Time {
	if f := &s.Snapshot.Fix; !f.Time.IsZero() {
		return f.Time
	}
	return s.Now
}

// Day is the day of the calendar at a moment in a zone, "" where there is none.
func Day(at time.Time, zone *time.Location) catalog.Date {
	if at.IsZero() {
		return ""
	}
	return catalog.Date(at.In(zone).Format(time.DateOnly))
}

// planned are the plans of the day's season that are of the operation in hand.
func planned(a *catalog.Around, op *coverage.OperationNow, day catalog.Date) (out []catalog.Plan) {
	season := a.Season(day)
	if season == nil || op == nil {
		return nil
	}
	for _, p := range a.PlansOf(season.ID) {
		if strings.EqualFold(p.Operation, op.Name) {
			out = append(out, p)
		}
	}
	return out
}

func (c *check) add(kind Kind, severity live.Severity, subject string, step Step, text string, args ...any) {
	c.items = append(c.items, Item{Kind: kind, Severity: severity, Subject: subject, Text: fmt.Sprintf(text, args...), Step: step})
}

func (c *check) field() {
	if c.op == nil || c.op.Field == "" {
		here, text := c.State.Place.Field, "No field is stated: the work is counted, but under no name."
		if o := c.State.Place.Offer; here == "" && o != nil && o.Inside {
			here = o.Field
		}
		if here != "" {
			c.add(NoField, live.Warning, "", Step{Do: Begin, Field: here, Text: "Work in " + here}, "%s The machine is in %s.", text, here)
			return
		}
		c.add(NoField, live.Warning, "", Step{Do: ChooseField, Text: "Choose the field"}, "%s", text)
		return
	}
	if c.op.HasBoundary {
		return
	}
	const text = "%s has no boundary here, so what is left to do and what lies outside are not known."
	if c.Outlined {
		c.add(NoBoundary, live.Note, "", Step{Do: Begin, Field: c.op.Field, Text: "Take the known boundary"}, text, c.op.Field)
		return
	}
	c.add(NoBoundary, live.Note, "", Step{Do: Draw, Text: "Make a boundary"}, text, c.op.Field)
}

func (c *check) implement() {
	im, choose := c.work.InForce.Implement, Step{Do: ChooseTool, Text: "Choose the implement"}
	if im == nil {
		c.add(NoImplement, live.Warning, "", choose, "No implement is stated: everything is recorded, but no ground is painted until there is one.")
		return
	}
	if n := c.work.InForce.SectionsReported; n > 0 && n != len(im.SectionsM) {
		c.add(SectionCount, live.Warning, "", choose, "The controller names %s, %s has %d. Check which of the two is the machine behind the tractor.", sections(n), named(im.Name, "the implement"), len(im.SectionsM))
	}
	c.width(im, choose)
}

func sections(n int) string {
	if n == 1 {
		return "1 section"
	}
	return fmt.Sprintf("%d sections", n)
}

func named(name, otherwise string) string {
	if name == "" {
		return otherwise
	}
	return name
}

// width compares the width on that follows from a tank's flow and rate with that of
// the sections that are on.
func (c *check) width(im *coverage.Implement, choose Step) {
	if !c.work.HasSpeed || !(c.work.SpeedMPS >= WidthFromMPS) || len(c.work.Metered) != len(im.SectionsM) {
		return
	}
	onM := 0.0
	for i, s := range c.work.Metered {
		switch s {
		case coverage.SectionOn:
			onM += im.SectionsM[i]
		case coverage.SectionUnknown:
			return
		}
	}
	if !(onM > 0) {
		return
	}
	for _, t := range c.work.InForce.Tanks {
		if t.Rate.Dim == 0 || t.Flow.Dim.Amount() != t.Rate.Dim.Amount() || !(t.Rate.SI > 0) || !(t.Flow.SI > 0) {
			continue
		}
		byM := t.Flow.SI / (t.Rate.SI * c.work.SpeedMPS)
		if off := byM/onM - 1; off > WidthTolerance || off < -WidthTolerance {
			c.add(ImplementWidth, live.Warning, tankName(t.Number), choose, "Flow, rate and speed of tank %d come to a width of %s, the sections that are on to %s. One of the two machines has another width set.",
				t.Number, c.Units.Show(units.Length, byM), c.Units.Show(units.Length, onM))
			return // one tank is enough to tell
		}
	}
}

func tankName(n int) string { return fmt.Sprintf("tank %d", n) }

func (c *check) position() {
	look := Step{Do: OpenInputs, Text: "See what arrives"}
	f := &c.State.Snapshot.Fix
	switch {
	case f.Time.IsZero():
		c.add(FixQuality, live.Warning, "", look, "There is no position yet: everything is recorded, but no ground is painted.")
	case f.Quality < c.MinQuality:
		c.add(FixQuality, live.Warning, "", look, "The position is of the quality %s, and below %s nothing is painted, as gnss.min_quality says.", f.Quality, c.MinQuality)
	case f.Quality < nmea.QualityDGNSS:
		c.add(FixQuality, live.Note, "", look, "The position is of the quality %s, good to metres: overlap and skips are as coarse as that.", f.Quality)
	}
}

func (c *check) person() {
	if c.work.InForce.Person != "" {
		return
	}
	const text = "Nobody is named who does the work. Records of crop protection ask for a name."
	if c.LastPerson != "" {
		c.add(NoPerson, live.Note, "", Step{Do: SayPerson, Person: c.LastPerson, Text: "It is " + c.LastPerson}, text)
		return
	}
	c.add(NoPerson, live.Note, "", Step{Do: ChooseName, Text: "Say who works"}, text)
}
