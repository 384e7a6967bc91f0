package records

import (
	"bufio"
	"context"
	"database/sql"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"drawbar/internal/records/recordtest"
	"drawbar/internal/store"
)

// workEnv tells this test's own program to work out the sessions of a folder until it
// is killed.
const workEnv = "DRAWBAR_TEST_WORK"

func TestMain(m *testing.M) {
	if dir := os.Getenv(workEnv); dir != "" {
		workUntilKilled(dir)
		return
	}
	goleak.VerifyTestMain(m)
}

// spread is a session of one field.
func spread(name string, start time.Time, passes int) recordtest.Session {
	return recordtest.Session{
		Name: name, Start: start, Config: bar(12) + "tanks: [{tank: 1, product: {name: Urea 46, kind: granular}}]\n",
		Jobs: []recordtest.Job{{Say: []string{`{"field":"Mill Piece"}`}, Passes: passes, PassS: 50, TurnS: 5, SpeedMPS: 2, SpacingM: 12, Report: "tank.1.rate=100kg/ha"}},
	}
}

func nameOf(i int) (string, time.Time) {
	at := morning.AddDate(0, 0, i)
	return fmt.Sprintf("%06d-%s", i+1, at.Format("20060102T150405Z")), at
}

// A session that cannot be read says so and keeps nothing else from being worked out.
func TestDamagedSessions(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for i := range 4 {
		name, at := nameOf(i)
		write(t, dir, spread(name, at, 2))
	}
	file := func(i int) string {
		name, _ := nameOf(i)
		return filepath.Join(dir, name+".mcap")
	}
	if err := os.WriteFile(file(0), []byte("no session at all, but for its name"), 0o644); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file(1))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file(1), text[:len(text)*2/3], 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file(2), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	x := indexed(t, dir, nil)
	states := map[State]int{}
	for _, s := range x.Sessions() {
		states[s.State]++
		if s.State == Failed && s.Err == "" {
			t.Errorf("%s failed without a word", s.Name)
		}
	}
	first, _ := nameOf(0)
	if s, _ := x.Session(first); s.State != Failed || !strings.Contains(s.Err, "no line of it can be read") {
		t.Errorf("no session at all: got %+v", s)
	}
	if states[Failed] == 0 || states[Working] != 0 || states[Current] == 0 {
		t.Errorf("states %v", states)
	}
	last, _ := nameOf(3)
	if _, ok := x.Operation(Ref{last, 1}); !ok {
		t.Error("the whole session has no operation")
	}
	if _, failed := x.Standing(); failed != states[Failed] {
		t.Errorf("%d failed in all, want %d", failed, states[Failed])
	}
}

// A correction makes the figures anew, and taking it back the ones before.
func TestCorrectionsAreWorkedOut(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	name, at := nameOf(0)
	write(t, dir, spread(name, at, 2))
	x := indexed(t, dir, nil)
	before := x.Totals(ByProduct, Filter{}).All
	file := filepath.Join(dir, name+".mcap")
	line := fmt.Sprintf(`{"from":%q,"to":%q,"why":"the wrong bag","by":"office","tanks":[{"tank":1,"product":{"name":"Potash 60","kind":"granular"}}]}`,
		at.Format(time.RFC3339), at.Add(time.Hour).Format(time.RFC3339))
	n, err := store.AddLater(file, []byte(line))
	if err != nil {
		t.Fatal(err)
	}
	x.Recompute(name)
	if s, _ := x.Session(name); s.State != Working {
		t.Errorf("asked for: %s, want working", s.State)
	}
	settle(t, x)
	s, _ := x.Session(name)
	after := x.Totals(ByProduct, Filter{})
	if s.State != Current || s.Corrected != 1 || len(after.Groups) != 1 || after.Groups[0].Key != "Potash 60" || after.All.GrossM2 != before.GrossM2 {
		t.Errorf("corrected: %+v, %+v", s, after.Groups)
	}
	lines, faults, err := x.Corrections(name)
	if err != nil || len(faults) != 0 || len(lines) != 1 || !lines[0].Acts || *lines[0].By != "office" {
		t.Errorf("corrections: %+v, %v, %v", lines, faults, err)
	}
	if _, err := store.AddLater(file, []byte(fmt.Sprintf(`{"undo":%d,"why":"it was right"}`, n))); err != nil {
		t.Fatal(err)
	}
	x.Recompute(name)
	settle(t, x)
	if again := x.Totals(ByProduct, Filter{}); len(again.Groups) != 1 || again.Groups[0].Key != "Urea 46" {
		t.Errorf("taken back: %+v", again.Groups)
	}
	if lines, _, _ := x.Corrections(name); len(lines) != 2 || lines[0].Acts || lines[0].TakenBack != lines[1].Number {
		t.Errorf("corrections: %+v", lines)
	}
}

// What was worked out is there at the next start; what is gone is forgotten; the
// session that is being recorded is left out.
func TestNextStart(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for i := range 3 {
		name, at := nameOf(i)
		write(t, dir, spread(name, at, i+1))
	}
	run := func(c Config) (*Index, func()) {
		c.Dir = dir
		x, err := Open(t.Context(), c)
		if err != nil {
			t.Fatal(err)
		}
		ctx, stop := context.WithCancel(context.Background())
		ended := make(chan error)
		go func() { ended <- x.Run(ctx) }()
		settle(t, x)
		return x, func() {
			stop()
			if err := <-ended; err != nil {
				t.Error(err)
			}
			if err := x.Close(); err != nil {
				t.Error(err)
			}
		}
	}
	x, stop := run(Config{})
	want := x.Totals(ByField, Filter{})
	stop()
	first, _ := nameOf(0)
	live, _ := nameOf(2)
	// Figures that a replay would not give show that there was none.
	db, err := sql.Open("sqlite", filepath.Join(dir, FileName))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`UPDATE result SET figures = replace(figures, 'Mill Piece', 'As Kept') WHERE name = ?`, first); err != nil {
		t.Fatal(err)
	}
	db.Close()
	x, stop = run(Config{})
	if o, ok := x.Operation(Ref{first, 1}); !ok || o.Field != "As Kept" || x.Totals(ByField, Filter{}).All.GrossM2 != want.All.GrossM2 {
		t.Errorf("got %+v, want what was kept", o)
	}
	stop()
	x, stop = run(Config{Live: func() string { return live }})
	if _, ok := x.Session(live); ok || x.Totals(ByField, Filter{}).All.Operations != 2 {
		t.Error("the session that is being recorded is counted")
	}
	stop()
	if err := os.Remove(filepath.Join(dir, first+".mcap")); err != nil {
		t.Fatal(err)
	}
	x, stop = run(Config{})
	if _, ok := x.Session(first); ok || x.Totals(ByField, Filter{}).All.Operations != 2 {
		t.Error("a session that is gone is counted")
	}
	stop()
}

// A file of another version, one that is no database and one that was damaged are made
// anew.
func TestFileIsMadeAnew(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		spoil func(path string) error
	}{
		{"another version", func(path string) error { return execute(path, "PRAGMA user_version = 7") }},
		{"of another program", func(path string) error { return execute(path, "PRAGMA application_id = 7") }},
		{"no database", func(path string) error { return os.WriteFile(path, []byte(strings.Repeat("no database ", 999)), 0o644) }},
		{"cut", func(path string) error { return os.Truncate(path, 5000) }},
		{"figures that are none", func(path string) error { return execute(path, "UPDATE result SET figures = 'x'") }},
		{"without its tables", func(path string) error { return execute(path, "DROP TABLE ground; DROP TABLE result") }},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			name, at := nameOf(0)
			write(t, dir, spread(name, at, 2))
			t.Run("before", func(t *testing.T) { indexed(t, dir, nil) })
			if err := c.spoil(filepath.Join(dir, FileName)); err != nil {
				t.Fatal(err)
			}
			x := indexed(t, dir, nil)
			o, ok := x.Operation(Ref{name, 1})
			if !ok {
				t.Fatal("no operation")
			}
			near(t, "gross", &o.Area.GrossM2, 2400, 1)
			if g, err := x.Ground(t.Context(), []Ref{{name, 1}}); err != nil || len(g) < 300 {
				t.Errorf("ground %s, %v", g, err)
			}
		})
	}
}

func execute(path, script string) error {
	db, err := sql.Open("sqlite", path)
	if err != nil {
		return err
	}
	defer db.Close()
	_, err = db.Exec(script)
	return err
}

// A stop in the midst of work breaks it off.
func TestStopsSoon(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := spread("000001-20260514T080000Z", morning, 40)
	s.Jobs[0].PassS = 500 // 20,000 s of work
	write(t, dir, s)
	x, err := Open(t.Context(), Config{Dir: dir, Rest: 20})
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- x.Run(ctx) }()
	for x.share("000001-20260514T080000Z") == 0 {
		select {
		case err := <-ended:
			t.Fatal(err)
		case <-time.After(time.Millisecond):
		}
	}
	begin := time.Now()
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	t.Logf("stopped after %v", time.Since(begin))
	if s, _ := x.Session("000001-20260514T080000Z"); s.State != Working {
		t.Errorf("it was worked out to its end before the stop: %+v", s)
	}
	if err := x.Close(); err != nil {
		t.Error(err)
	}
}

func (x *Index) share(session string) float64 {
	s, _ := x.Session(session)
	return s.Share
}

// Killed at any instant while it works, what is left is used or made anew, and the
// next run gives what a run that was never killed gives.
func TestKillNine(t *testing.T) {
	t.Parallel()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	const sessions, kills = 30, 12
	rng := rand.New(rand.NewPCG(5, 14))
	dir := t.TempDir()
	for i := range sessions {
		name, at := nameOf(i)
		write(t, dir, spread(name, at, 1+i%3))
	}
	for i := range kills {
		cmd := exec.Command(self)
		cmd.Env = append(os.Environ(), workEnv+"="+dir)
		cmd.Stderr = os.Stderr
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		after := rng.IntN(sessions)
		for s := bufio.NewScanner(out); s.Scan(); {
			var done int
			if _, err := fmt.Sscan(s.Text(), &done); err == nil && done >= after {
				break
			}
		}
		time.Sleep(time.Duration(rng.IntN(3000)) * time.Microsecond)
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		io.Copy(io.Discard, out)
		_ = cmd.Wait()
		if i%3 == 2 { // some are out of date at the next start
			name, at := nameOf(rng.IntN(sessions))
			if err := os.Chtimes(filepath.Join(dir, name+".mcap"), at, at.Add(time.Duration(i)*time.Second)); err != nil {
				t.Fatal(err)
			}
		}
	}
	got := indexed(t, dir, nil).Totals(ByField, Filter{})
	fresh := t.TempDir()
	for i := range sessions {
		name, at := nameOf(i)
		write(t, fresh, spread(name, at, 1+i%3))
	}
	want := indexed(t, fresh, nil).Totals(ByField, Filter{})
	if sumsOf(got.All) != sumsOf(want.All) || got.All.Operations != sessions || got.Waiting != 0 {
		t.Errorf("got %+v, want %+v", got.All, want.All)
	}
}

// workUntilKilled works and says how many sessions are done, then does it all again.
func workUntilKilled(dir string) {
	for {
		x, err := Open(context.Background(), Config{Dir: dir})
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		ctx, stop := context.WithCancel(context.Background())
		ended := make(chan error)
		go func() { ended <- x.Run(ctx) }()
		for done := -1; ; {
			now := 0
			for _, s := range x.Sessions() {
				if s.State == Current {
					now++
				}
			}
			if now != done {
				done = now
				fmt.Println(done)
			}
			if x.Wait(contextOf(time.Millisecond)) == nil {
				break
			}
		}
		stop()
		if err := <-ended; err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		x.Close()
		if err := os.Remove(filepath.Join(dir, FileName)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

func contextOf(d time.Duration) context.Context {
	ctx, stop := context.WithTimeout(context.Background(), d)
	context.AfterFunc(ctx, stop)
	return ctx
}
