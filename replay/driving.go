package replay

import (
	"errors"
	"fmt"
	"time"

	"drawbar/coverage"
	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

// A boundary that is driven, or drawn round the work, is read off a session and
// leaves no trace in it: a session that was asked gives the same results as its
// replay that was not.

// StartDriving begins a boundary that is driven: from the next fix on, the path of
// an edge, moved by offsetM metres, outwards of the bar's end and to the right of
// the antenna. One that was being driven is dropped.
func (s *Session) StartDriving(edge coverage.Edge, offsetM float64) error {
	return s.engine.StartDriving(edge, offsetM)
}

// StartDrivingBetween is StartDriving of a recorded session: the fixes from one
// moment of receiver time to another count.
func (s *Session) StartDrivingBetween(edge coverage.Edge, offsetM float64, from, to time.Time) error {
	return s.engine.StartDrivingBetween(edge, offsetM, from, to)
}

// Driving is how far the boundary is; false where none is being driven.
func (s *Session) Driving() (coverage.Driven, bool) { return s.engine.Driving() }

// DrivenPath is the line so far, (longitude, latitude) in degrees, from its corner
// number from to its newest place, for those who show it; nil where none is driven.
func (s *Session) DrivenPath(from int) [][2]float64 { return s.engine.DrivenPath(from) }

// DropDriving drops the boundary that is being driven.
func (s *Session) DropDriving() { s.engine.DropDriving() }

// StopDriving ends the drive and gives the field's outline, sound by the rule of
// stated boundaries. Where there is none the error says why and what to do, and the
// drive goes on.
func (s *Session) StopDriving() (Outline, error) {
	b, err := s.engine.DrivenBoundary()
	if err != nil {
		return nil, err
	}
	o, err := soundOutline(b)
	if err != nil {
		return nil, fmt.Errorf("the line driven is no outline: %w", err)
	}
	s.engine.DropDriving()
	return o, nil
}

// OutlineOfWork is an outline of the ground that the operation in hand covered,
// all filled that its bar could not enter, simplified to 0.1 m. The error says why
// there is none.
func (s *Session) OutlineOfWork() (Outline, error) {
	op := s.engine.Operation()
	if op == nil {
		return nil, errors.New("no operation is in hand: state the field and the implement, and work round the field first")
	}
	return OutlineOfOperation(op)
}

// OutlineOfOperation is OutlineOfWork of any operation of a session.
func OutlineOfOperation(op *coverage.Operation) (Outline, error) {
	if !op.Worked() {
		return nil, errors.New("the operation has covered no ground yet: work round the field first")
	}
	b, ok := op.BoundaryFromWork()
	if !ok {
		return nil, errors.New("the ground covered is smaller than a square of the bar's width: work more of the field first")
	}
	o, err := soundOutline(b)
	if err != nil {
		return nil, fmt.Errorf("the ground covered has no sound outline: %w", err)
	}
	return o, nil
}

// soundOutline is a boundary as an outline that a statement could have made.
func soundOutline(b coverage.Boundary) (Outline, error) {
	out := make(orb.MultiPolygon, 0, len(b))
	for _, polygon := range b {
		p := make(orb.Polygon, 0, len(polygon))
		for _, ring := range polygon {
			r := make(orb.Ring, 0, len(ring))
			for _, c := range ring {
				r = append(r, c)
			}
			p = append(p, r)
		}
		out = append(out, p)
	}
	var faults statement.Faults
	checked, ok := statement.Outline(out, "outline", &faults)
	if !ok {
		return nil, faults.List()[0]
	}
	return Outline(checked), nil
}
