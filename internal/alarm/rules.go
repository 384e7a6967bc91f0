package alarm

import (
	"time"

	"drawbar/internal/live"
)

// rule is what is fixed of an alarm: how grave it is and for how long a
// condition must hold. The thresholds are common practice, no source.
type rule struct {
	severity live.Severity
	hold     hold
}

// rules by alarm.
func rules() [live.AlarmCount]rule {
	const s = time.Second
	return [live.AlarmCount]rule{
		live.SourceLost:       {live.Critical, hold{2 * s, 1 * s}},
		live.NoFix:            {live.Critical, hold{0, 2 * s}}, // noFixAfter has passed by then
		live.FixQuality:       {live.Warning, hold{2 * s, 5 * s}},
		live.ControllerSilent: {live.Critical, hold{0, 1 * s}}, // stale_after_s has passed by then
		live.RateOffTarget:    {live.Warning, hold{5 * s, 2 * s}},
		live.SectionOff:       {live.Warning, hold{3 * s, 1 * s}},
		live.TankLow:          {live.Warning, hold{5 * s, 5 * s}},
		live.TankEmpty:        {live.Critical, hold{2 * s, 5 * s}},
		live.DiskLow:          {live.Warning, hold{0, 10 * s}},
		live.RecordingStopped: {live.Critical, hold{1 * s, 2 * s}},
		live.ClockStepped:     {live.Note, hold{0, 60 * s}},
		live.TankShort:        {live.Warning, hold{5 * s, 2 * s}},
	}
}

// Thresholds. Each pair is where an alarm is raised and where it is cleared.
const (
	noFixAfter  = 3 * time.Second
	fixAgain    = 1500 * time.Millisecond
	movingMPS   = 0.8
	standingMPS = 0.4
	// standsAfter is how long a machine must be below standingMPS to stand, so
	// that a change of gear is no stop.
	standsAfter = 3 * time.Second

	rateOff  = 0.10
	rateBack = 0.08

	tankLow     = 0.10 // of capacity
	tankNotLow  = 0.12
	tankEmpty   = 0.01
	tankNotDone = 0.03

	nextShort = 1.0 // of what the next pass needs is left after this one
	nextAgain = 1.1

	diskBack = 1.1 // of the reserve
)
