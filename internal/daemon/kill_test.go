package daemon_test

import (
	"bufio"
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"drawbar/internal/config"
	"drawbar/internal/daemon"
	"drawbar/internal/store"
)

// childEnv makes the test binary a daemon that records into the folder it names.
const childEnv = "DRAWBAR_TEST_DAEMON"

// configEnv names the configuration of such a daemon; none where it is empty.
const configEnv = "DRAWBAR_TEST_CONFIG"

func child() int {
	file := config.Default()
	if path := os.Getenv(configEnv); path != "" {
		var err error
		if file, err = config.Load(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
	}
	file.Listen, file.Data = "127.0.0.1:0", os.Getenv(childEnv)
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	err := daemon.Run(ctx, daemon.Config{
		File: file, Log: slog.New(slog.DiscardHandler),
		Ready: func(address string) { fmt.Println(address) },
	}, nil)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// kills is how often the daemon is killed; DRAWBAR_KILLS asks for more.
func kills(t *testing.T) int {
	n, err := strconv.Atoi(os.Getenv("DRAWBAR_KILLS"))
	if err != nil {
		n = 8
	}
	if testing.Short() {
		n = 2
	}
	return n
}

// A daemon that is killed at any instant has on the disk every line that it
// acknowledged; the next start and the mending keep them.
func TestKilled(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	var acknowledged []string
	rng := rand.New(rand.NewPCG(1, 2))
	for round := range kills(t) {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), childEnv+"="+data)
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
		killer := time.AfterFunc(time.Duration(rng.IntN(60))*time.Millisecond, func() { _ = cmd.Process.Kill() })
		for i := range 1000 {
			line := fmt.Sprintf(`{"note":"%d.%d"}`, round, i)
			r, err := http.Post("http://"+strings.TrimSpace(address)+"/api/operator", "application/json", strings.NewReader(line))
			if err != nil {
				break // killed
			}
			r.Body.Close()
			if r.StatusCode < 300 {
				acknowledged = append(acknowledged, line)
			}
		}
		killer.Stop()
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		http.DefaultClient.CloseIdleConnections()
	}
	check := func(when string) {
		t.Helper()
		have := map[string]bool{}
		for _, e := range recorded(t, dir) {
			have[string(e.Line)] = true
		}
		for _, line := range acknowledged {
			if !have[line] {
				t.Errorf("%s: %s was acknowledged and is not there", when, line)
			}
		}
	}
	check("as it was left")
	if _, err := store.Mend(data); err != nil {
		t.Fatal(err)
	}
	check("after mending")
	t.Logf("%d lines were acknowledged", len(acknowledged))
	if len(acknowledged) == 0 {
		t.Error("nothing was acknowledged: the test shows nothing")
	}
}
