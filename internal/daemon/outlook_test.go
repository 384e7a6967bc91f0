package daemon

import (
	"fmt"
	"log/slog"
	"math"
	"slices"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/plane"
	"drawbar/coverage/supply"
	"drawbar/internal/alarm"
	"drawbar/internal/live"
	"drawbar/internal/sim"
	"drawbar/replay"
)

// A drill of 12 m on passes of 150 m at 112 kg/ha, 20.16 kg each, begins with 50 kg:
// enough for two and 0.48 of the third. What is published twice a second says so, and
// the alarm comes on the second pass, once it is known how long a pass is, not later.
func TestOutlookIsPublished(t *testing.T) {
	t.Parallel()
	sc := sim.ParallelPasses(4, 150, 12, 12)
	sc.Tanks[0].Capacity.SI = 50
	setup := replay.Setup{LatencyS: sc.Receiver.LatencyS, Coverage: coverage.Setup{
		Implement: &sc.Implement, Field: sc.Field.Name, StaleS: 2, ReportLagS: sc.Machine.LatencyS, Tanks: []coverage.Tank{sc.Tanks[0].Tank},
	}}
	b := &board{hub: new(live.Hub), watch: alarm.New(alarm.Limits{}), log: slog.New(slog.DiscardHandler)}
	var err error
	if b.place, err = newPlace(nil); err != nil {
		t.Fatal(err)
	}
	b.draw(&setup.Coverage)
	session, err := replay.NewSession(setup)
	if err != nil {
		t.Fatal(err)
	}
	var (
		watch      = alarm.New(alarm.Limits{}) // by the session's clock
		changes    []string
		next       time.Time
		passes     int // begun
		on         bool
		said       supply.Place
		emptied    [2]float64
		at         = plane.New(sc.Field.LatDeg, sc.Field.LonDeg)
		everShort  bool
		publishing = func(now time.Time) {
			b.publish(now, session, live.RecordingState{}, nil)
			state, _ := b.hub.Read()
			work := &state.Snapshot.Work
			is := slices.Contains(work.Sections, coverage.SectionOn)
			if is && !on {
				passes++
			}
			on = is
			for _, c := range watch.Step(now, alarm.ViewOf(state)) {
				if c.Alarm == live.TankShort || c.Alarm == live.TankEmpty {
					changes = append(changes, fmt.Sprintf("pass %d: %v %v %s", passes, c.Alarm, c.Raised, c.Text))
				}
			}
			if len(state.Outlook.Tanks) != 1 || !work.Tanks[0].HasLevel || len(work.Bar) == 0 {
				return
			}
			o := state.Outlook.Tanks[0]
			everShort = everShort || o.NextPass == supply.No
			if level := work.Tanks[0].LevelAmount; level > 0 && o.ThisPass == supply.No {
				said = o.RunsOut
			} else if level <= 0 && emptied == [2]float64{} {
				l, r := work.Bar[0], work.Bar[len(work.Bar)-1]
				emptied = [2]float64{(l[0] + r[0]) / 2, (l[1] + r[1]) / 2}
			}
		}
	)
	streams := map[string]replay.Stream{sim.StreamGNSS: replay.StreamGNSS, sim.StreamController: replay.StreamController, sim.StreamOperator: replay.StreamOperator}
	if _, err := sim.Run(sc, func(now time.Time, stream string, line []byte) error {
		session.Feed(replay.Event{At: now, Stream: streams[stream], Line: line})
		if now.After(next) {
			next = now.Add(500 * time.Millisecond)
			publishing(now)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	want := []string{
		"pass 2: tank_short true Tank 1 (Spring oats): enough for this pass, not for the next one; fill it before you begin that.",
		"pass 3: tank_empty true Tank 1 (Spring oats) is empty: stop and fill it.",
		"pass 3: tank_short false Tank 1 (Spring oats): not enough for the rest of this pass; fill it before it runs out.",
	}
	slices.Sort(changes)
	if !slices.Equal(changes, want) {
		t.Errorf("got %q, want %q", changes, want)
	}
	sx, sy, _ := at.Forward(said.LatDeg, said.LonDeg)
	ex, ey, _ := at.Forward(emptied[1], emptied[0])
	if d := math.Hypot(sx-ex, sy-ey); d > 4 || !everShort { // 3 m/s, a report every half second
		t.Errorf("foretold %.1f, %.1f; it was empty at %.1f, %.1f, %.1f m away", sx, sy, ex, ey, d)
	}
	// A session begun anew knows nothing of the passes before.
	b.restart()
	if got := b.passes.Pass(); got != (supply.Pass{}) {
		t.Errorf("begun anew: got %+v", got)
	}
}
