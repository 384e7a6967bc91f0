package simdir

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/plane"
	"drawbar/internal/config"
	"drawbar/internal/sim"
	"drawbar/internal/testkit"
	"drawbar/replay"

	"github.com/goccy/go-yaml"
	"github.com/google/go-cmp/cmp"
)

// TestWrite: the files of a session are what the other commands read.
func TestWrite(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "a", "b")
	sc := sim.Demo(4)
	sc.Drive.Passes = 3
	lines := 0
	truth, err := Write(dir, sc, func(time.Duration) error { lines++; return nil })
	if err != nil {
		t.Fatal(err)
	}
	f, err := config.Load(filepath.Join(dir, ConfigFile))
	if err != nil {
		t.Fatalf("the configuration is refused: %v", err)
	}
	if diff := cmp.Diff(sc.Implement, *f.Implement); diff != "" {
		t.Errorf("implement (-scenario +file):\n%s", diff)
	}
	var tanks []coverage.Tank
	for _, tank := range sc.Tanks {
		tanks = append(tanks, tank.Tank)
	}
	if diff := cmp.Diff(tanks, f.Tanks); diff != "" {
		t.Errorf("tanks (-scenario +file):\n%s", diff)
	}
	if f.Field.Name != "Mill Piece" || len(f.Field.Boundary) != 1 {
		t.Errorf("field %+v", f.Field)
	}

	// The boundary has the field's area on the plane.
	p := plane.New(sc.Field.LatDeg, sc.Field.LonDeg)
	area := 0.0
	ring := f.Field.Boundary[0][0]
	for i := range len(ring) - 1 {
		x0, y0, _ := p.Forward(ring[i].Lat(), ring[i].Lon())
		x1, y1, _ := p.Forward(ring[i+1].Lat(), ring[i+1].Lon())
		area += (x0*y1 - x1*y0) / 2
	}
	if math.Abs(area-*truth.FieldM2) > 0.1 {
		t.Errorf("boundary of %.3f m2, truth %.3f", area, *truth.FieldM2)
	}

	// The capture holds every line once.
	c, err := os.Open(filepath.Join(dir, CaptureFile))
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	r := replay.NewCaptureReader(c, CaptureFile)
	count := map[replay.Stream]int{}
	for {
		e, err := r.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		count[e.Stream]++
	}
	if count[replay.StreamGNSS] != truth.GNSS.Lines || count[replay.StreamController] != truth.Controller.Lines || count[replay.StreamOperator] != 3 {
		t.Errorf("capture has %v lines, truth %+v %+v", count, truth.GNSS, truth.Controller)
	}
	if all := count[replay.StreamGNSS] + count[replay.StreamController] + 3; all != lines {
		t.Errorf("%d lines, told of %d", all, lines)
	}

	text, err := os.ReadFile(filepath.Join(dir, TruthFile))
	if err != nil {
		t.Fatal(err)
	}
	var back sim.Truth
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(*truth, back); diff != "" {
		t.Errorf("truth (-had +file):\n%s", diff)
	}
	var raw map[string]any
	if err := json.Unmarshal(text, &raw); err != nil {
		t.Fatal(err)
	}
	if v, ok := raw["covered_m2"]; !ok || v != nil {
		t.Errorf("covered_m2 is %v, want null: it is not known", v)
	}
}

// TestConfigKeys reads every preset's configuration as plain YAML and as a
// configuration.
func TestConfigKeys(t *testing.T) {
	t.Parallel()
	for name, sc := range map[string]sim.Scenario{
		"default": sim.Default(), "meadow": sim.Meadow(1), "day": sim.Day(1), "random": sim.RandomField(3), "circle": sim.Circle(30, 12),
	} {
		text := Config(sc)
		var m map[string]any
		if err := yaml.Unmarshal(text, &m); err != nil {
			t.Errorf("%s: %v\n%s", name, err, text)
			continue
		}
		for _, key := range []string{"units", "timezone", "gnss", "controller", "implement", "tanks", "field"} {
			if m[key] == nil {
				t.Errorf("%s: no %s", name, key)
			}
		}
		_, err := config.Parse(ConfigFile, text, func(string) ([]byte, error) { return Boundary(sc.Field), nil })
		if err != nil {
			t.Errorf("%s: %v\n%s", name, err, text)
		}
	}
}

func TestWriteRefused(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Write(file, sim.Default(), nil); err == nil {
		t.Error("writing into a file was not refused")
	}
}

// TestMillPieceSession: the recorded example is what the simulator writes. Where
// it is not, write it anew with the command in its about.md and look at what
// changed.
func TestMillPieceSession(t *testing.T) {
	t.Parallel()
	if runtime.GOARCH != "amd64" {
		t.Skip("the last digits of the simulator's mathematics are those of amd64")
	}
	dir := t.TempDir()
	if _, err := Write(dir, sim.Demo(1), nil); err != nil {
		t.Fatal(err)
	}
	session := filepath.Join(testkit.ModuleRoot(t), "testdata", "sessions", "mill-piece")
	for _, name := range []string{CaptureFile, ConfigFile, BoundaryFile, TruthFile} {
		got, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(filepath.Join(session, name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s differs from the one in testdata/sessions/mill-piece", name)
		}
	}
}
