package live

import (
	"time"

	"drawbar/coverage"
	"drawbar/replay"
)

// State is everything that is known at one moment. It must not be changed after
// it was published.
type State struct {
	Version   string
	Started   time.Time // session clock
	Now       time.Time // session clock when published
	Snapshot  replay.Snapshot
	Survey    *Survey // nil: not worked out
	Sources   []SourceState
	Alarms    []AlarmState // those that stand, worst first
	Recording RecordingState
	// CoreErr is why the core works no longer, empty while it does.
	CoreErr string
}

// Survey is areas of the operation in hand that take long to work out, m2, and
// so are older than the rest. A nil member is not known.
type Survey struct {
	SkipM2      *float64
	RemainingM2 *float64
	OutsideM2   *float64
}

// SourceState is one input port.
type SourceState struct {
	Name       string // as configured: gnss, controller
	Stream     string // gnss or controller
	Address    string // path of the port, tcp://host:port or udp://host:port
	Up         bool   // open
	Since      time.Time
	Reconnects uint64
	Bytes      uint64
	Lines      uint64
	LastError  string // of the latest failure to open or read; empty: none
	Baud       int    // 0: not known, or not a serial port
}

// RecordingState is the recording of the session.
type RecordingState struct {
	Session   string // name; empty: nothing is recorded, as in a replay
	Bytes     int64  // written to the session so far
	Recording bool   // every line that comes in is being written
	Err       string // why nothing is written, empty while it is
	FreeBytes uint64 // on the data folder's file system; with HasFree
	HasFree   bool
}

// Notice is something that happened, told once: an alarm raised or cleared, or a
// mark left. Exactly one of the two is there.
type Notice struct {
	Seq   uint64    // given by the Hub, from 1
	At    time.Time // session clock
	Alarm *AlarmChange
	Mark  *coverage.Mark
}
