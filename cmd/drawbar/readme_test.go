package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"drawbar/internal/testkit"
	"drawbar/replay"
)

// What the README shows works as it stands: its configuration is in order, its
// line profile compiles, and its capture lines are read whole.
func TestReadmeExamples(t *testing.T) {
	t.Parallel()
	root := testkit.ModuleRoot(t)
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	boundary, err := os.ReadFile(filepath.Join(root, "testdata", "sessions", "mill-piece", "boundary.geojson"))
	if err != nil {
		t.Fatal(err)
	}
	write := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	write("mill-piece.geojson", boundary)

	blocks := regexp.MustCompile("(?s)```yaml\n(.*?)```").FindAllSubmatch(readme, -1)
	if len(blocks) != 2 {
		t.Fatalf("got %d configurations in the README, want 2", len(blocks))
	}
	var config string
	for i, b := range blocks {
		path := write([]string{"mill-piece.yaml", "profile.yaml"}[i], b[1])
		if i == 0 {
			config = path
		}
		var out, errs bytes.Buffer
		if code := Run(context.Background(), []string{"check", path}, nil, &out, &errs); code != 0 {
			t.Errorf("check of the README's configuration %d: exit %d: %s", i+1, code, errs.String())
		}
	}

	var capture []byte
	for _, line := range regexp.MustCompile(`(?m)^ +(2026-\S+ (?:gnss|controller|operator) .*)$`).FindAllSubmatch(readme, -1) {
		capture = append(append(capture, line[1]...), '\n')
	}
	var out, errs bytes.Buffer
	if code := Run(context.Background(), []string{"replay", "--config", config, "--json", write("readme.capture", capture)}, nil, &out, &errs); code != 0 {
		t.Fatalf("replay of the README's capture: exit %d: %s", code, errs.String())
	}
	var sum replay.Summary
	if err := json.Unmarshal(out.Bytes(), &sum); err != nil {
		t.Fatal(err)
	}
	if sum.GNSS.Sentences != 1 || sum.GNSS.Fixes != 1 || sum.Controller.Reports != 1 || len(sum.Marks) != 1 || len(sum.Warnings) != 0 {
		t.Errorf("from\n%s\ngot %+v", capture, sum)
	}

	// The commands it names exist.
	for _, cmd := range regexp.MustCompile(`(?m)^    bin/drawbar (\w+)`).FindAllSubmatch(readme, -1) {
		if code := Run(context.Background(), []string{string(cmd[1]), "--help"}, nil, &out, &errs); code != 0 {
			t.Errorf("drawbar %s --help: exit %d: %s", cmd[1], code, errs.String())
		}
	}
	makefile, err := os.ReadFile(filepath.Join(root, "Makefile"))
	if err != nil {
		t.Fatal(err)
	}
	for _, target := range regexp.MustCompile("make (demo|test)\n").FindAllSubmatch(readme, -1) {
		if !strings.Contains(string(makefile), "\n"+string(target[1])+":") {
			t.Errorf("make %s is not a target", target[1])
		}
	}
}
