package server

import (
	"time"

	"drawbar/internal/mend"
	"drawbar/internal/store"
	"drawbar/replay"
)

// laterLineJSON describes a correction, or the taking back of one; package statement
// reads it.
type laterLineJSON struct {
	_           struct{}  `doc:"What should have been said of a recorded session: it acts as if it had been said at from and undone at to. Or undo and why alone: an earlier line is taken back. A member that is unknown or at fault is refused and with it the whole."`
	From        string    `json:"from,omitempty" format:"date-time" doc:"By receiver time; with to and why."`
	To          string    `json:"to,omitempty" format:"date-time" doc:"By receiver time."`
	Why         string    `json:"why" minLength:"1" maxLength:"200" doc:"The reason, kept with it."`
	By          string    `json:"by,omitempty" maxLength:"200" doc:"Who makes it, a name or a role; left out: the device that sends it."`
	Undo        int       `json:"undo,omitempty" minimum:"1" doc:"Number of the line that is taken back: a correction, or an undo."`
	Field       string    `json:"field,omitempty" doc:"The field that it was in."`
	Boundary    *anyJSON  `json:"boundary,omitempty" nullable:"true" doc:"GeoJSON geometry, Polygon or MultiPolygon; null: none."`
	Implement   anyJSON   `json:"implement,omitempty" doc:"As in the configuration, whole: the way to correct a width."`
	Operation   string    `json:"operation,omitempty" doc:"What was done; begins an operation of its own, and so splits one."`
	Tanks       []anyJSON `json:"tanks,omitempty" doc:"As in the configuration; each replaces the tank of its number as a whole."`
	Adjust      []anyJSON `json:"adjust,omitempty" doc:"Changes only what is stated of a tank: product, target, capacity, lag_s, rate (reported, target, flow or an amount per area) and factor."`
	Weighed     *anyJSON  `json:"weighed,omitempty" doc:"What went out of a tank, as weighed: tank, amount, ticket."`
	Person      string    `json:"person,omitempty" doc:"Who worked; empty: nobody is named."`
	Crop        string    `json:"crop,omitempty" doc:"What grew or was to grow there."`
	GrowthStage int       `json:"growth_stage,omitempty" minimum:"0" maximum:"99" doc:"BBCH."`
}

type undoJSON struct {
	_   struct{} `doc:"That an earlier line is taken back. It stays where it is, and its taking back can be taken back."`
	Why string   `json:"why" minLength:"1" maxLength:"200" doc:"The reason, kept with it."`
	By  string   `json:"by,omitempty" maxLength:"200" doc:"Who says so; left out: the device that sends it."`
}

type numberedJSON struct {
	_        struct{} `doc:"It is on the disk."`
	Recorded bool     `json:"recorded" doc:"Always true."`
	Number   int      `json:"number" minimum:"1" doc:"Of the line, in the order in which they were written."`
}

type correctionsJSON struct {
	_           struct{}         `doc:"What was said later about a recorded session."`
	Corrections []correctionJSON `json:"corrections" doc:"In the order in which it was said."`
}

type correctionJSON struct {
	_        struct{} `doc:"One line that was said later."`
	Number   int      `json:"number" minimum:"1" doc:"In the order in which it was said, from 1."`
	From     *string  `json:"from" format:"date-time" doc:"Null for one that takes a line back."`
	To       *string  `json:"to" format:"date-time" doc:"Null for one that takes a line back."`
	Why      string   `json:"why" doc:"The reason."`
	By       *string  `json:"by" doc:"Who said so; null: not stated."`
	Made     *string  `json:"made" format:"date-time" doc:"When; null: not stated."`
	Undo     *int     `json:"undo" minimum:"1" doc:"Number of the line that it takes back; null: it is a correction."`
	UndoneBy *int     `json:"undone_by" minimum:"1" doc:"Number of the line that took it back; null: it holds."`
	Line     string   `json:"line" doc:"What it states, as a JSON object, without from, to, why, by and made."`
}

type previewJSON struct {
	_       struct{} `doc:"What a correction would change is being worked out."`
	Preview string   `json:"preview" doc:"Name of the trial, for /api/previews/ID."`
}

type trialFiguresJSON struct {
	_       struct{}              `doc:"What a correction would change. Nothing was written."`
	Session string                `json:"session" doc:"That it corrects."`
	State   string                `json:"state" enum:"working,done,failed" doc:"How far it is."`
	Share   float64               `json:"share" minimum:"0" maximum:"1" doc:"Worked out so far."`
	Changes *bool                 `json:"changes" doc:"Some figure becomes another; null while it is worked out."`
	Before  []mendedOperationJSON `json:"before" doc:"The operations as they stand; empty while they are worked out."`
	After   []mendedOperationJSON `json:"after" doc:"As they would be; empty while they are worked out."`
	Error   *string               `json:"error" doc:"Why it failed."`
}

type mendedOperationJSON struct {
	_         struct{}           `doc:"The figures of one operation."`
	Number    int                `json:"number" minimum:"1" doc:"In the session."`
	Field     string             `json:"field" doc:"Name, empty while not stated."`
	Operation string             `json:"operation" doc:"Such as seeding, empty while not stated."`
	Crop      *string            `json:"crop" doc:"Null while not stated."`
	Start     *string            `json:"start" format:"date-time" doc:"By receiver time."`
	End       *string            `json:"end" format:"date-time" doc:"By receiver time."`
	Implement *string            `json:"implement" doc:"That worked; null without one."`
	WidthM    *float64           `json:"width_m" minimum:"0" doc:"Of its sections together."`
	WorkingS  float64            `json:"working_s" minimum:"0" doc:"Moving with a section on."`
	Area      areaJSON           `json:"area"`
	Products  []productJSON      `json:"products" doc:"In the order of first use."`
	People    []personShareJSON  `json:"people" doc:"Who worked, in the order in which they began."`
	Weighed   []weighedShareJSON `json:"weighed" doc:"What was weighed beside it."`
}

type personShareJSON struct {
	_        struct{} `doc:"One person's share of an operation."`
	Name     *string  `json:"name" doc:"Null: nobody was named."`
	GrossM2  float64  `json:"gross_m2" minimum:"0" doc:"Worked ground, overlap included."`
	WorkingS float64  `json:"working_s" minimum:"0" doc:"Moving with a section on."`
}

type weighedShareJSON struct {
	_              struct{} `doc:"What went out of a tank, as weighed and by the record."`
	Tank           int      `json:"tank" minimum:"1" doc:"Number."`
	From           *string  `json:"from" format:"date-time" doc:"By receiver time."`
	To             *string  `json:"to" format:"date-time" doc:"By receiver time."`
	Unit           string   `json:"unit" enum:",kg,l,seeds" doc:"Of the amounts; empty while not known."`
	Weighed        *float64 `json:"weighed" doc:"In unit; null where it cannot be told in the product's."`
	Metered        *float64 `json:"metered" doc:"In unit, by the rate basis and before any factor; null while not known."`
	Applied        *float64 `json:"applied" doc:"In unit, as recorded, with the factor in force; null while not known."`
	Difference     *float64 `json:"difference" doc:"Weighed minus metered, in unit; null where one is not known."`
	DifferencePart *float64 `json:"difference_part" doc:"The difference as a part of what was metered: 0.034 is 3.4 %."`
	Factor         *float64 `json:"factor" minimum:"0" doc:"By which the metered amount becomes the weighed one; a correction of 0.2 to 5 can carry it."`
	Ticket         *string  `json:"ticket" doc:"Of the weighing; null: not stated."`
}

type calibrationJSON struct {
	_               struct{} `doc:"The controller's calibration figure after a weighing. Which of the two holds depends on what its figure counts; set it on the controller as its own manual says, and check it by a test."`
	Factor          float64  `json:"factor" minimum:"0" doc:"Weighed over metered."`
	AmountPerCount  float64  `json:"amount_per_count" minimum:"0" doc:"Where the figure is an amount for each turn or pulse."`
	CountsPerAmount float64  `json:"counts_per_amount" minimum:"0" doc:"Where the figure is the turns or pulses for one unit of amount."`
}

type joinJSON struct {
	_    struct{}       `doc:"Operations that are one, of one session or of several."`
	Join []joinPartJSON `json:"join" minItems:"2" maxItems:"200" doc:"The operations."`
	Why  string         `json:"why" minLength:"1" maxLength:"200" doc:"The reason, kept with it."`
	By   string         `json:"by,omitempty" maxLength:"200" doc:"Who says so; left out: the device that sends it."`
}

type joinPartJSON struct {
	_       struct{}  `doc:"An operation."`
	Session string    `json:"session" minLength:"1" maxLength:"200" doc:"Name of its session."`
	At      time.Time `json:"at" doc:"A moment of receiver time in which it was worked: numbers change with corrections, the moment does not."`
}

type joinsJSON struct {
	_     struct{}         `doc:"Which operations are one."`
	Joins []joinedLineJSON `json:"joins" doc:"In the order in which it was said."`
}

type joinedLineJSON struct {
	_        struct{}       `doc:"One line of what was joined."`
	Number   int            `json:"number" minimum:"1" doc:"In the order in which it was said, from 1."`
	Join     []joinPartJSON `json:"join" doc:"Empty for a line that takes one back."`
	Why      string         `json:"why" doc:"The reason."`
	By       *string        `json:"by" doc:"Who said so; null: not stated."`
	Made     *string        `json:"made" format:"date-time" doc:"When; null: not stated."`
	Undo     *int           `json:"undo" minimum:"1" doc:"Number of the line that it takes back; null: it joins."`
	UndoneBy *int           `json:"undone_by" minimum:"1" doc:"Number of the line that took it back; null: it holds."`
}

func wireTrial(t mend.Trial) trialFiguresJSON {
	out := trialFiguresJSON{
		Session: t.Session, State: [...]string{"working", "done", "failed"}[min(t.Stage, mend.Failed)], Share: t.Share,
		Before: []mendedOperationJSON{}, After: []mendedOperationJSON{},
	}
	if t.Err != nil {
		out.Error = some(t.Err.Error())
	}
	if t.Stage != mend.Done {
		return out
	}
	out.Before, out.After = wireMended(t.Before), wireMended(t.After)
	changes := t.Changes()
	out.Changes = &changes
	return out
}

func wireMended(records []replay.OperationRecord) []mendedOperationJSON {
	out := []mendedOperationJSON{}
	for i := range records {
		out = append(out, wireMendedOperation(&records[i]))
	}
	return out
}

func wireMendedOperation(r *replay.OperationRecord) mendedOperationJSON {
	a := r.Area
	o := mendedOperationJSON{
		Number: r.Number, Field: r.Field, Operation: r.Operation, Crop: some(r.Crop), Start: stamp(r.Start), End: stamp(r.End),
		Implement: some(r.Implement.Name), WorkingS: r.WorkingS, Products: []productJSON{}, People: []personShareJSON{}, Weighed: []weighedShareJSON{},
		Area: areaJSON{
			FieldM2: a.FieldM2, GrossM2: a.GrossM2, CoveredM2: a.CoveredM2, OverlapM2: a.OverlapM2,
			SkipM2: a.SkipM2, RemainingM2: a.RemainingM2, OutsideM2: a.OutsideM2,
		},
	}
	width := 0.0
	for _, m := range r.Implement.SectionsM {
		width += m
	}
	o.WidthM = only(width, width > 0)
	for _, p := range r.Products {
		o.Products = append(o.Products, productJSON{
			Tank: p.Tank, Name: p.Name, Unit: p.Unit, Applied: p.Applied, AreaM2: p.AreaM2, MeanRatePerM2: p.MeanRate, MeanTargetPerM2: p.MeanTarget,
		})
	}
	for _, p := range r.People {
		o.People = append(o.People, personShareJSON{Name: some(p.Name), GrossM2: p.GrossM2, WorkingS: p.WorkingS})
	}
	for _, w := range r.Weighed {
		o.Weighed = append(o.Weighed, wireWeighed(w))
	}
	return o
}

func wireWeighed(w replay.WeighedFigures) weighedShareJSON {
	out := weighedShareJSON{
		Tank: w.Tank, From: stamp(w.From), To: stamp(w.To), Unit: w.Unit,
		Weighed: w.Weighed, Metered: w.Metered, Applied: w.Applied, Ticket: some(w.Ticket),
	}
	if w.Weighed == nil || w.Metered == nil {
		return out
	}
	weighing := mend.Weighing{Weighed: *w.Weighed, Metered: *w.Metered}
	amount, part, ok := weighing.Difference()
	out.Difference, out.DifferencePart = &amount, only(part, ok)
	if factor, ok := weighing.Factor(); ok {
		out.Factor = &factor
	}
	return out
}

func wireJoins(lines []store.Join) joinsJSON {
	out := joinsJSON{Joins: []joinedLineJSON{}}
	for _, j := range lines {
		line := joinedLineJSON{
			Number: j.Number, Join: []joinPartJSON{}, Why: j.Why, By: some(j.By), Made: stamp(j.Made),
			Undo: only(j.Undo, j.Undo > 0), UndoneBy: only(j.Undone, j.Undone > 0),
		}
		for _, o := range j.Join {
			line.Join = append(line.Join, joinPartJSON{Session: o.Session, At: o.At.UTC()})
		}
		out.Joins = append(out.Joins, line)
	}
	return out
}
