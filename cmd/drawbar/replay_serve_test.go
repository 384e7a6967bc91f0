package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math"
	"net/http"
	"os"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
)

// lockedBuffer may be read while the command writes.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// A replay that is shown answers where a live run does
// and refuses to be told anything.
func TestReplayServe(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var stdout, stderr lockedBuffer
	ended := make(chan int, 1)
	go func() {
		ended <- Run(ctx, []string{"replay", "--config", "testdata/input/mill-piece.yaml", "--serve", "--speed", "100x",
			"--listen", "127.0.0.1:0", "testdata/input/one-pass.capture"}, os.Stdin, &stdout, &stderr)
	}()
	address := ""
	found := regexp.MustCompile(`http://\S+/`)
	look(t, "the address", func() bool {
		address = found.FindString(stderr.String())
		return address != ""
	})
	var state struct {
		Operation *struct {
			Area struct {
				CoveredM2 float64 `json:"covered_m2"`
			} `json:"area"`
		} `json:"operation"`
		Recording struct {
			Recording bool `json:"recording"`
		} `json:"recording"`
	}
	look(t, "the ground", func() bool {
		r, err := http.Get(address + "api/state")
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		if r.StatusCode != http.StatusOK {
			return false
		}
		if err := json.NewDecoder(r.Body).Decode(&state); err != nil {
			t.Fatal(err)
		}
		return state.Operation != nil && state.Operation.Area.CoveredM2 > 290
	})
	if state.Recording.Recording {
		t.Error("a replay says that it records")
	}
	r, err := http.Post(address+"api/operator", "application/json", bytes.NewReader([]byte(`{"note":"x"}`)))
	if err != nil {
		t.Fatal(err)
	}
	_, _ = io.Copy(io.Discard, r.Body)
	r.Body.Close()
	if r.StatusCode != http.StatusConflict {
		t.Errorf("an operator line was answered with %d, want %d", r.StatusCode, http.StatusConflict)
	}
	http.DefaultClient.CloseIdleConnections()
	cancel()
	if code := <-ended; code != exitOK {
		t.Errorf("exit %d: %s", code, stderr.String())
	}
	if stdout.String() != "" {
		t.Errorf("printed: %s", stdout.String())
	}
}

// A shown session goes where it is sent, back and forth, and what is shown at its end
// is what its summary says.
func TestReplayServeSteered(t *testing.T) {
	t.Parallel()
	args := []string{"replay", "--config", "testdata/input/mill-piece.yaml", "testdata/input/one-pass.capture"}
	var text, errs bytes.Buffer
	if code := Run(t.Context(), append(args, "--json"), nil, &text, &errs); code != exitOK {
		t.Fatalf("replay: exit %d: %s", code, errs.String())
	}
	var want struct {
		Operations []struct {
			Area struct {
				CoveredM2 float64 `json:"covered_m2"`
			} `json:"area"`
		} `json:"operations"`
	}
	if err := json.Unmarshal(text.Bytes(), &want); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var stdout, stderr lockedBuffer
	ended := make(chan int, 1)
	go func() {
		ended <- Run(ctx, append(args, "--serve", "--speed", "0.5x", "--listen", "127.0.0.1:0"), os.Stdin, &stdout, &stderr)
	}()
	address := ""
	found := regexp.MustCompile(`http://\S+/`)
	look(t, "the address", func() bool {
		address = found.FindString(stderr.String())
		return address != ""
	})
	type shown struct {
		Replay struct {
			Start, End, At time.Time
			Speed          float64
			Playing        bool
		}
		Operation *struct {
			Area struct {
				CoveredM2 float64 `json:"covered_m2"`
			}
		}
		Tiles struct{ Revision, Work uint64 }
	}
	state := func() (s shown) {
		r, err := http.Get(address + "api/state")
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		if err := json.NewDecoder(r.Body).Decode(&s); err != nil {
			t.Fatal(err)
		}
		return s
	}
	steer := func(body string) int {
		r, err := http.Post(address+"api/replay", "application/json", strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		_, _ = io.Copy(io.Discard, r.Body)
		r.Body.Close()
		return r.StatusCode
	}
	look(t, "the start", func() bool { return !state().Replay.Start.IsZero() })
	begun := state().Replay
	end := begun.End.Format(time.RFC3339Nano)
	if code := steer(`{"at":"` + end + `","playing":false}`); code != http.StatusOK {
		t.Fatalf("to the end: status %d", code)
	}
	covered := func() float64 {
		if s := state(); s.Operation != nil {
			return s.Operation.Area.CoveredM2
		}
		return 0
	}
	all := func() bool { return math.Abs(covered()-want.Operations[0].Area.CoveredM2) <= 0.0005 } // as the summary is rounded
	look(t, "the end", all)
	if s := state(); s.Replay.Playing || !s.Replay.At.Equal(s.Replay.End) {
		t.Errorf("at the end: %+v", s.Replay)
	}
	middle := begun.Start.Add(begun.End.Sub(begun.Start) / 2)
	for _, body := range []string{`{"at":"` + middle.Format(time.RFC3339Nano) + `"}`, `{"speed":2,"playing":false}`} {
		if code := steer(body); code != http.StatusOK {
			t.Errorf("%s: status %d", body, code)
		}
	}
	look(t, "the middle", func() bool {
		v := covered()
		return v > 0 && v < 0.9*want.Operations[0].Area.CoveredM2 && state().Replay.Speed == 2
	})
	for _, body := range []string{`{"speed":0}`, `{"speed":5000}`, `{"at":"noon"}`} {
		if code := steer(body); code < 400 || code >= 500 {
			t.Errorf("%s: status %d, want it refused", body, code)
		}
	}
	if code := steer(`{"at":"` + end + `"}`); code != http.StatusOK {
		t.Errorf("to the end again: status %d", code)
	}
	look(t, "the end again", all)
	http.DefaultClient.CloseIdleConnections()
	cancel()
	if code := <-ended; code != exitOK {
		t.Errorf("exit %d: %s", code, stderr.String())
	}
}

// look looks again and again until it is so.
func look(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for range 2000 {
		if ok() {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatalf("waited in vain for %s", what)
}
