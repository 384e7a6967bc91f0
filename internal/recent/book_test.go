package recent_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/live"
	"drawbar/internal/recent"
	"drawbar/nmea"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var noon = time.Date(2026, 5, 14, 12, 0, 0, 0, time.UTC)

// laid is a state in which so much of each product was laid from tanks 1, 2 …
func laid(at time.Time, field string, number int, areas map[string]float64, tanks ...string) *live.State {
	kgHa, err := controller.ParseUnit("kg/ha")
	if err != nil {
		panic(err)
	}
	s := &live.State{}
	s.Snapshot.Fix = nmea.Fix{Time: at}
	o := &coverage.OperationNow{Number: number, Field: field, Name: "seeding"}
	for i, name := range tanks {
		o.Products = append(o.Products, coverage.ProductNow{Tank: i + 1, Product: name, Unit: "kg", AreaM2: areas[name]})
		s.Snapshot.Work.InForce.Tanks = append(s.Snapshot.Work.InForce.Tanks, coverage.TankInForce{
			Tank: coverage.Tank{Number: i + 1, Product: coverage.Product{Name: name}, Target: kgHa.Quantity(112), Unit: kgHa},
		})
	}
	s.Snapshot.Work.Operation = o
	s.Snapshot.Work.InForce.Person = "Driver"
	s.Snapshot.Work.InForce.Implement = &coverage.Implement{Name: "12 m drill"}
	return s
}

func open(t *testing.T, dir string) *recent.Book {
	t.Helper()
	b, err := recent.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func order(uses []recent.Use) string {
	var out []string
	for _, u := range uses {
		out = append(out, u.Product)
	}
	return strings.Join(out, ", ")
}

// What was laid last comes first, outlives the program, and is counted by the ground.
func TestBook(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	b := open(t, dir)
	observe := func(s *live.State) (bool, bool) { t.Helper(); return b.Observe(s) }

	if fresh, changed := observe(laid(noon, "Mill Piece", 1, nil, "Spring oats")); fresh || changed {
		t.Error("a product that was said and not laid is no use")
	}
	if fresh, _ := observe(laid(noon, "Mill Piece", 1, map[string]float64{"Spring oats": 100, "Starter": 100}, "Spring oats", "Starter")); !fresh {
		t.Error("a first use is new")
	}
	if fresh, changed := observe(laid(noon.Add(time.Minute), "Mill Piece", 1, map[string]float64{"Spring oats": 900, "Starter": 900}, "Spring oats", "Starter")); fresh || !changed {
		t.Errorf("more of the same: new %v, changed %v", fresh, changed)
	}
	if fresh, _ := observe(laid(noon.Add(2*time.Minute), "Mill Piece", 1, map[string]float64{"Winter rye": 50}, "Winter rye")); !fresh {
		t.Error("another product from the same tank is new")
	}
	if got := order(b.Here("mill piece")); got != "Winter rye, Starter, Spring oats" {
		t.Errorf("the latest first: %s", got)
	}
	if fresh, _ := observe(laid(noon.Add(3*time.Minute), "Mill Piece", 1, map[string]float64{"Spring oats": 1000}, "Spring oats")); !fresh {
		t.Error("back to the first product goes before again")
	}
	observe(laid(noon.Add(time.Hour), "Long Meadow", 2, map[string]float64{"Urea 46": 70}, "Urea 46"))
	if err := b.Save(); err != nil {
		t.Fatal(err)
	}

	b = open(t, dir)
	if got := order(b.All()); got != "Urea 46, Spring oats, Winter rye, Starter" {
		t.Errorf("after a restart, everywhere: %s", got)
	}
	here := b.Here("Mill Piece")
	if len(here) != 3 {
		t.Fatalf("here: %+v", here)
	}
	if u := here[0]; u.AreaM2 != 1000 || u.Target != "112 kg/ha" || u.Tank != 1 || !u.Since.Equal(noon) || !u.At.Equal(noon.Add(3*time.Minute)) || u.Operation != "seeding" {
		t.Errorf("%+v", u)
	}
	if b.LastPerson() != "Driver" || b.LastImplement() != "12 m drill" {
		t.Errorf("who and what: %q, %q", b.LastPerson(), b.LastImplement())
	}
	// A new run counts its operations from 1 again; the ground adds up.
	b.Observe(laid(noon.Add(24*time.Hour), "Mill Piece", 1, map[string]float64{"Spring oats": 500}, "Spring oats"))
	if got := b.Here("Mill Piece")[0].AreaM2; got != 1500 {
		t.Errorf("two days: %v m2, want 1500", got)
	}
	// Next year it begins anew.
	b.Observe(laid(noon.AddDate(1, 0, 0), "Mill Piece", 2, map[string]float64{"Spring oats": 30}, "Spring oats"))
	if u := b.Here("Mill Piece")[0]; u.AreaM2 != 30 || u.Since.Year() != 2027 {
		t.Errorf("another season: %+v", u)
	}
	if got := b.Laid("Long Meadow"); len(got) != 1 || got[0].Product != "Urea 46" || !got[0].At.Equal(noon.Add(time.Hour)) {
		t.Errorf("laid: %+v", got)
	}
}

// A recorded session that is shown is not used again.
func TestShownSessionIsNoUse(t *testing.T) {
	t.Parallel()
	b := open(t, t.TempDir())
	s := laid(noon, "Mill Piece", 1, map[string]float64{"Spring oats": 100}, "Spring oats")
	s.Replay = &live.Replay{}
	if fresh, changed := b.Observe(s); fresh || changed || len(b.All()) > 0 {
		t.Error("a shown session was taken for work")
	}
}

func TestFileThatCannotBeRead(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "{", `{"schema":"drawbar.recent.9"}`, "null", strings.Repeat("x", 9<<20)} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, recent.FileName), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		b, err := recent.Open(dir)
		if err == nil {
			t.Errorf("%.20q: read", text)
		}
		b.Observe(laid(noon, "Mill Piece", 1, map[string]float64{"Spring oats": 100}, "Spring oats"))
		if err := b.Save(); err != nil {
			t.Error(err)
		}
		if kept, err := os.ReadFile(filepath.Join(dir, recent.FileName+".bad")); err != nil || string(kept) != text {
			t.Errorf("%.20q is not kept: %v", text, err)
		}
		if again, err := recent.Open(dir); err != nil || order(again.All()) != "Spring oats" {
			t.Errorf("anew: %v", err)
		}
	}
}

// A new use is on the disk within a second, the ground it grew to at the end.
func TestRun(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		b := open(t, dir)
		hub := &live.Hub{}
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() {
			defer close(done)
			b.Run(ctx, hub, func(err error) { t.Error(err) })
		}()
		hub.Publish(laid(noon, "Mill Piece", 1, map[string]float64{"Spring oats": 100}, "Spring oats"))
		time.Sleep(1100 * time.Millisecond)
		if got := order(open(t, dir).All()); got != "Spring oats" {
			t.Errorf("after a second: %q", got)
		}
		hub.Publish(laid(noon, "Mill Piece", 1, map[string]float64{"Spring oats": 700}, "Spring oats"))
		time.Sleep(1100 * time.Millisecond)
		cancel()
		<-done
		if u := open(t, dir).All(); len(u) != 1 || u[0].AreaM2 != 700 {
			t.Errorf("at the end: %+v", u)
		}
	})
}
