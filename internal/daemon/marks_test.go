package daemon_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"drawbar/internal/catalog"
	"drawbar/internal/sim"
	"drawbar/internal/store"
)

// kept is a mark as /api/marks has it.
type kept struct {
	ID, Kind, Note, State string
	Field, Session        *string
	Number                *int
	SettledBy             *string  `json:"settled_by"`
	LonDeg                *float64 `json:"lon_deg"`
	LatDeg                *float64 `json:"lat_deg"`
	DistanceM             *float64 `json:"distance_m"`
	Revision              int64
}

func (k kept) origin() string { return catalog.OriginOf(*k.Session, *k.Number) }

func marksAt(t *testing.T, base, query string) []kept {
	t.Helper()
	r, err := http.Get(base + "/api/marks" + query)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	var list struct{ Marks []kept }
	if err := json.NewDecoder(r.Body).Decode(&list); err != nil || r.StatusCode != 200 {
		t.Fatalf("marks: %d, %v", r.StatusCode, err)
	}
	return list.Marks
}

func postTo(t *testing.T, url, body string) (status int, answer string) {
	t.Helper()
	r, err := http.Post(url, "application/json", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	b, _ := io.ReadAll(r.Body)
	return r.StatusCode, string(b)
}

// A mark that was left in one session is there in the next, where it was left and in
// its field; one that was withdrawn is not; what is said of it in the next session is
// in that recording and holds in the one after.
func TestMarksOverSessions(t *testing.T) {
	t.Parallel()
	sc := sim.ParallelPasses(2, 60, 12, 11.5)
	first := start(t, sc, nil)
	first.goNorth()
	first.waitFor("a position", func() bool { return first.events() > 20 })
	for _, line := range []string{`{"mark":{"kind":"stone","note":"big","at":"bar"}}`, `{"mark":{"kind":"weeds","at":"bar"}}`, `{"mark":{"kind":"drain","at":[-0.0003,53.3004]}}`, `{"mark":{"undo":2}}`} {
		if status := first.say(line); status != 200 {
			t.Fatalf("%s: %d", line, status)
		}
	}
	var here []kept
	first.waitFor("two marks", func() bool { here = marksAt(t, first.base, ""); return len(here) == 2 })
	if here[0].Kind != "stone" || here[1].Kind != "drain" || *here[0].Number != 1 || *here[1].Number != 3 || here[0].Field == nil || *here[0].Field != sc.Field.Name || here[0].DistanceM == nil {
		t.Errorf("got %+v", here)
	}
	first.gnss.drop()
	first.controller.drop()
	if err := first.stop(); err != nil {
		t.Fatal(err)
	}

	again := func(of *bench) *bench {
		return startWith(t, sc, nil, func(dir string) []byte {
			if err := os.CopyFS(filepath.Join(dir, "data"), os.DirFS(filepath.Join(of.dir, "data"))); err != nil {
				t.Fatal(err)
			}
			return nil
		})
	}
	second := again(first)
	there := marksAt(t, second.base, "")
	if len(there) != 2 || there[0].origin() != here[0].origin() || *there[0].LonDeg != *here[0].LonDeg || *there[0].LatDeg != *here[0].LatDeg || there[0].Note != "big" || there[0].DistanceM != nil {
		t.Fatalf("the next session has %+v, want %+v", there, here)
	}
	// It is on the map, as one of an earlier session.
	x, y := tileOf(*there[0].LonDeg, *there[0].LatDeg, 15)
	second.waitFor("the tile of the marks", func() bool {
		r, err := http.Get(fmt.Sprintf("%s/tiles/marks/15/%d/%d.mvt", second.base, x, y))
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		body, _ := io.ReadAll(r.Body)
		return bytes.Contains(body, []byte("stone")) && bytes.Contains(body, []byte("earlier")) && bytes.Contains(body, []byte("big"))
	})
	if status, answer := postTo(t, second.base+"/api/marks/"+there[0].ID, `{"state":"done"}`); status != 200 {
		t.Fatalf("ticked off: %d %s", status, answer)
	}
	// By an operator line alone it does as well.
	if status := second.say(fmt.Sprintf(`{"mark":{"of":%q,"done":true,"by":"Driver"}}`, there[1].origin())); status != 200 {
		t.Fatalf("said: %d", status)
	}
	second.waitFor("none open", func() bool { return len(marksAt(t, second.base, "")) == 0 })
	if err := second.stop(); err != nil {
		t.Fatal(err)
	}
	lines := 0
	for _, e := range recorded(t, second.dir) {
		if strings.Contains(string(e.Line), `"of":`) {
			lines++
		}
	}
	if lines != 2 {
		t.Errorf("the recording has %d lines of marks that are done, want 2", lines)
	}

	third := again(second)
	done := marksAt(t, third.base, "?state=done")
	if len(done) != 2 || done[1].SettledBy == nil || *done[1].SettledBy != "Driver" {
		t.Errorf("got %+v, want two that are done", done)
	}
	// Without the catalogue all is there again from the recordings.
	if err := third.stop(); err != nil {
		t.Fatal(err)
	}
	for _, suffix := range []string{"", "-wal", "-shm"} {
		_ = os.Remove(filepath.Join(third.dir, "data", catalog.FileName+suffix))
	}
	fourth := again(third)
	var back []kept
	fourth.waitFor("the marks of the recordings", func() bool { back = marksAt(t, fourth.base, "?state=done"); return len(back) == 2 })
	for i := range back {
		if back[i].origin() != done[i].origin() || math.Abs(*back[i].LonDeg-*done[i].LonDeg) > 1e-12 || math.Abs(*back[i].LatDeg-*done[i].LatDeg) > 1e-12 || back[i].Kind != done[i].Kind {
			t.Errorf("got %+v, want %+v", back[i], done[i])
		}
	}
	// A correction that withdraws one is found at the next start.
	if err := fourth.stop(); err != nil {
		t.Fatal(err)
	}
	sessions, err := store.List(filepath.Join(fourth.dir, "data"))
	if err != nil {
		t.Fatal(err)
	}
	if err := correctMark(sessions[0].Parts[0].File, 3); err != nil {
		t.Fatal(err)
	}
	fifth := again(fourth)
	fifth.waitFor("the correction", func() bool {
		all := marksAt(t, fifth.base, "?state=all")
		return len(all) == 1 && all[0].Kind == "stone"
	})
}

func tileOf(lon, lat float64, zoom int) (x, y int) {
	n := math.Exp2(float64(zoom))
	return int((lon + 180) / 360 * n), int((1 - math.Asinh(math.Tan(lat*math.Pi/180))/math.Pi) / 2 * n)
}

// receiver sends the fixes of a machine that goes north to whoever dials it, until the
// test ends.
func receiver(t *testing.T) (address string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	northward(t, l)
	return "tcp://" + l.Addr().String()
}

// goNorth has the machine of a bench do so.
func (b *bench) goNorth() { northward(b.t, b.gnss.l) }

func northward(t *testing.T, l net.Listener) {
	over, ended := make(chan struct{}), make(chan struct{})
	t.Cleanup(func() { close(over); l.Close(); <-ended })
	go func() {
		defer close(ended)
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			for n := 0; err == nil; n++ {
				now := time.Now().UTC()
				at := fmt.Sprintf("53%09.6f,N,00000.010000,W", 18.01+float64(n)*0.00005) // 1.85 m/s
				gga := now.Format("GPGGA,150405.00,") + at + ",4,18,0.7,30.0,M,47.0,M,1.0,0000"
				rmc := now.Format("GPRMC,150405.00,A,") + at + ",3.6,0.0," + now.Format("020106") + ",,,R"
				_, err = fmt.Fprintf(conn, "%s\r\n%s\r\n", sentence(gga), sentence(rmc))
				select {
				case <-over:
					err = net.ErrClosed
				case <-time.After(50 * time.Millisecond):
				}
			}
			conn.Close()
		}
	}()
}

func sentence(body string) string {
	sum := byte(0)
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X", body, sum)
}

// A daemon that is killed at any instant, between the recording and the catalogue too,
// has after the next start every mark that it acknowledged, once, and each as it was
// last said to be.
func TestMarksKilled(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	config := filepath.Join(dir, "drawbar.yaml")
	if err := os.WriteFile(config, []byte("gnss:\n  source: "+receiver(t)+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	begin := func() (*exec.Cmd, string) {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), childEnv+"="+data, configEnv+"="+config)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		address, err := bufio.NewReader(out).ReadString('\n')
		if err != nil {
			t.Fatal(err)
		}
		return cmd, "http://" + strings.TrimSpace(address)
	}
	post := func(url, body string) bool {
		r, err := http.Post(url, "application/json", strings.NewReader(body))
		if err != nil {
			return false // killed
		}
		defer r.Body.Close()
		_, err = io.Copy(io.Discard, r.Body)
		return err == nil && r.StatusCode < 300
	}
	left := map[string]bool{}   // notes of marks that were acknowledged
	states := map[string]bool{} // origin: done, where that was acknowledged
	unsure := map[string]bool{} // origins of which a word was sent and not acknowledged
	rng := rand.New(rand.NewPCG(3, 4))
	for round := range kills(t) {
		cmd, base := begin()
		old := marksAt(t, base, "?state=all")
		for range 500 { // by chance before all of them came in, by chance after
			if len(old) > 0 || round == 0 {
				break
			}
			time.Sleep(10 * time.Millisecond)
			old = marksAt(t, base, "?state=all")
		}
		var killer *time.Timer
		for i := range 1000 {
			if i == 2 { // however busy the machine, something was acknowledged
				killer = time.AfterFunc(time.Duration(rng.IntN(250))*time.Millisecond, func() { _ = cmd.Process.Kill() })
			}
			note := fmt.Sprintf("%d.%d", round, i)
			if !post(base+"/api/operator", fmt.Sprintf(`{"mark":{"kind":"stone","note":%q,"at":[-0.012,53.351]}}`, note)) {
				break
			}
			left[note] = true
			if len(old) == 0 {
				continue
			}
			m, done := old[rng.IntN(len(old))], rng.IntN(2) == 0
			state := map[bool]string{true: "done", false: "open"}[done]
			if !post(base+"/api/marks/"+m.ID, `{"state":"`+state+`"}`) {
				unsure[m.origin()] = true
				break
			}
			states[m.origin()] = done
			delete(unsure, m.origin())
		}
		if killer != nil {
			killer.Stop()
		}
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		http.DefaultClient.CloseIdleConnections()
	}
	cmd, base := begin()
	t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGTERM)
		_ = cmd.Wait()
		http.DefaultClient.CloseIdleConnections()
	})
	var all []kept
	seen := map[string]int{}
	for deadline := time.Now().Add(60 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		all = marksAt(t, base, "?state=all")
		clear(seen)
		for _, m := range all {
			seen[m.Note]++
		}
		missing := slices.ContainsFunc(slices.Collect(maps.Keys(left)), func(note string) bool { return seen[note] == 0 })
		if !missing || time.Now().After(deadline) {
			break
		}
	}
	for _, m := range all {
		if want, ok := states[m.origin()]; ok && !unsure[m.origin()] && (m.State == "done") != want {
			t.Errorf("%s %s is %s, want done %v as was acknowledged last", m.origin(), m.Note, m.State, want)
		}
	}
	for note := range left {
		if seen[note] != 1 {
			t.Errorf("mark %s was acknowledged and is there %d times", note, seen[note])
		}
	}
	t.Logf("%d marks and %d states were acknowledged", len(left), len(states))
	if len(left) == 0 || len(states) == 0 {
		t.Error("too little was acknowledged: the test shows nothing")
	}
}

// correctMark withdraws a mark of a recorded session by a correction.
func correctMark(file string, number int) error {
	_, err := store.AddLater(file, []byte(fmt.Sprintf(`{"from":"2000-01-01T00:00:00Z","to":"2100-01-01T00:00:00Z","why":"a shadow","mark":{"undo":%d}}`, number)))
	return err
}
