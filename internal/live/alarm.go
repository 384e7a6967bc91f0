package live

import "time"

// Alarm is the kind of an alarm; its String is the label of the metric.
type Alarm uint8

// The alarms.
const (
	SourceLost Alarm = iota
	NoFix
	FixQuality
	ControllerSilent
	RateOffTarget
	SectionOff
	TankLow
	TankEmpty
	DiskLow
	RecordingStopped
	ClockStepped
	TankShort
	AlarmCount // how many there are
)

// String is the alarm's name in metrics, events and the log.
func (a Alarm) String() string {
	return [...]string{
		"source_lost", "no_fix", "fix_quality", "controller_silent", "rate_off_target", "section_off",
		"tank_low", "tank_empty", "disk_low", "recording_stopped", "clock_stepped", "tank_short",
		"unknown",
	}[min(a, AlarmCount)]
}

// ParseAlarm is the alarm of a name.
func ParseAlarm(name string) (Alarm, bool) {
	for a := range AlarmCount {
		if a.String() == name {
			return a, true
		}
	}
	return AlarmCount, false
}

// Severity tells how soon someone must act.
type Severity uint8

// The severities, mild to grave.
const (
	Note     Severity = iota // know it
	Warning                  // act soon
	Critical                 // act now: work or its record is being lost
)

// String is the severity's name.
func (s Severity) String() string {
	return [...]string{"note", "warning", "critical"}[min(s, Critical)]
}

// AlarmState is one alarm that stands.
type AlarmState struct {
	Alarm    Alarm
	Subject  string // the source, tank or section; empty where there is only one
	Severity Severity
	Text     string    // what is wrong and what to do, one sentence
	Since    time.Time // when it was raised, session clock
	Seen     bool      // the operator has acknowledged it
}

// AlarmChange is an alarm raised or cleared.
type AlarmChange struct {
	AlarmState
	Raised bool // false: cleared
	At     time.Time
}
