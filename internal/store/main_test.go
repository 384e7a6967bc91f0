package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"testing"
	"time"

	"drawbar/replay"

	"go.uber.org/goleak"
)

// recordEnv makes the test program a recorder in that folder, to be killed.
const recordEnv = "STORE_TEST_RECORD"

func TestMain(m *testing.M) {
	if dir := os.Getenv(recordEnv); dir != "" {
		fmt.Fprintln(os.Stderr, recordForever(dir))
		os.Exit(1)
	}
	if file := os.Getenv(laterEnv); file != "" {
		fmt.Fprintln(os.Stderr, correctForever(file))
		os.Exit(1)
	}
	goleak.VerifyTestMain(m)
}

// recordForever records lines until it is killed, and says after each that the
// operating system has it, and which the disk has.
func recordForever(dir string) error {
	f, err := Open(dir)
	if err != nil {
		return err
	}
	r, err := f.Start(clock, testHead, Options{SyncEvery: 2 * time.Millisecond, StopBytes: 1})
	if err != nil {
		return err
	}
	go r.Run(context.Background())
	for i := 0; ; i++ {
		if err := r.Append(numbered(i)); err != nil {
			return err
		}
		r.Flush()
		s := r.State()
		if s.Err != nil {
			return s.Err
		}
		fmt.Println(s.Lines, s.Synced)
	}
}

var (
	clock    = time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)
	testHead = replay.Head{Version: "test", Zone: "Europe/London", Config: "units: metric\n"}
)

// numbered is a line that shows its place.
func numbered(i int) replay.Event {
	return replay.Event{
		At: clock.Add(time.Duration(i) * 50 * time.Millisecond), Stream: replay.Stream(i % 3),
		Line: fmt.Appendf(nil, "work=1 sections=1111 tank.1.rate=112.5kg/ha line %d", i),
	}
}

// read returns the lines of files, as text, with their numbers; damage fails unless
// it may be there.
func read(t testing.TB, mayBeDamaged bool, files ...string) (lines []string, seqs []int) {
	t.Helper()
	for _, name := range files {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		m := replay.NewMCAPReader(f, name)
		for {
			e, err := m.Next()
			var corrupt *replay.CorruptError
			if err == io.EOF {
				break
			}
			if errors.As(err, &corrupt) && mayBeDamaged {
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			lines = append(lines, string(e.Line))
			seqs = append(seqs, int(m.Seq()))
		}
	}
	return lines, seqs
}

// begin opens a folder and starts recording in it.
func begin(t testing.TB, dir string, o Options) (*Folder, *Recording) {
	t.Helper()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	r, err := f.Start(clock, testHead, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return f, r
}

func appendLines(t testing.TB, r *Recording, from, to int) {
	t.Helper()
	for i := from; i < to; i++ {
		if err := r.Append(numbered(i)); err != nil {
			t.Fatal(err)
		}
		r.Flush()
	}
}

// wantNumbered fails unless the lines are numbered(i) for i in [0, n), but for the
// gaps that seqs shows.
func wantNumbered(t testing.TB, lines []string, seqs []int, n int) {
	t.Helper()
	if len(lines) != n {
		t.Fatalf("got %d lines, want %d", len(lines), n)
	}
	for i, l := range lines {
		if want := string(numbered(seqs[i] - 1).Line); l != want {
			t.Fatalf("line %d is %q, want %q", i, l, want)
		}
		if i > 0 && seqs[i] <= seqs[i-1] {
			t.Fatalf("line %d has number %d after %d", i, seqs[i], seqs[i-1])
		}
	}
}
