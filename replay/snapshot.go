package replay

import (
	"time"

	"drawbar/coverage"
	"drawbar/nmea"
)

// Snapshot is the state of a session after its latest event, for those who show
// it: a copy that belongs to whoever asked for it. Ages are the reader's to work
// out, from its own clock and the arrivals given here, which are by the
// session's clock.
type Snapshot struct {
	Events     uint64    // fed so far
	At         time.Time // arrival of the latest event
	Fix        nmea.Fix  // the latest, with its Arrival; Time is zero before the first
	ReportAt   time.Time // arrival of the latest report; zero before the first
	Work       coverage.Snapshot
	Sentences  []nmea.Count                // by formatter and result
	Fixes      [nmea.QualityRTK + 1]uint64 // by quality
	Controller ControllerTally
	ClockSteps int // times the session's clock was seen to be set
}

// Snapshot copies the state as it stands.
func (s *Session) Snapshot() Snapshot {
	return Snapshot{
		Events: s.events, At: s.last, Fix: s.fix, ReportAt: s.heard,
		Work: s.engine.Snapshot(), Sentences: s.reader.Tally().Counts(), Fixes: s.fixes, Controller: s.tally, ClockSteps: s.align.steps,
	}
}
