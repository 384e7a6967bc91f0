package main

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"drawbar/internal/testkit"
)

// sessionsDir holds one recorded session a folder.
var sessionsDir = filepath.Join("..", "..", "testdata", "sessions")

// sessionNames are the recorded sessions.
func sessionNames(t *testing.T) []string {
	t.Helper()
	configs, err := filepath.Glob(filepath.Join(sessionsDir, "*", "config.yaml"))
	if err != nil || len(configs) < 6 {
		t.Fatalf("sessions in %s: %d, %v, want at least 6", sessionsDir, len(configs), err)
	}
	var names []string
	for _, c := range configs {
		names = append(names, filepath.Base(filepath.Dir(c)))
	}
	return names
}

// replaySession replays a session as a person would and returns the folder of
// its results.
func replaySession(t *testing.T, name string) string {
	t.Helper()
	dir, out := filepath.Join(sessionsDir, name), filepath.Join(t.TempDir(), "out")
	code, _, stderr := run(t.Context(), "replay", "--config", filepath.Join(dir, "config.yaml"), "--out", out, filepath.Join(dir, "input.capture"))
	if code != 0 || stderr != "" {
		t.Fatalf("replay of session %s: code %d, stderr %q", name, code, stderr)
	}
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("session %s; to repeat it, in the module's folder:\n  go run ./cmd/drawbar replay --config testdata/sessions/%[1]s/config.yaml --out /tmp/%[1]s testdata/sessions/%[1]s/input.capture", name)
		}
	})
	return out
}

// Every recorded session gives the bytes that were recorded with it: the whole
// of summary.json, and a digest of every file. The test runs on other processors
// too (make same).
func TestGoldenSessions(t *testing.T) {
	t.Parallel()
	for _, name := range sessionNames(t) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			out := replaySession(t, name)
			summary, err := os.ReadFile(filepath.Join(out, "summary.json"))
			if err != nil {
				t.Fatal(err)
			}
			want := filepath.Join(sessionsDir, name, "want")
			testkit.Golden(t, filepath.Join(want, "summary.json"), summary)
			testkit.Golden(t, filepath.Join(want, "digests.txt"), digests(t, out))
		})
	}
}

// digests is a line for each file of a folder, as sha256sum writes it.
func digests(t *testing.T, dir string) []byte {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []byte
	for _, f := range files {
		text, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out = fmt.Appendf(out, "%x  %s\n", sha256.Sum256(text), f.Name())
	}
	return out
}

// byHand is a row of a table in about.md: a figure of the summary, its value as
// worked out there, and how far the summary may be off.
var byHand = regexp.MustCompile("(?m)^\\| `([a-z0-9_.]+)` \\| ([^|]+) \\| ([^|]+) \\|$")

// Every recorded session agrees with the answer that a person worked out in its
// about.md, whatever bytes were recorded.
func TestSessionsByHand(t *testing.T) {
	t.Parallel()
	for _, name := range sessionNames(t) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			text, err := os.ReadFile(filepath.Join(replaySession(t, name), "summary.json"))
			if err != nil {
				t.Fatal(err)
			}
			var summary any
			if err := json.Unmarshal(text, &summary); err != nil {
				t.Fatal(err)
			}
			about, err := os.ReadFile(filepath.Join(sessionsDir, name, "about.md"))
			if err != nil {
				t.Fatal(err)
			}
			rows := byHand.FindAllStringSubmatch(string(about), -1)
			if len(rows) < 5 {
				t.Fatalf("about.md of session %s has %d figures worked out by hand, want at least 5", name, len(rows))
			}
			for _, row := range rows {
				compareByHand(t, name, row[1], row[2], row[3], figure(summary, row[1]))
			}
		})
	}
}

// figure is the member of a JSON value at a path such as operations.0.field.
func figure(v any, path string) any {
	for step := range strings.SplitSeq(path, ".") {
		switch of := v.(type) {
		case map[string]any:
			member, ok := of[step]
			if !ok {
				return missing(path)
			}
			v = member
		case []any:
			if step == "count" {
				return float64(len(of))
			}
			i, err := strconv.Atoi(step)
			if err != nil || i >= len(of) {
				return missing(path)
			}
			v = of[i]
		default:
			return missing(path)
		}
	}
	return v
}

// missing stands for a figure that the summary does not have.
type missing string

func compareByHand(t *testing.T, session, path, want, within string, got any) {
	t.Helper()
	number, err := strconv.ParseFloat(want, 64)
	if err != nil {
		if got != want {
			t.Errorf("session %s: %s is %v, by hand %s", session, path, got, want)
		}
		return
	}
	tolerance, err := strconv.ParseFloat(within, 64)
	if err != nil {
		t.Fatalf("session %s: %s: tolerance %q is no number", session, path, within)
	}
	if v, ok := got.(float64); !ok || !(math.Abs(v-number) <= tolerance) {
		t.Errorf("session %s: %s is %v, by hand %s within %s", session, path, got, want, within)
	}
}
