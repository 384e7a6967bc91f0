// Package demo shows the daemon at work without a tractor: a simulated receiver
// and rate controller write to real pseudo-terminals, from which the real daemon
// reads as from serial ports.
package demo

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"drawbar/internal/config"
	"drawbar/internal/daemon"
	"drawbar/internal/sim"
	"drawbar/internal/sim/simdir"
	"drawbar/replay"

	"github.com/creack/pty"
)

// Options are what a demonstration may be told.
type Options struct {
	Scenario sim.Scenario
	Speed    float64 // times as fast as a real day's work; at least 0.1
	Dir      string  // the configuration and the recording go here
	Listen   string  // host:port of the server; port 0: any free one
	Once     bool    // end when the work is done, instead of staying to be looked at
	Version  string
	Log      *slog.Logger
	Ready    func(address string)                       // called once the daemon runs
	Ended    func(file config.File, sum replay.Summary) // given the final figures
}

// settle is how long, by the wall's clock, the daemon is given after the last
// line before a demonstration that ends by itself stops it.
const settle = time.Second

// Run runs the demonstration until ctx ends, or until the work is done.
func Run(ctx context.Context, o Options) error {
	gnss, err := openLine()
	if err != nil {
		return err
	}
	defer gnss.close()
	controller, err := openLine()
	if err != nil {
		return err
	}
	defer controller.close()
	file, text, err := o.configure(gnss.path, controller.path)
	if err != nil {
		return err
	}

	if err := stock(ctx, file.Data, farm(o.Scenario.Field)); err != nil {
		return err
	}
	// The clock stands until the daemon is ready: no line is late from the start.
	var began atomic.Pointer[time.Time]
	now := func() time.Time {
		from := began.Load()
		if from == nil {
			return o.Scenario.Start
		}
		return o.Scenario.Start.Add(time.Duration(float64(time.Since(*from)) * o.Speed))
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ready := make(chan string, 1)
	var drive sync.WaitGroup
	var driven error
	drive.Go(func() {
		address, ok := <-ready
		if !ok {
			return
		}
		if o.Ready != nil {
			o.Ready(address)
		}
		// A line that nobody reads any more blocks its writer until it is closed.
		context.AfterFunc(ctx, func() { gnss.close(); controller.close() })
		d := driver{ctx: ctx, now: now, speed: o.Speed, gnss: gnss, controller: controller, say: "http://" + fromHere(address) + "/api/operator"}
		driven = d.run(o.Scenario)
		if o.Once {
			wait(ctx, settle)
			stop()
		}
	})
	err = daemon.Run(ctx, daemon.Config{
		File: file, Name: filepath.Join(o.Dir, simdir.ConfigFile), Text: text, Version: o.Version, Log: o.Log, Now: now,
		Ready: func(address string) {
			from := time.Now()
			began.Store(&from)
			ready <- address
		},
		Ended: func(sum replay.Summary) {
			if o.Ended != nil {
				o.Ended(file, sum)
			}
		},
	}, nil)
	stop()
	close(ready)
	drive.Wait()
	if errors.Is(driven, context.Canceled) {
		driven = nil
	}
	return errors.Join(err, driven)
}

// configure writes the configuration of the scenario with the ports in place, and
// the boundary, and reads them back.
func (o *Options) configure(gnss, controller string) (config.File, []byte, error) {
	fail := func(err error) (config.File, []byte, error) {
		return config.File{}, nil, fmt.Errorf("set up the demonstration: %w", err)
	}
	if err := os.MkdirAll(o.Dir, 0o755); err != nil {
		return fail(err)
	}
	text := simdir.ConfigFor(o.Scenario, simdir.Ports{GNSS: gnss, GNSSBaud: 38400, Controller: controller, ControllerBaud: 9600})
	path := filepath.Join(o.Dir, simdir.ConfigFile)
	for name, b := range map[string][]byte{
		path: text,
		filepath.Join(o.Dir, simdir.BoundaryFile): simdir.Boundary(o.Scenario.Field),
	} {
		if err := os.WriteFile(name, b, 0o644); err != nil {
			return fail(err)
		}
	}
	file, err := config.Load(path)
	if err != nil {
		return fail(err)
	}
	if o.Listen != "" {
		file.Listen = o.Listen
	}
	return file, text, nil
}

// fromHere is a listening address as this machine reaches it.
func fromHere(address string) string {
	if host, port, err := net.SplitHostPort(address); err == nil {
		if ip, err := netip.ParseAddr(host); err == nil && ip.IsUnspecified() {
			return net.JoinHostPort("127.0.0.1", port)
		}
	}
	return address
}

// farm is the fields of Kettle Hollow Farm, with that of the scenario.
func farm(worked sim.Field) []sim.Field {
	fields := []sim.Field{worked}
	for _, f := range []sim.Field{sim.Demo(0).Field, sim.Meadow(0).Field, sim.Day(0).Field} {
		if f.Name != worked.Name {
			fields = append(fields, f)
		}
	}
	return fields
}

// line is one pseudo-terminal: we write as the device, the daemon opens path.
type line struct {
	path   string
	device *os.File
	port   *os.File // held open, so that the line outlives whoever opens it
	once   sync.Once
}

func openLine() (*line, error) {
	device, port, err := pty.Open()
	if err != nil {
		return nil, fmt.Errorf("open a pseudo-terminal: %w", err)
	}
	l := &line{path: port.Name(), device: device, port: port}
	if err := makeRaw(port); err != nil {
		l.close()
		return nil, fmt.Errorf("set up a pseudo-terminal: %w", err)
	}
	return l, nil
}

func (l *line) close() {
	l.once.Do(func() {
		l.device.Close()
		l.port.Close()
	})
}

// driver sends the simulated lines when they are due.
type driver struct {
	ctx              context.Context
	now              func() time.Time
	speed            float64
	gnss, controller *line
	say              string
	buf              []byte
}

func (d *driver) run(sc sim.Scenario) error {
	_, err := sim.Run(sc, func(at time.Time, stream string, text []byte) error {
		if err := wait(d.ctx, time.Duration(float64(at.Sub(d.now()))/d.speed)); err != nil {
			return err
		}
		to := d.gnss
		switch stream {
		case sim.StreamOperator:
			return d.operator(text)
		case sim.StreamController:
			to = d.controller
		}
		d.buf = append(append(d.buf[:0], text...), '\r', '\n')
		if _, err := to.device.Write(d.buf); err != nil {
			if d.ctx.Err() != nil {
				return d.ctx.Err()
			}
			return fmt.Errorf("write to the simulated %s: %w", stream, err)
		}
		return nil
	})
	return err
}

// operator says what the simulated operator says, by the same way as a screen.
func (d *driver) operator(text []byte) error {
	r, err := http.NewRequestWithContext(d.ctx, http.MethodPost, d.say, bytes.NewReader(text))
	if err != nil {
		return fmt.Errorf("say as the operator: %w", err)
	}
	r.Header.Set("Content-Type", "application/json")
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		if d.ctx.Err() != nil {
			return d.ctx.Err()
		}
		return fmt.Errorf("say as the operator: %w", err)
	}
	defer answer.Body.Close()
	if answer.StatusCode >= 300 {
		return fmt.Errorf("say as the operator: the daemon answered %s", answer.Status)
	}
	return nil
}

// wait waits for d, or until ctx ends.
func wait(ctx context.Context, d time.Duration) error {
	if d <= 0 {
		return ctx.Err()
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
