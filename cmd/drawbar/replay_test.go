package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/internal/testkit"
	"drawbar/replay"
)

// run carries out a command line and returns what it printed.
func run(ctx context.Context, args ...string) (code int, stdout, stderr string) {
	var out, err bytes.Buffer
	code = Run(ctx, args, strings.NewReader(""), &out, &err)
	return code, out.String(), err.String()
}

// Every recorded log of the folder of real data, whatever is in it, ends in a
// summary that has the good and the bad sentences of an independent count, and
// in results that are the same when it is done again.
func TestReplayRecordedLogs(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(testkit.SharedData(t), "nmea")
	text, err := os.ReadFile(filepath.Join(dir, "counts.json"))
	if err != nil {
		t.Fatal(err)
	}
	var counts map[string]json.RawMessage
	if err := json.Unmarshal(text, &counts); err != nil {
		t.Fatal(err)
	}
	tried := 0
	for name, raw := range counts {
		var want struct {
			Valid *int `json:"sentences_valid"`
			Bad   *int `json:"sentences_bad_checksum"`
		}
		if err := json.Unmarshal(raw, &want); err != nil || want.Valid == nil || want.Bad == nil {
			continue // a remark on the counting
		}
		tried++
		path := filepath.Join(dir, name)
		code, stdout, stderr := run(t.Context(), "replay", "--json", path)
		var got replay.Summary
		if err := json.Unmarshal([]byte(stdout), &got); code != 0 || err != nil || stderr != "" {
			t.Errorf("replay %s: code %d, stderr %q, %v", name, code, stderr, err)
			continue
		}
		if got.GNSS.Sentences < *want.Valid || got.GNSS.BadChecksum < *want.Bad || got.GNSS.Sentences > *want.Valid+5 {
			t.Errorf("replay %s: %d good and %d bad sentences, an independent count has %d and %d", name, got.GNSS.Sentences, got.GNSS.BadChecksum, *want.Valid, *want.Bad)
		}
		if _, again, _ := run(t.Context(), "replay", "--json", path); again != stdout {
			t.Errorf("replay %s: not the same when done again", name)
		}
	}
	if tried < 10 {
		t.Errorf("only %d logs of %s were tried", tried, dir)
	}
}

// An interrupted replay says so and leaves no results, not even half-written.
func TestReplayInterrupted(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	out := filepath.Join(t.TempDir(), "out")
	code, stdout, stderr := run(ctx, "replay", "--pace", "1", "--out", out, "testdata/input/one-pass.capture")
	if code != exitFailure || stdout != "" || stderr != "drawbar: interrupted; no results were written\n" {
		t.Errorf("code %d, stdout %q, stderr %q", code, stdout, stderr)
	}
	if entries, err := os.ReadDir(out); err != nil || len(entries) > 0 {
		t.Errorf("left in the folder: %v, %v", entries, err)
	}
}

type closedPipe struct{}

func (closedPipe) Write([]byte) (int, error) { return 0, errors.New("broken pipe") }

// A summary that could not be printed is no success.
func TestReplayCannotPrint(t *testing.T) {
	t.Parallel()
	var stderr bytes.Buffer
	code := Run(t.Context(), []string{"replay", "testdata/input/one-pass.nmea"}, nil, closedPipe{}, &stderr)
	if code != exitFailure || stderr.String() != "drawbar: print the summary: broken pipe\n" {
		t.Errorf("code %d, stderr %q", code, stderr.String())
	}
}

// Several files are one session: a capture cut in two at a line end gives what
// the whole gives.
func TestReplaySeveralInputs(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("testdata/input/one-pass.capture")
	if err != nil {
		t.Fatal(err)
	}
	_, want, _ := run(t.Context(), "replay", "--json", "--config", "testdata/input/mill-piece.yaml", "testdata/input/one-pass.capture")
	lines := bytes.SplitAfter(text, []byte("\n"))
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.capture"), filepath.Join(dir, "b.capture")
	for _, cut := range []int{0, 5, len(lines) / 2, len(lines)} {
		if err := errors.Join(
			os.WriteFile(a, bytes.Join(lines[:cut], nil), 0o644),
			os.WriteFile(b, bytes.Join(lines[cut:], nil), 0o644)); err != nil {
			t.Fatal(err)
		}
		code, got, stderr := run(t.Context(), "replay", "--json", "--config", "testdata/input/mill-piece.yaml", a, b)
		if code != 0 || got != want || stderr != "" {
			t.Errorf("cut after line %d: code %d, stderr %q\ngot %s\nwant %s", cut, code, stderr, got, want)
		}
	}
}
