package store

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/replay"
)

const correction = `{"from":"2026-05-14T13:05:15Z","to":"2026-05-14T13:05:20Z","why":"the bags were swapped","field":"Long Meadow"}`

func TestCorrect(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "000001-x.mcap")
	if err := Correct(file, []byte(correction)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no such session: got %v", err)
	}
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	part := filepath.Join(dir, "000001-x.2.mcap")
	beside := filepath.Join(dir, "000001-x.corrections.jsonl")
	if a, b := CorrectionsFile(file), CorrectionsFile(part); a != beside || b != beside {
		t.Errorf("got %s and %s, want %s for both", a, b, beside)
	}
	if got := CorrectionsFile("a/b.capture"); got != "a/b.corrections.jsonl" {
		t.Errorf("got %s", got)
	}
	for _, line := range []string{`{"field":"x"}`, `{`, ``, `{"from":"2026-05-14T13:05:15Z","why":"x"}`, correction + "\n", strings.Replace(correction, "field", "feld", 1)} {
		if err := Correct(file, []byte(line)); err == nil {
			t.Errorf("%q: taken, want it refused", line)
		}
	}
	if exists(beside) {
		t.Fatal("something was written for a line that was refused")
	}
	if err := Correct(file, []byte(correction)); err != nil {
		t.Fatal(err)
	}
	// A line that a fault cut short takes nothing but itself.
	f, err := os.OpenFile(beside, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString(correction[:30]); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(f.Close(), Correct(file, []byte(correction))); err != nil {
		t.Fatal(err)
	}
	if f, err = os.Open(beside); err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := replay.NewOperatorReader(f, beside)
	good, bad := 0, 0
	for {
		_, err := r.Next()
		var corrupt *replay.CorruptError
		if err == io.EOF {
			break
		}
		if errors.As(err, &corrupt) {
			if bad++; corrupt.Line != 2 {
				t.Errorf("told of line %d, want 2", corrupt.Line)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		good++
	}
	if good != 2 || bad != 1 {
		t.Errorf("%d good lines and %d bad ones, want 2 and 1", good, bad)
	}
}
