package live

import (
	"time"

	"drawbar/coverage"
	"drawbar/coverage/supply"
	"drawbar/replay"
)

// State is everything that is known at one moment. It must not be changed after
// it was published.
type State struct {
	Version   string
	Started   time.Time // session clock
	Now       time.Time // session clock when published
	Snapshot  replay.Snapshot
	Survey    *Survey         // nil: not worked out
	Outlook   supply.Forecast // how far what is in the tanks reaches
	Sources   []SourceState
	Alarms    []AlarmState // those that stand, worst first
	Recording RecordingState
	Tiles     TilesState
	Place     Place
	Marks     uint64  // grows whenever marks that are kept have changed
	Replay    *Replay // nil in a live run
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

// TilesState tells what the map tiles show.
type TilesState struct {
	Revision uint64 // grows whenever tiles may have changed
	Work     uint64 // the number of the last Piece that they carry
}

// Place is which field the machine is in, and which one is offered: the field of
// the work never changes by itself.
type Place struct {
	Field string // the field the machine is in; empty: none of those that are known
	Offer *Offer // nil: nothing to settle
}

// Offer is a field that is not that of the work in hand, for the operator to accept.
type Offer struct {
	Field  string
	Inside bool    // the machine is in it; else it is coming to it
	InS    float64 // seconds to its border on the present course; with HasInS
	HasInS bool
}

// Replay is how a recorded session is being shown.
type Replay struct {
	Start, End time.Time // of the session, session clock
	At         time.Time // what is shown now
	Speed      float64   // times as fast as it was recorded
	Playing    bool
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
	// Undone tells that the mark was withdrawn.
	Undone bool
}
