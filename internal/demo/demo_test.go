package demo_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"drawbar/internal/config"
	"drawbar/internal/demo"
	"drawbar/internal/sim"
	"drawbar/internal/store"
	"drawbar/replay"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// The whole way: simulated devices on pseudo-terminals, the daemon, the recording,
// and a replay of it with the same figures to the byte.
func TestDemo(t *testing.T) {
	t.Parallel()
	sc := sim.ParallelPasses(2, 120, 12, 11.5)
	sc.Orders = []sim.Order{{AtS: 10, JSON: `{"mark":{"kind":"stone","at":"bar"}}`}}
	dir := t.TempDir()
	var live replay.Summary
	var file config.File
	healthy := 0
	err := demo.Run(t.Context(), demo.Options{
		Scenario: sc, Speed: 60, Dir: dir, Listen: "127.0.0.1:0", Once: true, Version: "test",
		Log: slog.New(slog.DiscardHandler),
		Ready: func(address string) {
			r, err := http.Get("http://" + address + "/healthz")
			if err == nil {
				healthy = r.StatusCode
				r.Body.Close()
			}
		},
		Ended: func(f config.File, s replay.Summary) { file, live = f, s },
	})
	http.DefaultClient.CloseIdleConnections()
	if err != nil {
		t.Fatal(err)
	}
	if healthy != http.StatusOK {
		t.Errorf("/healthz answered %d", healthy)
	}
	session, err := replay.NewSession(file.Setup())
	if err != nil {
		t.Fatal(err)
	}
	feed(t, session, filepath.Join(dir, "data"))
	session.Finish()
	got, want := text(t, session.Summary()), text(t, live)
	if !bytes.Equal(got, want) {
		t.Errorf("replayed %s\n    live %s", got, want)
	}
	if op := live.Operations[0]; op.Area.GrossM2 < 2500 || op.Area.GrossM2 > 3200 || len(live.Marks) != 1 {
		t.Errorf("want about 2880 m2 and one mark: %s", want)
	}
}

func text(t *testing.T, s replay.Summary) []byte {
	t.Helper()
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func feed(t *testing.T, session *replay.Session, dir string) {
	t.Helper()
	sessions, err := store.List(dir)
	if err != nil || len(sessions) != 1 {
		t.Fatalf("sessions: %v, %v; want one", sessions, err)
	}
	for _, part := range sessions[0].Parts {
		f, err := os.Open(part.File)
		if err != nil {
			t.Fatal(err)
		}
		r := replay.NewMCAPReader(f, part.File)
		for {
			e, err := r.Next()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			session.Feed(e)
		}
		f.Close()
	}
}
