package replay

import "time"

// Stream says where a line came from.
type Stream uint8

// The three streams of a session.
const (
	StreamGNSS Stream = iota
	StreamController
	StreamOperator
)

// String is the stream's name in capture text.
func (s Stream) String() string {
	switch s {
	case StreamController:
		return "controller"
	case StreamOperator:
		return "operator"
	default:
		return "gnss"
	}
}

// Event is one line with its time of arrival: the only input of the core. Line
// has no line end; it belongs to the reader that made it and is valid until
// the reader's next call. At is the session's clock in UTC, which may be wrong
// by years and may step.
type Event struct {
	At     time.Time
	Line   []byte
	Stream Stream
}

// Source yields events in the order in which they were recorded. Next returns
// io.EOF after the last one. An error that names a damaged place is returned
// together with nothing lost before it.
type Source interface {
	Next() (Event, error)
}
