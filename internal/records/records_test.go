package records

import (
	"context"
	"math"
	"strconv"
	"testing"
	"time"

	"drawbar/internal/catalog"
	"drawbar/internal/records/recordtest"
	"drawbar/internal/store"
)

// morning is when made-up sessions start.
var morning = time.Date(2026, 5, 14, 8, 0, 0, 0, time.UTC)

// indexed works out the sessions of a folder with a catalogue in it.
func indexed(t testing.TB, dir string, c *catalog.Catalog) *Index {
	t.Helper()
	x, err := Open(t.Context(), Config{Dir: dir, Catalog: c})
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- x.Run(ctx) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		if err := x.Close(); err != nil {
			t.Error(err)
		}
	})
	settle(t, x)
	return x
}

func settle(t testing.TB, x *Index) {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), time.Minute)
	defer stop()
	if err := x.Wait(ctx); err != nil {
		t.Fatal(err)
	}
}

func write(t testing.TB, dir string, s recordtest.Session) {
	t.Helper()
	if err := s.Write(dir); err != nil {
		t.Fatal(err)
	}
}

func near(t testing.TB, what string, got *float64, want, tol float64) {
	t.Helper()
	if got == nil || !(math.Abs(*got-want) <= tol) {
		v := "not known"
		if got != nil {
			v = format(*got)
		}
		t.Errorf("%s: got %s, want %s within %g", what, v, format(want), tol)
	}
}

func format(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func TestOneSession(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	write(t, dir, recordtest.Session{
		Name: "000001-20260514T080000Z", Start: morning, Config: recordtest.Width12 + "tanks: [{tank: 1, product: {name: Urea 46, kind: granular}, target: 100 kg/ha}]\n",
		Jobs: []recordtest.Job{{Say: []string{`{"field":"Mill Piece","person":"driver"}`}, Passes: 3, PassS: 50, TurnS: 10, SpeedMPS: 2, SpacingM: 12, Report: "tank.1.rate=100kg/ha"}},
	})
	x := indexed(t, dir, nil)
	page, total := x.Operations(Filter{}, 0, 10)
	s, ok := x.Session("000001-20260514T080000Z")
	if !ok || s.State != Current || total != 1 || len(page) != 1 {
		t.Fatalf("got %d operations, session %+v", total, s)
	}
	o := page[0]
	near(t, "gross", &o.Area.GrossM2, 3600, 0.5)
	near(t, "covered", &o.Area.CoveredM2, 3600, 0.5)
	near(t, "working", &o.WorkingS, 150, 0.01)
	near(t, "field time", &o.FieldS, 170, 0.01)
	near(t, "applied", o.Sums[0].Applied, 36, 0.01)
	near(t, "mean", o.Sums[0].MeanRate(), 0.01, 1e-9)
	if o.Field != "Mill Piece" || len(o.People) != 1 || o.People[0].Name != "driver" || o.Year != 2026 {
		t.Errorf("got %+v", o)
	}
	g, err := x.Ground(t.Context(), []Ref{o.Ref()})
	if err != nil || len(g) < 300 {
		t.Errorf("ground %s, %v", g, err)
	}
}

// storeJoin joins the first operations of two sessions.
func storeJoin(first, second time.Time) store.Join {
	return store.Join{Why: "one field, two days", Join: []store.JoinedOperation{
		{Session: "000001-20260514T080000Z", At: first}, {Session: "000002-20260515T080000Z", At: second},
	}}
}

func addJoin(t testing.TB, dir string, j store.Join) int {
	t.Helper()
	n, err := store.AddJoin(dir, j)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func undoJoin(t testing.TB, dir string, number int) {
	t.Helper()
	addJoin(t, dir, store.Join{Undo: number, Why: "two fields after all"})
}
