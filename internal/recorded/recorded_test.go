package recorded_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"drawbar/internal/config"
	"drawbar/internal/recorded"
	"drawbar/internal/records/recordtest"
	"drawbar/internal/store"
	"drawbar/replay"
)

var morning = time.Date(2026, 5, 14, 8, 0, 0, 0, time.UTC)

// session is one in a folder of its own: 50 s at 2 m/s, 12 m wide, are 1,200 m2.
func session(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	s := recordtest.Session{
		Name: "000001-20260514T080000Z", Start: morning, Config: recordtest.Width12,
		Jobs: []recordtest.Job{{Say: []string{`{"field":"Mill Piece"}`}, Passes: 1, PassS: 50, SpeedMPS: 2, Report: "tank.1.rate=100kg/ha"}},
	}
	if err := s.Write(dir); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, s.Name+".mcap")
}

func open(t *testing.T, o recorded.Options, names ...string) *recorded.Inputs {
	t.Helper()
	in, err := recorded.Open(names, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(in.Close)
	return in
}

// played is the session's one operation.
func played(t *testing.T, in *recorded.Inputs, file *config.File) replay.OperationFigures {
	t.Helper()
	_, setup, err := in.Setup(file)
	if err != nil {
		t.Fatal(err)
	}
	s, err := replay.NewSession(setup)
	if err != nil {
		t.Fatal(err)
	}
	if err := in.Play(replay.Player{}, func(e replay.Event) error { s.Feed(e); return nil }); err != nil {
		t.Fatal(err)
	}
	s.Finish()
	ops := s.Summary().Operations
	if len(ops) != 1 {
		t.Fatalf("%d operations, want one", len(ops))
	}
	return ops[0]
}

// The recorded configuration holds, unless another is named; corrections beside the
// session act, and taken back they do not.
func TestAsRecordedAndCorrected(t *testing.T) {
	t.Parallel()
	file := session(t)
	op := played(t, open(t, recorded.Options{}, file), nil)
	if op.Field != "Mill Piece" || op.Area.GrossM2 < 1199 || op.Area.GrossM2 > 1201 {
		t.Errorf("got %+v", op)
	}
	half := config.Default()
	held, err := config.ParseRecorded("half", []byte(strings.ReplaceAll(recordtest.Width12, "[12]", "[6]")), "")
	if err != nil {
		t.Fatal(err)
	}
	half.Implement = held.Implement
	if op = played(t, open(t, recorded.Options{}, file), &half); op.Area.GrossM2 < 599 || op.Area.GrossM2 > 601 {
		t.Errorf("half the width: got %+v", op.Area)
	}
	for _, line := range []string{`{"from":"2026-05-14T08:00:00Z","to":"2026-05-14T09:00:00Z","why":"over the hedge","field":"Long Meadow"}`, `{"undo":1,"why":"it was not"}`} {
		want := "Long Meadow"
		if strings.Contains(line, "undo") {
			want = "Mill Piece"
		}
		if _, err := store.AddLater(file, []byte(line)); err != nil {
			t.Fatal(err)
		}
		if op := played(t, open(t, recorded.Options{Whole: true}, file), nil); op.Field != want {
			t.Errorf("after %s: field %q, want %q", line, op.Field, want)
		}
	}
}

// What was read can be read again, and is counted once.
func TestRewound(t *testing.T) {
	t.Parallel()
	file := session(t)
	var size, read int64
	in := open(t, recorded.Options{Size: func(n int64) { size += n }, Read: func(n int) { read += int64(n) }}, file)
	first := played(t, in, nil)
	if size == 0 || read != size {
		t.Errorf("%d of %d bytes counted", read, size)
	}
	src, err := in.Rewound()
	if err != nil {
		t.Fatal(err)
	}
	_, setup, err := in.Setup(nil)
	if err != nil {
		t.Fatal(err)
	}
	s, err := replay.NewSession(setup)
	if err != nil {
		t.Fatal(err)
	}
	if err := (replay.Player{}).Play(func(e replay.Event) error { s.Feed(e); return nil }, src); err != nil {
		t.Fatal(err)
	}
	s.Finish()
	if again := s.Summary().Operations[0]; again.Area.GrossM2 != first.Area.GrossM2 {
		t.Errorf("again %v, first %v", again.Area, first.Area)
	}
}

// Reading ends when it is told to, and an input of which nothing can be read is an error.
func TestHaltedAndDamaged(t *testing.T) {
	t.Parallel()
	file := session(t)
	halt := errors.New("halt")
	if in, err := recorded.Open([]string{file}, recorded.Options{Halt: func() error { return halt }}); !errors.Is(err, halt) {
		t.Errorf("got %v, %v; want it halted", in, err)
	}
	if err := os.WriteFile(file, []byte("no session at all, but for its name"), 0o644); err != nil {
		t.Fatal(err)
	}
	in := open(t, recorded.Options{}, file)
	if err := in.Play(replay.Player{}, func(replay.Event) error { return nil }); err != nil {
		t.Fatal(err)
	}
	if _, err := in.Damage(); err == nil || !strings.Contains(err.Error(), "no line of it can be read") {
		t.Errorf("got %v", err)
	}
	for _, bad := range []string{"nowhere.mcap", "field.csv", "-"} {
		if in, err := recorded.Open([]string{bad}, recorded.Options{}); err == nil {
			in.Close()
			t.Errorf("%s: opened, want an error", bad)
		}
	}
}
