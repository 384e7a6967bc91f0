package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const correction = `{"from":"2026-05-14T13:05:15Z","to":"2026-05-14T13:05:20Z","why":"the bags were swapped","field":"Long Meadow"}`

func TestCorrect(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "000001-x.mcap")
	if _, err := AddLater(file, []byte(correction)); !errors.Is(err, os.ErrNotExist) {
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
		if _, err := AddLater(file, []byte(line)); err == nil {
			t.Errorf("%q: taken, want it refused", line)
		}
	}
	if exists(beside) {
		t.Fatal("something was written for a line that was refused")
	}
	if _, err := AddLater(file, []byte(correction)); err != nil {
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
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if n, err := AddLater(file, []byte(correction)); err != nil || n != 3 {
		t.Fatalf("number %d, %v; want 3", n, err)
	}
	lines, faults, err := Later(part)
	if err != nil || len(lines) != 3 || !lines[0].Correction() || lines[1].Correction() || !lines[2].Correction() {
		t.Errorf("%+v, %v; want two corrections around a line that says nothing", lines, err)
	}
	if len(faults) != 1 || !strings.Contains(faults[0], "line 2") {
		t.Errorf("told of %q, want line 2", faults)
	}
}

// A line without end costs no memory and takes nothing but itself.
func TestEndlessLine(t *testing.T) {
	t.Parallel()
	const most = 100
	text := "first\n" + strings.Repeat("x", 50*most) + "\n\n" + strings.Repeat("y", most) + "\n" + strings.Repeat("z", most+1)
	var got []string
	err := eachLine(strings.NewReader(text), "lines", most, func(n int, text []byte, long bool) {
		got = append(got, fmt.Sprintf("%d %c %v", n, text[0], long))
		if len(text) > most+2 {
			t.Errorf("line %d: %d bytes are given", n, len(text))
		}
	})
	if want := "1 f false; 2 x true; 4 y false; 5 z true"; err != nil || strings.Join(got, "; ") != want {
		t.Errorf("got %q, %v; want %q", got, err, want)
	}
}
