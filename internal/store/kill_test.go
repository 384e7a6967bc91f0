package store

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
)

// Killed at any instant, the recording has every line that the recorder said it had
// written, and mending keeps them. DRAWBAR_KILLS says how often, else 20 times.
func TestKillNine(t *testing.T) {
	t.Parallel()
	kills := 20
	if s := os.Getenv("DRAWBAR_KILLS"); s != "" {
		var err error
		if kills, err = strconv.Atoi(s); err != nil {
			t.Fatal(err)
		}
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(3, 9))
	dir := t.TempDir()
	for i := range kills {
		written, synced := recordAndKill(t, self, dir, 1+rng.IntN(3000))
		files, err := filepath.Glob(filepath.Join(dir, fmt.Sprintf("%06d-*.mcap", i+1)))
		if err != nil || len(files) != 1 {
			t.Fatalf("kill %d: files %v, %v", i, files, err)
		}
		lines, seqs := read(t, true, files[0])
		if len(lines) < written || len(lines) < synced {
			t.Fatalf("kill %d: %d lines are there, %d were written and %d synced", i, len(lines), written, synced)
		}
		wantNumbered(t, lines, seqs, len(lines))
		done, err := Mend(dir)
		if err != nil || len(done) != 1 || done[0].File != files[0] || !done[0].Contents.Cut || done[0].Kept != "" {
			t.Fatalf("kill %d: mended %+v, %v", i, done, err)
		}
		mended, seqs := read(t, false, files[0])
		wantNumbered(t, mended, seqs, len(lines))
	}
}

// recordAndKill runs a recorder until it has written so many lines, kills it, and
// returns what it said last.
func recordAndKill(t *testing.T, self, dir string, after int) (written, synced int) {
	t.Helper()
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), recordEnv+"="+dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	killed := false
	for s := bufio.NewScanner(out); s.Scan(); {
		var w, k int
		if n, _ := fmt.Sscan(s.Text(), &w, &k); n != 2 {
			continue // cut by the kill
		}
		written, synced = w, k
		if written >= after && !killed {
			killed = true
			if err := cmd.Process.Kill(); err != nil {
				t.Fatal(err)
			}
		}
	}
	_ = cmd.Wait()
	if !killed {
		t.Fatalf("the recorder ended by itself after %d lines", written)
	}
	return written, synced
}
