package alarm

import (
	"drawbar/coverage"
	"drawbar/coverage/supply"
	"drawbar/internal/live"
	"drawbar/nmea"
)

// Limits are what the configuration sets.
type Limits struct {
	MinQuality   nmea.Quality // below it nothing is painted
	StaleS       float64      // how long the controller may be silent while moving; 0 = 2 s
	ReserveBytes uint64       // of free disk; 0 = 1 GB
	Records      bool         // the session is meant to be recorded: false where one is shown again
}

// defaults of Limits.
const (
	defaultStaleS       = 2
	defaultReserveBytes = 1_000_000_000
)

// View is what the rules look at.
type View struct {
	Sources    []live.SourceState
	Fixes      uint64                  // so far
	Quality    nmea.Quality            // of the latest fix
	SpeedMPS   float64                 // at the latest fix; with HasSpeed
	Reports    uint64                  // of the controller, so far
	ClockSteps int                     // so far
	Sections   []coverage.SectionState // as the controller said last
	Tanks      []coverage.TankNow
	Outlook    supply.Forecast
	Recording  live.RecordingState
	HasSpeed   bool
}

// ViewOf is the view of a state.
func ViewOf(s *live.State) View {
	snap := &s.Snapshot
	v := View{
		Sources: s.Sources, Quality: snap.Fix.Quality, SpeedMPS: snap.Work.SpeedMPS, HasSpeed: snap.Work.HasSpeed,
		Reports: uint64(snap.Controller.Reports), ClockSteps: snap.ClockSteps,
		Sections: snap.Work.Metered, Tanks: snap.Work.Tanks, Outlook: s.Outlook, Recording: s.Recording,
	}
	for _, n := range snap.Fixes {
		v.Fixes += n
	}
	return v
}

// has tells whether there is a source of the stream.
func (v *View) has(stream string) bool {
	for i := range v.Sources {
		if v.Sources[i].Stream == stream {
			return true
		}
	}
	return false
}
