package server

import (
	"context"
	"time"

	"drawbar/coverage"
	"drawbar/internal/arrivals"
	"drawbar/internal/boundary"
	"drawbar/internal/live"
	"drawbar/internal/tiles"
	"drawbar/replay"
)

// Sayer takes what the operator said. Say returns after the line was recorded;
// an error means that it was not. It is one JSON object without line end.
type Sayer interface {
	Say(ctx context.Context, line []byte) (Said, error)
}

// Said is what came of an operator line that was recorded.
type Said struct {
	Mark int       // number of the mark that it left; 0: none
	At   time.Time // it was recorded, by the session's clock
}

// Lister lists the sessions on disk, the latest first.
type Lister interface {
	Sessions(ctx context.Context) ([]Session, error)
}

// Session is one recorded session.
type Session struct {
	Name  string
	Start time.Time // session clock; zero: not known
	End   time.Time // zero: not known, or not ended
	Bytes int64
	State SessionState
}

// SessionState tells what became of a session.
type SessionState string

// The states of a session.
const (
	SessionOpen   SessionState = "recording"
	SessionClosed SessionState = "closed"
	SessionCut    SessionState = "unclosed" // ended without being closed and not mended yet
)

// Tiler makes map tiles; tiles.Maker does. A request for what there is not gives
// one of that package's errors.
type Tiler interface {
	Tile(ctx context.Context, r tiles.Request) (tiles.Tile, error)
}

// Fields knows the fields that the machine may come to.
type Fields interface {
	// Known are all of them. The slice is not changed.
	Known() []boundary.Field
	// Accept moves the work to the known field of that name, from now on.
	Accept(ctx context.Context, name string) error
	// Decline says that the field is not wanted, so that it is offered no more.
	Decline(ctx context.Context, name string) error
}

// Outliner draws a line around the ground worked. The error says why there is none.
type Outliner interface {
	OutlineOfWork(ctx context.Context) (replay.Outline, error)
}

// Driver takes a boundary from the path of the machine.
type Driver interface {
	// StartDrive begins one; offsetM is how far outside the edge it lies, to the
	// right of the antenna.
	StartDrive(ctx context.Context, edge coverage.Edge, offsetM float64) error
	// StopDrive closes it. The error says why it cannot be closed; it then goes on.
	StopDrive(ctx context.Context) error
	// DropDrive forgets it.
	DropDrive(ctx context.Context) error
	// Driving tells how it stands.
	Driving(ctx context.Context) (Drive, error)
}

// Drive is a boundary that is being driven, or was.
type Drive struct {
	Driving bool
	Edge    coverage.Edge
	OffsetM float64
	coverage.Driven
	Path    [][2]float64   // longitude, latitude
	Outline replay.Outline // nil: not stopped yet
}

// Acknowledger takes note that the operator has seen an alarm. ok is false where no
// such alarm stands.
type Acknowledger interface {
	Acknowledge(ctx context.Context, kind live.Alarm, subject string) (ok bool, err error)
}

// Steerer sets how the replay of a session goes on; a nil argument leaves things as
// they are.
type Steerer interface {
	Steer(ctx context.Context, at *time.Time, speed *float64, playing *bool) error
}

// Arrivals tells what arrives on the ports; arrivals.Log does.
type Arrivals interface {
	// Sources is what arrived lately on the ports that are in the states.
	Sources(now time.Time, states []live.SourceState) []arrivals.Source
	// Try reads the controller's latest lines by a line profile, a JSON object as
	// controller.line of the configuration.
	Try(profile []byte) arrivals.Trial
}
