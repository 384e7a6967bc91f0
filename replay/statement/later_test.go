package statement_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"drawbar/replay/statement"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

const laterLine = `{"from":"2026-05-14T13:05:10Z","to":"2026-05-14T14:05:10Z","why":"wrong field chosen","by":"the manager","field":"Long Meadow"}`

func TestParseLater(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, text string
		undo       int
		corrects   bool
		fault      string // empty: none
	}{
		{"a correction", laterLine, 0, true, ""},
		{"one taken back", `{"undo":3,"why":"it was not","by":"the manager","made":"2026-06-01T08:00:00Z"}`, 3, false, ""},
		{"without a reason", `{"undo":3}`, 0, false, "1:1: why: got nothing, want why it is taken back"},
		{"number nought", `{"undo":0,"why":"x"}`, 0, false, "1:9: undo: got 0, want a whole number from 1 to 1000000"},
		{"with something else", `{"undo":3,"why":"x","field":"y"}`, 0, false, "1:21: field: got an unknown key, want one of undo, why, by, made"},
		{"made at no time", `{"undo":3,"why":"x","made":"yesterday"}`, 0, false, "1:28: made: got yesterday, want a time such as 2026-05-14T13:05:10Z"},
		{"something said now", `{"field":"Long Meadow"}`, 0, false, "1:1: from: got nothing, want from, to and why together in a correction"},
		{"a member at fault", `{"from":"2026-05-14T13:05:10Z","to":"2026-05-14T14:05:10Z","why":"x","feild":"y"}`, 0, true, "1:70: feild: got an unknown key, want a known key (did you mean field?)"},
		{"no JSON", `{`, 0, false, "1:2: got the end of the text, want the JSON to go on"},
	} {
		l, faults := statement.ParseLater([]byte(c.text))
		if l.Undo != c.undo || l.Correction() != c.corrects {
			t.Errorf("%s: undo %d, correction %v", c.name, l.Undo, l.Correction())
		}
		if c.fault == "" && len(faults) > 0 || c.fault != "" && (len(faults) != 1 || faults[0].Error() != c.fault) {
			t.Errorf("%s: got %v, want %s", c.name, faults, c.fault)
		}
	}
}

// standing tells by the rule alone, slowly, whether line i holds: no later line that
// holds takes it back.
func standing(lines []statement.Later, i int) bool {
	for j := i + 1; j < len(lines); j++ {
		if lines[j].Undo == lines[i].Number && standing(lines, j) {
			return false
		}
	}
	return true
}

// Whatever is taken back, and that taken back in turn, what acts is by the rule.
func TestTakenBack(t *testing.T) {
	t.Parallel()
	correction, faults := statement.ParseLater([]byte(laterLine))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	rapid.Check(t, func(t *rapid.T) {
		var lines []statement.Later
		number := 0
		for range rapid.IntRange(0, 10).Draw(t, "lines") {
			number += rapid.IntRange(1, 3).Draw(t, "lines that are none, and one")
			l := correction
			if rapid.Bool().Draw(t, "undo?") {
				l = statement.Later{Undo: rapid.IntRange(1, number+2).Draw(t, "undo")}
			}
			l.Number = number
			lines = append(lines, l)
		}
		by := statement.TakenBack(lines)
		var want []int
		for i, l := range lines {
			if holds := standing(lines, i); holds != (by[i] == 0) {
				t.Fatalf("%+v: line %d: taken back by %d, want it to hold: %v", lines, l.Number, by[i], holds)
			}
			if by[i] == 0 && l.Correction() {
				want = append(want, l.Number)
			}
		}
		var got []int
		for _, l := range statement.Effective(lines) {
			got = append(got, l.Number)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("effective (-want +got):\n%s", diff)
		}
	})
}

// No line makes the reading panic, and what acts says the same when it is written.
func FuzzLater(f *testing.F) {
	for _, s := range []string{laterLine, `{"undo":3,"why":"it was not","by":"the manager","made":"2026-06-01T08:00:00.5+01:00"}`, `{"undo":1e9,"why":""}`, `{"undo":3,"from":"x"}`, `{}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		l, faults := statement.ParseLater(line)
		if l.Undo != 0 && l.Correction() {
			t.Errorf("%q corrects and takes back", line)
		}
		if l.Undo == 0 && !l.Correction() {
			if len(faults) == 0 {
				t.Errorf("%q does nothing, and nobody is told", line)
			}
			return
		}
		text, err := json.Marshal(l)
		if err != nil {
			t.Fatalf("write what %q states: %v", line, err)
		}
		again, faults := statement.ParseLater(text)
		if len(faults) > 0 {
			t.Fatalf("%q is written as %s, which has faults %v", line, text, faults)
		}
		if diff := cmp.Diff(l, again, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%q is written as %s (-first +again):\n%s", line, text, diff)
		}
	})
}

func ExampleEffective() {
	var lines []statement.Later
	for i, text := range []string{laterLine, `{"undo":1,"why":"it was the right field"}`, `{"undo":2,"why":"no, it was not"}`} {
		l, _ := statement.ParseLater([]byte(text))
		l.Number = i + 1
		lines = append(lines, l)
	}
	for _, l := range statement.Effective(lines[:2]) {
		fmt.Println("of two lines:", *l.Field)
	}
	for _, l := range statement.Effective(lines) {
		fmt.Println("of three lines:", *l.Field, l.From.Format(time.TimeOnly))
	}
	// Output: of three lines: Long Meadow 13:05:10
}
