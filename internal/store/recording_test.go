package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"drawbar/replay"
)

func TestRecordingSyncsEverySecond(t *testing.T) {
	dir := t.TempDir()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	synctest.Test(t, func(t *testing.T) {
		var syncs atomic.Int32
		r, err := f.Start(time.Now(), testHead, Options{SyncBytes: 4000, OnSync: func(time.Duration) { syncs.Add(1) }})
		if err != nil {
			t.Fatal(err)
		}
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan error)
		go func() { done <- r.Run(ctx) }()

		time.Sleep(10 * time.Second)
		if n := syncs.Load(); n != 0 {
			t.Errorf("%d syncs of nothing", n)
		}
		appendLines(t, r, 0, 5)
		if s := r.State(); s.Lines != 5 || s.Synced != 0 || !s.Recording {
			t.Errorf("before the sync: %+v", s)
		}
		time.Sleep(1100 * time.Millisecond)
		if s := r.State(); s.Synced != 5 || syncs.Load() != 1 {
			t.Errorf("after a second: %+v, %d syncs", s, syncs.Load())
		}
		appendLines(t, r, 5, 60) // more than SyncBytes
		synctest.Wait()
		if n := syncs.Load(); n < 2 {
			t.Errorf("%d syncs by size, want one at once", n)
		}
		stop()
		if err := <-done; err != nil {
			t.Error(err)
		}
		if s := r.State(); s.Synced != 60 {
			t.Errorf("at the end: %+v, want all synced", s)
		}
		if err := errors.Join(r.Close(), r.Close()); err != nil {
			t.Error(err)
		}
	})
	files, err := filepath.Glob(filepath.Join(dir, "*.mcap"))
	if err != nil || len(files) != 1 {
		t.Fatalf("files %v, %v", files, err)
	}
	lines, seqs := read(t, false, files...)
	wantNumbered(t, lines, seqs, 60)
	if p := Inspect(files[0]); p.Contents.Cut || p.Busy || p.Head.Session != strings.TrimSuffix(filepath.Base(files[0]), ".mcap") {
		t.Errorf("got %+v", p)
	}
}

// When the disk falls below what is left to others, recording stops in good order,
// counts, and goes on in a second part with twice as much room.
func TestRecordingStopsAtTheReserve(t *testing.T) {
	t.Parallel()
	free := int64(1e9)
	dir := t.TempDir()
	_, r := begin(t, dir, Options{StopBytes: 1000, LowBytes: 5000, Free: func(string) (int64, error) { return free, nil }})
	appendLines(t, r, 0, 10)
	r.tick()
	if s := r.State(); !s.Recording || s.Low || s.Synced != 10 {
		t.Fatalf("much room: %+v", s)
	}
	free = 4000
	r.tick()
	if s := r.State(); !s.Recording || !s.Low {
		t.Fatalf("low: %+v", s)
	}
	free = 999
	r.tick()
	appendLines(t, r, 10, 17)
	if s := r.State(); s.Recording || !errors.Is(s.Err, ErrReserve) || s.Unrecorded != 7 || s.Lines != 10 || s.Synced != 10 {
		t.Fatalf("almost full: %+v", s)
	}
	free = 1500
	r.tick()
	if s := r.State(); s.Recording {
		t.Fatalf("a little room: %+v", s)
	}
	free = 6000
	r.tick()
	r.tick()
	appendLines(t, r, 17, 20)
	if s := r.State(); !s.Recording || s.Err != nil || s.Low || s.Lines != 13 || !strings.HasSuffix(s.File, ".2.mcap") {
		t.Fatalf("room again: %+v", s)
	}
	files, err := r.Files()
	if err != nil || len(files) != 2 {
		t.Fatalf("files %v, %v", files, err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	lines, seqs := read(t, false, files...)
	wantNumbered(t, lines, seqs, 13)
	sessions, err := List(dir)
	if err != nil || len(sessions) != 1 || len(sessions[0].Parts) != 2 || !sessions[0].Complete() || sessions[0].Missing() != 7 {
		t.Errorf("sessions %+v, %v; want one of two parts with 7 lines missing", sessions, err)
	}
}

// A disk that is full for real, on a small file system of its own.
func TestRecordingOnAFullDisk(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=256k"); err != nil {
		t.Skipf("mount a small file system: %v; run as root", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Errorf("unmount %s: %v", dir, err)
		}
	})
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ballast := filepath.Join(dir, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 100<<10), 0o644); err != nil {
		t.Fatal(err)
	}
	free := func(string) (int64, error) { return 1e9, nil } // the alarm is asleep
	r, err := f.Start(clock, testHead, Options{Free: free})
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	n := 0
	for ; r.State().Recording && n < 100_000; n++ {
		appendLines(t, r, n, n+1)
	}
	s := r.State()
	if s.Recording || !errors.Is(s.Err, syscall.ENOSPC) || s.Lines+s.Unrecorded != n || s.Unrecorded == 0 {
		t.Fatalf("after %d lines: %+v, want the disk full", n, s)
	}
	files, err := r.Files()
	if err != nil {
		t.Fatal(err)
	}
	lines, seqs := read(t, false, files[0])
	wantNumbered(t, lines, seqs, s.Lines)
	appendLines(t, r, n, n+50)
	r.tick() // still full
	if s := r.State(); s.Recording {
		t.Fatalf("on a full disk: %+v", s)
	}
	if _, err := Pack(files[0]); err == nil {
		t.Error("packed on a full disk, want an error")
	}
	if again, _ := read(t, false, files[0]); len(again) != len(lines) {
		t.Errorf("the file has %d lines after packing failed, want %d", len(again), len(lines))
	}

	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	for i := 0; i < 5 && !r.State().Recording; i++ {
		r.tick()
	}
	appendLines(t, r, n+50, n+60)
	if s := r.State(); !s.Recording {
		t.Fatalf("room again: %+v", s)
	}
	if files, err = r.Files(); err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	lines, seqs = read(t, false, files...)
	wantNumbered(t, lines, seqs, r.State().Lines)
	if last := seqs[len(seqs)-1]; last != n+60 {
		t.Errorf("the last line has number %d, want %d", last, n+60)
	}
	if done, err := Mend(dir); err != nil || len(done) != len(files) {
		t.Errorf("mended %+v, %v", done, err)
	}
	packed, seqs := read(t, false, files...)
	wantNumbered(t, packed, seqs, len(lines))
}

// A folder that cannot be written to does not keep the daemon from running.
func TestRecordingWithoutADisk(t *testing.T) {
	t.Parallel()
	_, r := begin(t, t.TempDir(), Options{Free: func(string) (int64, error) { return 10, nil }})
	appendLines(t, r, 0, 3)
	if s := r.State(); s.Recording || !errors.Is(s.Err, ErrReserve) || s.Unrecorded != 3 {
		t.Errorf("got %+v", s)
	}
	if err := r.Close(); err != nil {
		t.Error(err)
	}
}

func TestRecordingRefusesOneLine(t *testing.T) {
	t.Parallel()
	_, r := begin(t, t.TempDir(), Options{})
	if err := r.Append(replay.Event{}); !errors.Is(err, replay.ErrRefused) {
		t.Errorf("got %v, want a refusal", err)
	}
	appendLines(t, r, 0, 1)
	if s := r.State(); s.Lines != 1 || !s.Recording {
		t.Errorf("got %+v", s)
	}
}

// A disk that takes a few lines and fails again is not filled with parts.
func TestRecordingBacksOff(t *testing.T) {
	t.Parallel()
	_, r := begin(t, t.TempDir(), Options{})
	for range 200 {
		r.mu.Lock()
		if r.rec != nil {
			r.stop(fmt.Errorf("broken: %w", syscall.EIO))
		}
		r.mu.Unlock()
		r.tick()
	}
	files, err := r.Files()
	if err != nil || len(files) < 5 || len(files) > 12 {
		t.Errorf("%d parts in 200 s, %v; want a few", len(files), err)
	}
}
