package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"regexp"
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
