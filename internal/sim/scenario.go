package sim

import (
	"math"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/plane"
)

// Scenario is one made-up job. The zero value of a member means "as in Default"
// only where that is said; start from Default or a preset and change what
// matters.
type Scenario struct {
	Seed      uint64
	Start     time.Time // UTC by GNSS, whole seconds
	Field     Field
	Implement coverage.Implement
	Tanks     []Tank
	Drive     Drive
	Control   Control
	Machine   Machine
	Receiver  Receiver
	Clock     Clock
	Orders    []Order // what the operator says, in any order
	Closed    *Closed // closed forms, where the preset knows them
	fixed     *Plan   // a preset's own path, instead of a planned field
}

// Field is the ground to work.
type Field struct {
	Name    string
	Outline []Point // m round the origin; either sense, no closing point
	LatDeg  float64 // origin, WGS 84
	LonDeg  float64
	TurnDeg float64 // the outline is turned by this, counter-clockwise
}

// TurnShape is how the tractor gets from one pass to the next.
type TurnShape uint8

// The shapes of turn.
const (
	TurnBulb     TurnShape = iota // forwards only, arcs and lines
	TurnFishtail                  // with a piece in reverse; mounted implements only
)

// Drive is how the field is driven.
type Drive struct {
	HeadingDeg     float64 // of the first pass, clockwise from grid north
	SpacingM       float64 // from pass to pass; 0 = the implement's width
	HeadlandPasses int
	Passes         int // at most so many; 0 = until the field is done
	Repeats        int // the whole plan again so many times
	RadiusM        float64
	RunInM         float64 // straight before the first ground
	RunOutM        float64 // straight after the last ground
	WorkMPS        float64
	TurnMPS        float64
	AccelMPS2      float64
	Wobble         float64 // share by which the speed wanders from stretch to stretch
	StandS         float64 // standing before the start and after the end
	RefillS        float64 // standing at the headland to fill up; 0 = never filled
	Turn           TurnShape
}

// ControlMode is who switches the sections.
type ControlMode uint8

// The ways of switching.
const (
	ControlPlanned  ControlMode = iota // by the boundary and the headland
	ControlCovered                     // the same, and off over covered ground
	ControlAlwaysOn                    // on from the first movement to the last
)

// Edge is when a section that crosses an edge at an angle is switched.
type Edge uint8

// The rules for an edge.
const (
	EdgeLast   Edge = iota // on while any part of it is inside: overlap, no skip
	EdgeMiddle             // by its middle
	EdgeFirst              // on while the whole of it is inside: skip, no overlap
)

// Control is the section control.
type Control struct {
	OnLateS  float64 // ground switched on so late; negative: early
	OffLateS float64
	ScatterS float64 // one standard deviation, of each switching
	Mode     ControlMode
	Edge     Edge
}

// Tank is a tank and how well its meter keeps the target.
type Tank struct {
	coverage.Tank
	RateNoise float64 // share of the target, one standard deviation
	PlainFlow bool    // report flow instead of rate
}

// Span is a stretch of time in seconds from the start.
type Span struct{ FromS, ForS float64 }

// Plug is a section that is reported on and leaves the ground bare.
type Plug struct {
	Section int // from 0 at the left
	Span
}

// Machine is the rate controller and its line.
type Machine struct {
	HZ            float64 // reports a second
	LatencyS      float64 // from the meter to the arrival of the line
	JitterS       float64 // more, evenly spread
	Damaged       float64 // share of lines
	Stale         []Span  // no lines
	Plugs         []Plug
	OnChange      bool // an extra line at the very moment of a switching
	OneTankALine  bool
	WithoutTotals bool
}

// Class is the correction that the receiver has.
type Class uint8

// The correction classes. ClassPerfect has no error and says RTK fixed.
const (
	ClassPerfect Class = iota
	ClassRTK
	ClassFloat
	ClassDGPS
	ClassAutonomous
)

// Sentence is a sentence that the receiver sends, every so many epochs.
type Sentence struct {
	Formatter string // GGA, GNS, RMC, VTG, ZDA, GST, HDT, THS or GLL
	Every     int    // 0 and 1 = each epoch
}

// Jump is one epoch whose position lies far off.
type Jump struct{ AtS, EastM, NorthM float64 }

// Outage is a time without fixes: silent, or with empty sentences.
type Outage struct {
	Span
	Empty bool // sentences go on, with quality 0 and no position
}

// Receiver is the GNSS receiver and its line.
type Receiver struct {
	HZ               float64 // epochs a second, 1 to 50
	Sentences        []Sentence
	Talker           string
	LatencyS         float64 // from the epoch to its first sentence
	JitterS          float64 // more, evenly spread
	Baud             float64 // 0 = the sentences of an epoch arrive together
	Damaged          float64 // share of sentences
	Repeated         float64 // share of epochs sent twice
	Backward         float64 // share of epochs after which the one before is sent again
	Outages          []Outage
	Jumps            []Jump
	PositionDecimals int // of a minute; 0 = 8
	Class            Class
}

// Step is a sudden change of the session's clock.
type Step struct{ AtS, ByS float64 }

// Clock is the session's clock against GNSS time.
type Clock struct {
	OffsetS  float64
	DriftPPM float64
	Steps    []Step
}

// Order is what the operator says: one JSON object. It is said at AtS, or
// AfterPass passes (the last one at most) where that is above 0. Targets change the machine's own
// target from then on.
type Order struct {
	AtS       float64
	AfterPass int
	JSON      string
	Targets   []Target
}

// Target is a new target of a tank, kg, litres or seeds per m2.
type Target struct {
	Tank      int
	RatePerM2 float64
}

// Default is a modest drill in a rectangle, perfect GNSS, no faults.
func Default() Scenario {
	return Scenario{
		Seed:  1,
		Start: time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC),
		Field: Field{Name: "Mill Piece", Outline: rectangle(200, 150), LatDeg: 53.3, LonDeg: 0},
		Implement: coverage.Implement{
			Name: "12 m drill", Operation: "seeding", SectionsM: []float64{3, 3, 3, 3},
			AntennaToHitchM: 1.8, HitchToBarM: 1.2, Mount: coverage.MountRigid,
		},
		Tanks: []Tank{{Tank: product(coverage.Tank{
			Number: 1, Product: coverage.Product{Name: "Spring oats", Kind: coverage.KindSeed, ThousandKernelG: 38},
		}, "kg", 112, 3800)}},
		Drive: Drive{
			HeadingDeg: 90, RadiusM: 8, RunInM: 5, RunOutM: 1,
			WorkMPS: 3, TurnMPS: 2, AccelMPS2: 0.6, StandS: 5,
		},
		Machine: Machine{HZ: 2, OnChange: true},
		Receiver: Receiver{
			HZ: 5, Talker: "GN",
			Sentences: []Sentence{{Formatter: "GGA"}, {Formatter: "RMC"}, {Formatter: "VTG"}},
		},
	}
}

// rectangle is an outline w east by h north whose south-west corner is the origin.
func rectangle(w, h float64) []Point { return []Point{{0, 0}, {w, 0}, {w, h}, {0, h}} }

// outline is the field's outline in its final place, counter-clockwise.
func (f Field) outline() polygon {
	pg := polygon(f.Outline).turned(f.TurnDeg * math.Pi / 180)
	if pg.areaM2() < 0 {
		for i, j := 0, len(pg)-1; i < j; i, j = i+1, j-1 {
			pg[i], pg[j] = pg[j], pg[i]
		}
	}
	return pg
}

// sectionLagS is the lag that the sections have: that of the lowest-numbered tank.
func (sc *Scenario) sectionLagS() float64 {
	if len(sc.Tanks) == 0 {
		return 0
	}
	first := sc.Tanks[0]
	for _, t := range sc.Tanks {
		if t.Number < first.Number {
			first = t
		}
	}
	return first.LagS
}

// maxLagS is the longest lag of all tanks.
func (sc *Scenario) maxLagS() float64 {
	lag := 0.0
	for _, t := range sc.Tanks {
		lag = max(lag, t.LagS)
	}
	return lag
}

// Ring is the outline as a closed, counter-clockwise ring of longitude and
// latitude, degrees WGS 84.
func (f Field) Ring() [][2]float64 {
	pg := f.outline()
	pl := plane.New(f.LatDeg, f.LonDeg)
	ring := make([][2]float64, 0, len(pg)+1)
	for i := range len(pg) + 1 {
		p := pg[i%len(pg)]
		lat, lon := pl.Inverse(p.X, p.Y)
		ring = append(ring, [2]float64{lon, lat})
	}
	return ring
}
