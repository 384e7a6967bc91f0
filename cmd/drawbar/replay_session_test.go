package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/internal/store"
	"drawbar/internal/testkit"
	"drawbar/replay"
)

// recordParts records capture text in two parts, as a daemon does whose disk was
// full while so many other lines came; the second part has no end.
func recordParts(t *testing.T, capture string, head replay.Head, lost uint32) (first string) {
	t.Helper()
	f, err := os.Open(capture)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	dir := t.TempDir()
	src := replay.NewCaptureReader(f, capture)
	for part := 1; part <= 2; part++ {
		name := filepath.Join(dir, "000001-20260514T130510Z.mcap")
		if part == 1 {
			first = name
		} else {
			name = strings.TrimSuffix(name, ".mcap") + ".2.mcap"
		}
		out, err := os.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		head.Part = part
		r, err := replay.NewRecorder(out, name, head)
		if err != nil {
			t.Fatal(err)
		}
		for n := 0; part == 2 || n < 500; n++ {
			e, err := src.Next()
			if err == io.EOF {
				break
			}
			if err := errors.Join(err, r.Append(e)); err != nil {
				t.Fatal(err)
			}
		}
		end := r.Close
		if part == 2 {
			end = r.Flush
		}
		if err := errors.Join(end(), out.Close()); err != nil {
			t.Fatal(err)
		}
		head.First = r.Next() + lost
	}
	return first
}

// A session in two parts, recorded with its configuration and the field's boundary,
// gives by itself what the same lines as text give with the configuration. So it
// does when it is mended and packed.
func TestReplaySessionByItself(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(testkit.ModuleRoot(t), "testdata", "sessions", "mill-piece")
	capture, cfg := filepath.Join(dir, "input.capture"), filepath.Join(dir, "config.yaml")
	text := func(name string) string {
		t.Helper()
		b, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	session := recordParts(t, capture, replay.Head{Session: "000001-20260514T130510Z", Config: text("config.yaml"), Outline: text("boundary.geojson")}, 12)
	code, want, stderr := run(t.Context(), "replay", "--json", "--config", cfg, capture)
	if code != 0 {
		t.Fatalf("replay of the text: %d, %s", code, stderr)
	}
	// The warning that the recording has no end is the only difference.
	same := func(got string) {
		t.Helper()
		before, _, _ := strings.Cut(want, `"warnings"`)
		if !strings.HasPrefix(got, before) {
			t.Errorf("the session gives\n%s\nthe text gives\n%s", got, want)
		}
	}
	code, got, stderr := run(t.Context(), "replay", "--json", session)
	if code != 0 || stderr != "" {
		t.Fatalf("replay of the session: %d, %s", code, stderr)
	}
	same(got)
	for _, note := range []string{"the recording has no end", ".2.mcap: 12 lines before it came while nothing could be recorded"} {
		if !strings.Contains(got, note) {
			t.Errorf("not told that %q: %s", note, got)
		}
	}

	code, mended, stderr := run(t.Context(), "sessions", "mend", filepath.Dir(session))
	if code != 0 || strings.Count(mended, "lines kept") != 2 {
		t.Fatalf("mend: %d, %s, %s", code, mended, stderr)
	}
	if code, got, stderr = run(t.Context(), "replay", "--json", session); code != 0 {
		t.Fatalf("replay of the packed session: %d, %s", code, stderr)
	}
	same(got)
	if code, got, _ = run(t.Context(), "sessions", "show", "--config", session); code != 0 || got != text("config.yaml") {
		t.Errorf("show --config: %d, %q", code, got)
	}
	if code, got, _ = run(t.Context(), "sessions", "list", filepath.Dir(session)); code != 0 || !strings.Contains(got, "packed, 2 parts") || strings.Count(got, "\n") != 2 {
		t.Errorf("list: %d, %s", code, got)
	}

	// As text it carries its configuration back.
	back, again := filepath.Join(t.TempDir(), "back.capture"), filepath.Join(t.TempDir(), "again.mcap")
	if code, _, stderr = run(t.Context(), "sessions", "convert", session, back); code != 0 {
		t.Fatal(stderr)
	}
	if code, _, stderr = run(t.Context(), "sessions", "convert", back, again); code != 0 {
		t.Fatal(stderr)
	}
	if a, b := store.Inspect(session), store.Inspect(again); a.Head != b.Head || a.Contents.Lines != b.Contents.Lines {
		t.Errorf("converted twice: head %+v, lines %v; want %+v, %v", b.Head, b.Contents.Lines, a.Head, a.Contents.Lines)
	}
}

// A configuration that is not understood, and one that differs, are told.
func TestReplaySessionsConfiguration(t *testing.T) {
	t.Parallel()
	capture := filepath.Join("testdata", "input", "one-pass.capture")
	bad := recordParts(t, capture, replay.Head{Config: "unit: metric\n"}, 0)
	code, _, stderr := run(t.Context(), "replay", bad)
	if code != exitFailure || !strings.Contains(stderr, "configuration in "+bad) || !strings.Contains(stderr, "name another one with --config") {
		t.Errorf("got %d, %s", code, stderr)
	}
	one, other := recordParts(t, capture, replay.Head{Config: "units: metric\n"}, 0), recordParts(t, capture, replay.Head{Config: "units: us\n"}, 0)
	if code, stdout, stderr := run(t.Context(), "replay", one, other); code != 0 || !strings.Contains(stdout, "was recorded with another configuration; that of "+one+" counts") {
		t.Errorf("got %d, %s, %s", code, stdout, stderr)
	}
}
