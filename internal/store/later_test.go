package store

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"drawbar/replay/statement"
)

// laterEnv makes the test program add corrections to that file until it is killed.
const laterEnv = "STORE_TEST_LATER"

func numberedCorrection(n int) []byte {
	return fmt.Appendf(nil, `{"person":"driver %d","from":"2026-05-14T13:05:00Z","to":"2026-05-14T14:00:00Z","why":"%s"}`, n, strings.Repeat("wrong name ", 1+n%15))
}

// beside is a recording to correct.
func beside(t *testing.T) (file string) {
	t.Helper()
	file = filepath.Join(t.TempDir(), "000001-20260514T130510Z.mcap")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

func mustLater(t *testing.T, file string) []statement.Later {
	t.Helper()
	lines, _, err := Later(file)
	if err != nil {
		t.Fatal(err)
	}
	return lines
}

func TestLinesAreNumberedAsInTheFile(t *testing.T) {
	t.Parallel()
	file := beside(t)
	add := func(line string, want int) {
		t.Helper()
		if n, err := AddLater(file, []byte(line)); err != nil || n != want {
			t.Fatalf("%s: number %d, %v, want %d", line, n, err, want)
		}
	}
	refused := func(line, words string) {
		t.Helper()
		before, _ := os.ReadFile(CorrectionsFile(file))
		if _, err := AddLater(file, []byte(line)); !errors.Is(err, ErrRefused) || !strings.Contains(err.Error(), words) {
			t.Fatalf("%s: %v, want it refused because %q", line, err, words)
		}
		if after, _ := os.ReadFile(CorrectionsFile(file)); !bytes.Equal(after, before) {
			t.Fatalf("%s was refused and written", line)
		}
	}
	add(string(numberedCorrection(1)), 1)
	add(string(numberedCorrection(2)), 2)
	// a hand wrote into the file, and a power cut ended it within a line
	f, err := os.OpenFile(CorrectionsFile(file), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString("\nhello\n{\"person\":\"cut o"); err != nil {
		t.Fatal(err)
	}
	f.Close()
	add(string(numberedCorrection(6)), 6)
	add(`{"undo":2,"why":"it was right"}`, 7)
	refused(`{"undo":2,"why":"twice"}`, "by number 7")
	refused(`{"undo":8,"why":"not there"}`, "no number 8")
	refused(`{"undo":4,"why":"says nothing"}`, "nothing that acts")
	refused(`{"undo":3,"why":"blank"}`, "no number 3")
	refused(`{"person":"x"}`, "from, to and why")
	add(`{"undo":7,"why":"it was not right after all"}`, 8)
	lines := mustLater(t, file)
	var numbers []int
	for _, l := range statement.Effective(lines) {
		numbers = append(numbers, l.Number)
	}
	if want := []int{1, 2, 6}; !slices.Equal(numbers, want) {
		t.Errorf("those that act: %v, want %v", numbers, want)
	}
	if _, faults, _ := Later(file); len(faults) != 2 {
		t.Errorf("faults: %q, want those of lines 4 and 5", faults)
	}
}

// Whoever corrects the same session at the same time, all corrections are kept and each
// is told its own number.
func TestCorrectedAtTheSameTime(t *testing.T) {
	t.Parallel()
	file := beside(t)
	const screens, each = 4, 25
	numbers := make([][]int, screens)
	var all sync.WaitGroup
	for screen := range screens {
		all.Go(func() {
			for i := range each {
				n, err := AddLater(file, numberedCorrection(screen*each+i))
				if err != nil {
					t.Error(err)
					return
				}
				numbers[screen] = append(numbers[screen], n)
			}
		})
	}
	all.Wait()
	lines := mustLater(t, file)
	if len(lines) != screens*each {
		t.Fatalf("%d lines, want %d", len(lines), screens*each)
	}
	for screen, of := range numbers {
		for i, n := range of {
			if want := fmt.Sprintf("driver %d", screen*each+i); n < 1 || n > len(lines) || *lines[n-1].Person != want {
				t.Errorf("screen %d was told number %d of %q; there is %+v", screen, n, want, lines[n-1].Person)
			}
		}
	}
}

// Killed at any instant, what was acknowledged is there, and all else that is there
// was asked for: the next one is one more, whole.
func TestKilledWhileCorrecting(t *testing.T) {
	t.Parallel()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	file := beside(t)
	rng := rand.New(rand.NewPCG(7, 11))
	asked := 0
	for kill := range 12 {
		cmd := exec.Command(self)
		cmd.Env = append(os.Environ(), laterEnv+"="+file, fmt.Sprintf("%s_FROM=%d", laterEnv, asked))
		cmd.Stderr = os.Stderr
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		timer := time.AfterFunc(time.Duration(5+rng.IntN(60))*time.Millisecond, func() { _ = cmd.Process.Kill() })
		acknowledged := asked
		for s := bufio.NewScanner(out); s.Scan(); {
			var n int
			if k, _ := fmt.Sscanf(s.Text(), "%d.", &n); k == 1 && strings.HasSuffix(s.Text(), ".") {
				acknowledged = n
			}
		}
		_ = cmd.Wait()
		timer.Stop()
		lines, faults, err := Later(file)
		if err != nil {
			t.Fatal(err)
		}
		if len(lines) < acknowledged || len(lines) > acknowledged+1 {
			t.Fatalf("kill %d: %d lines, %d were acknowledged", kill, len(lines), acknowledged)
		}
		for i, l := range lines {
			cut := i == len(lines)-1 && i >= acknowledged
			if !l.Correction() && !cut || l.Correction() && *l.Person != fmt.Sprintf("driver %d", i+1) {
				t.Fatalf("kill %d: line %d of %d is %+v; faults %q", kill, i+1, len(lines), l, faults)
			}
		}
		asked = len(lines)
		if n, err := AddLater(file, numberedCorrection(asked+1)); err != nil || n != asked+1 {
			t.Fatalf("kill %d: the next correction: number %d, %v", kill, n, err)
		}
		asked++
	}
}

// correctForever adds corrections until it is killed, and says which are added.
func correctForever(file string) error {
	var from int
	if _, err := fmt.Sscan(os.Getenv(laterEnv+"_FROM"), &from); err != nil {
		return err
	}
	for i := from + 1; ; i++ {
		n, err := AddLater(file, numberedCorrection(i))
		if err != nil {
			return err
		}
		fmt.Printf("%d.\n", n)
	}
}

func TestJoins(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	at := time.Date(2026, 5, 14, 13, 6, 0, 0, time.UTC)
	two := []JoinedOperation{{"000017-20260514T130510Z", at}, {"000018-20260515T060000Z", at.Add(24 * time.Hour)}}
	add := func(j Join, want int) {
		t.Helper()
		if n, err := AddJoin(dir, j); err != nil || n != want {
			t.Fatalf("%+v: number %d, %v, want %d", j, n, err, want)
		}
	}
	add(Join{Join: two, Why: "one field on two days", By: "Farm manager", Made: at}, 1)
	add(Join{Join: two, Why: "again"}, 2)
	add(Join{Undo: 1, Why: "said twice"}, 3)
	for _, j := range []Join{
		{Why: "nothing"}, {Join: two[:1], Why: "one"}, {Join: two}, {Join: two, Undo: 1, Why: "both"}, {Undo: 1, Why: "twice"}, {Undo: 9, Why: "not there"}, {Undo: -1, Why: "x"},
		{Join: []JoinedOperation{two[0], {"../x", at}}, Why: "elsewhere"}, {Join: []JoinedOperation{two[0], {Session: two[1].Session}}, Why: "no moment"},
	} {
		if _, err := AddJoin(dir, j); !errors.Is(err, ErrRefused) {
			t.Errorf("%+v: %v, want it refused", j, err)
		}
	}
	lines, faults, err := Joins(dir)
	if err != nil || len(faults) > 0 || len(lines) != 3 || lines[0].Undone != 3 || lines[1].Undone != 0 || !slices.Equal(lines[1].Join, two) || !lines[0].Made.Equal(at) {
		t.Errorf("joins: %+v, %q, %v", lines, faults, err)
	}
}

func FuzzJoins(f *testing.F) {
	f.Add([]byte(`{"join":[{"session":"000017-20260514T130510Z","at":"2026-05-14T13:05:10Z"},{"session":"a","at":"2026-05-14T13:05:10Z"}],"why":"x"}` + "\n" + `{"undo":1,"why":"y"}`))
	f.Add([]byte("\n\n{}\n{\"undo\":1"))
	f.Fuzz(func(t *testing.T, text []byte) {
		x := joinLines{name: "joins"}
		if err := eachLine(bytes.NewReader(text), x.name, maxJoin, x.take); err != nil {
			t.Fatal(err)
		}
		for _, j := range x.settled() {
			if err := j.check(); err != nil {
				t.Errorf("%+v: %v", j, err)
			}
			if j.Undone != 0 && j.Undone <= j.Number {
				t.Errorf("number %d was taken back by %d", j.Number, j.Undone)
			}
		}
	})
}
