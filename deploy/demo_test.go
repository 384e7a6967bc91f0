package deploy

import (
	"context"
	"log/slog"
	"net/http"
	"testing"

	"drawbar/internal/demo"
	"drawbar/internal/sim"
)

// Every query of the dashboard gives numbers on a real Prometheus that scrapes the
// daemon at work on a simulated tractor.
func TestDashboardOnDemo(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(t.Context())
	ready, ended := make(chan string, 1), make(chan error, 1)
	go func() {
		ended <- demo.Run(ctx, demo.Options{
			Scenario: sim.Demo(1), Speed: 4, Dir: t.TempDir(), Listen: "127.0.0.1:0", Version: "test",
			Log:   slog.New(slog.DiscardHandler),
			Ready: func(address string) { ready <- address },
		})
	}()
	defer func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("the demonstration: %v", err)
		}
		http.DefaultClient.CloseIdleConnections()
	}()
	select {
	case address := <-ready:
		tryDashboard(t, startPrometheus(t, address))
	case err := <-ended:
		ended <- err
		t.Fatalf("the demonstration did not start: %v", err)
	}
}
