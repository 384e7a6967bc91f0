package replay

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/internal/sim"
)

// The trailed drill of Mill Piece, with RTK noise: its first pass runs round the
// headland, the bar's right end along the border. A session that is asked for the
// boundary all the way, and for the outline of its work, gives the same results as
// one that is not.
func TestDrivingLeavesNoTrace(t *testing.T) {
	t.Parallel()
	sc := sim.Demo(1)
	result := func(watch bool) string {
		setup := setupOf(sc)
		var b strings.Builder
		setup.Coverage.OnQuad = func(q coverage.Quad) {
			text, _ := json.Marshal([]any{q.Start, q.Corners, q.Area})
			b.Write(text)
		}
		s, err := NewSession(setup)
		if err != nil {
			t.Fatal(err)
		}
		n, stopped, asked := 0, false, 0
		truth, err := sim.Run(sc, func(at time.Time, stream string, line []byte) error {
			s.Feed(Event{At: at, Stream: streamOf(stream), Line: line})
			if n++; !watch {
				return nil
			}
			if n == 20 {
				if err := s.StartDriving(coverage.EdgeRight, 0); err != nil {
					t.Fatal(err)
				}
			}
			if n%500 == 0 {
				s.DrivenPath(0)
				s.OutlineOfWork()
			}
			if at, on := s.Driving(); on && at.Closed && at.GapM < 1 && !stopped {
				stopped = true
				o, err := s.StopDriving()
				if err != nil {
					t.Fatal(err)
				}
				if _, on := s.Driving(); on {
					t.Error("stopped: still driving")
				}
				checkDriven(t, o, "driven", 28_376, 330)
			}
			if n == 9000 {
				asked++
				if err := s.StartDriving(coverage.EdgeAntenna, 1); err != nil {
					t.Fatal(err)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		s.Finish()
		if watch {
			if !stopped || asked == 0 {
				t.Error("the boundary was never closed")
			}
			o, err := s.OutlineOfWork()
			if err != nil {
				t.Fatal(err)
			}
			checkDriven(t, o, "work", *truth.FieldM2, 400)
		}
		text, err := json.Marshal(s.Summary())
		if err != nil {
			t.Fatal(err)
		}
		b.Write(text)
		return b.String()
	}
	if plain, watched := result(false), result(true); plain != watched {
		t.Error("a session that was asked for boundaries gives other results")
	}
}

// checkDriven compares the area of an outline. What round corners leave out is less
// than allowed.
func checkDriven(t *testing.T, o Outline, what string, wantM2, outM2 float64) {
	t.Helper()
	op := coverage.Operation{Boundary: o.Boundary()}
	got, ok := op.FieldAreaM2()
	if len(o) != 1 || len(o[0]) != 1 || !ok || got > wantM2+30 || got < wantM2-outM2 {
		t.Errorf("%s: got %d polygons, %.0f m2, want one ring of %.0f m2 less up to %.0f", what, len(o), got, wantM2, outM2)
	}
}

// Where there is no outline the reason says what to do.
func TestOutlineRefused(t *testing.T) {
	t.Parallel()
	s, err := NewSession(Setup{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		ask  func() (Outline, error)
		want string
	}{
		{s.OutlineOfWork, "no operation is in hand: state the field"},
		{s.StopDriving, "no boundary is being driven: start it first"},
	} {
		if o, err := c.ask(); o != nil || err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, %v, want %q", o, err, c.want)
		}
	}
	if s, err = NewSession(drill()); err != nil {
		t.Fatal(err)
	}
	if _, err := s.OutlineOfWork(); err == nil || !strings.Contains(err.Error(), "has covered no ground yet") {
		t.Errorf("got %v", err)
	}
	tape := newTape()
	tape.pass(0, 2, 0, on)
	s, _ = run(t, drill(), tape.String())
	if o, err := s.OutlineOfWork(); err == nil || !strings.Contains(err.Error(), "smaller than a square of the bar") {
		t.Errorf("got %v, %v", o, err)
	}
}
