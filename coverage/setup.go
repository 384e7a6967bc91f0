package coverage

import (
	"time"

	"drawbar/coverage/ground"
	"drawbar/nmea"
)

// Setup is what an Engine is told at the start. The zero value of Implement,
// Tanks and Field means that nothing is set up yet: positions and distance are
// still counted.
type Setup struct {
	Implement  *Implement
	Tanks      []Tank
	Field      string
	Boundary   Boundary
	Limits     Limits
	MinQuality nmea.Quality // below it nothing is painted
	StaleS     float64      // no report for this long: state unknown
	ReportLagS float64      // a report describes the meter this long before it arrives
	AlwaysOn   bool         // no controller: the whole bar is on

	// WatchSkips remembers when each skip arose, settled and was closed. Without it
	// skips are known as they are when asked for, since the operation's end.
	WatchSkips bool

	Corrections []Correction

	OnSwath func(Swath)      // nil: swaths are not built
	OnQuad  func(Quad)       // nil: quads are not handed out
	OnTrack func(TrackPoint) // nil: the track is not handed out
	// OnGround is handed every quad that goes on the ground of an operation, in that
	// order: stretches over which only rates changed are one. A Gathering's Add.
	OnGround func(*Operation, ground.Quad)
}

// TrackPoint is a fix as it was used: where the antenna was, and whether the
// way to it was worked.
type TrackPoint struct {
	Time           time.Time
	LatDeg, LonDeg float64
	SpeedMPS       float64
	HeadingDeg     float64 // true, of the tractor; valid with HasHeading
	Quality        nmea.Quality
	HasHeading     bool
	HasSpeed       bool
	Broken         bool // nothing joins it to the point before: gap or jump
}

// Totals are the counts and sums of a whole session.
type Totals struct {
	Fixes            int
	Gaps             int // holes between fixes longer than max_gap_s
	GapNS            int64
	Jumps            int // pairs of fixes farther apart than max_speed_mps allows
	Fast             int // such pairs that the receiver's own speed bears out: no jump, but too fast for work
	OutOfOrder       int // fixes that repeat or go back in time
	SetBack          int // how often the receiver's time went back and stayed there
	Unplaced         int // fixes that no plane reaches
	SilentNS         int64
	WorkingNS        int64
	DistanceM        float64
	WorkingDistanceM float64
	FirstNS, LastNS  int64 // of the fixes used; both 0 without any
}
