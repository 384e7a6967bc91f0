package replay

import (
	"errors"
	"io"
	"time"
)

// ErrStop is returned by a sink that wants no further event; Play then ends
// without an error.
var ErrStop = errors.New("stop playing")

// maxPause bounds one wait at a pace: a night between two lines, or a clock that
// was set, is not waited for.
const maxPause = 10 * time.Second

// Player drives a sink from recorded input, as fast as the sink takes it or at
// a pace. The pace decides only when an event is handed over, never which or in
// what order, so it cannot change a result.
//
// The player has no clock of its own: Wait, needed where Pace is above 0, is
// told how long after the event before an event is due. A Wait that adds up
// these durations and sleeps until the sum keeps the pace without drift.
//
// Damaged is told of each damaged place; playing goes on behind it, or ends with
// the error that Damaged returns. Without a Damaged the first damage ends it.
type Player struct {
	Wait    func(time.Duration)
	Damaged func(*CorruptError) error
	Pace    float64 // ratio to the speed of the recording; 0 = as fast as it goes
}

// Play hands every event of the sources, one source after the other, to sink.
// It ends at the last event, at the first error of a source or of the sink, or
// without an error at ErrStop.
func (p Player) Play(sink func(Event) error, sources ...Source) error {
	var last time.Time
	for _, s := range sources {
		for {
			e, err := s.Next()
			if err == io.EOF {
				break
			}
			var corrupt *CorruptError
			if errors.As(err, &corrupt) && p.Damaged != nil {
				err = p.Damaged(corrupt)
				if err == nil {
					continue
				}
			}
			if err != nil {
				return err
			}
			if p.Pace > 0 && !last.IsZero() {
				if d := p.pause(e.At.Sub(last)); d > 0 {
					p.Wait(d)
				}
			}
			last = e.At
			if err := sink(e); err != nil {
				if errors.Is(err, ErrStop) {
					return nil
				}
				return err
			}
		}
	}
	return nil
}

// pause is how long to wait for an event that was recorded gap after the one
// before it. A clock that stepped back is not waited for.
func (p Player) pause(gap time.Duration) time.Duration {
	d := float64(gap) / p.Pace
	if d >= float64(maxPause) {
		return maxPause
	}
	return time.Duration(max(d, 0))
}
