package daemon

import (
	"log/slog"
	"slices"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/supply"
	"drawbar/internal/alarm"
	"drawbar/internal/live"
	"drawbar/internal/tiles"
	"drawbar/replay"
)

// board is what is shown of a session: its state, the alarms that follow from it,
// and what has happened. It is for the goroutine that owns the session.
type board struct {
	hub       *live.Hub
	watch     *alarm.Watch
	version   string
	started   time.Time // session clock
	log       *slog.Logger
	marks     []coverage.Mark       // told so far
	onMarks   func([]coverage.Mark) // is told of all that stand when they change; nil: nobody is
	keptMarks uint64                // grows whenever marks of the catalogue have changed
	published time.Time

	pieces []live.Piece // worked and not published yet
	place  place
	passes supply.Passes
	maker  *tiles.Maker
	feed   *tiles.Feed
	tiles  live.TilesState
	replay *live.Replay // nil in a live run
}

// age is how long ago the latest state was published, by the wall's clock.
func (b *board) age() time.Duration { return time.Since(b.published) }

// publish makes the state at now, by the session's clock, seen, and tells what has
// happened since the one before.
func (b *board) publish(now time.Time, s *replay.Session, recording live.RecordingState, sources []live.SourceState) {
	state := &live.State{
		Version: b.version, Started: b.started, Now: now,
		Snapshot: s.Snapshot(), Recording: recording, Sources: sources, Replay: b.replay,
	}
	state.Survey = survey(state.Snapshot.Work.Operation)
	state.Outlook = b.passes.Step(&state.Snapshot.Work)
	for _, change := range b.watch.Step(time.Now(), alarm.ViewOf(state)) {
		b.hub.Tell(live.Notice{At: now, Alarm: &change})
		b.logAlarm(change)
	}
	state.Alarms, state.Marks = b.watch.Active(), b.keptMarks
	state.Tiles, state.Place = b.showWork(s), b.place.step(&state.Snapshot)
	b.hub.Publish(state)
	b.tellMarks(now, s.Marks())
	b.published = time.Now()
}

// tellMarks tells of marks that were left or withdrawn since the last time.
func (b *board) tellMarks(now time.Time, marks []coverage.Mark) {
	if slices.Equal(marks, b.marks) {
		return
	}
	for _, m := range b.marks {
		if !slices.Contains(marks, m) {
			b.hub.Tell(live.Notice{At: now, Mark: &m, Undone: true})
		}
	}
	for _, m := range marks {
		if !slices.Contains(b.marks, m) {
			b.hub.Tell(live.Notice{At: now, Mark: &m})
		}
	}
	b.marks = slices.Clone(marks)
	if b.onMarks != nil {
		b.onMarks(b.marks)
	}
}

// survey is what is known of the ground that is left; nil without an operation.
func survey(o *coverage.OperationNow) *live.Survey {
	if o == nil {
		return nil
	}
	known := func(v float64, is bool) *float64 {
		if !is {
			return nil
		}
		return &v
	}
	return &live.Survey{
		SkipM2:      known(o.SkipM2, o.HasSkip),
		RemainingM2: known(o.RemainingM2, o.HasField && o.HasSkip),
		OutsideM2:   known(o.OutsideM2, o.HasField),
	}
}

// logAlarm says what was raised or cleared. Someone must act on a critical one.
func (b *board) logAlarm(a live.AlarmChange) {
	log := b.log.With(keyAlarm, a.Alarm.String(), keySubject, a.Subject)
	switch {
	case !a.Raised:
		log.Info("alarm cleared")
	case a.Severity == live.Critical:
		log.Error(a.Text)
	default:
		log.Warn(a.Text)
	}
}
