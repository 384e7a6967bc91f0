// Package simdir writes a simulated session as a folder of files that the
// other commands read: input.capture, config.yaml, boundary.geojson (where the
// field has an outline) and truth.json.
package simdir

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"drawbar/internal/sim"
	"drawbar/replay"
)

// The files of a session folder.
const (
	CaptureFile  = "input.capture"
	ConfigFile   = "config.yaml"
	BoundaryFile = "boundary.geojson"
	TruthFile    = "truth.json"
)

// Write runs the scenario into dir, which is made if it is not there. Lines go
// to disk as they are made. Files that stand there are replaced. each, if not
// nil, is called before every line with its time from the start, on the
// session's clock; an error of it ends the work.
func Write(dir string, sc sim.Scenario, each func(fromStart time.Duration) error) (*sim.Truth, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("make the session folder: %w", err)
	}
	truth, err := writeCapture(filepath.Join(dir, CaptureFile), sc, each)
	if err != nil {
		return nil, err
	}
	text, err := json.MarshalIndent(truth, "", " ")
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", TruthFile, err)
	}
	files := []struct {
		name string
		text []byte
	}{
		{TruthFile, append(text, '\n')},
		{ConfigFile, Config(sc)},
	}
	if len(sc.Field.Outline) > 0 {
		files = append(files, struct {
			name string
			text []byte
		}{BoundaryFile, Boundary(sc.Field)})
	}
	for _, f := range files {
		if err := os.WriteFile(filepath.Join(dir, f.name), f.text, 0o644); err != nil {
			return nil, fmt.Errorf("write the session: %w", err)
		}
	}
	return truth, nil
}

// writeCapture streams the lines into a file.
func writeCapture(path string, sc sim.Scenario, each func(time.Duration) error) (truth *sim.Truth, err error) {
	f, err := os.Create(path)
	if err != nil {
		return nil, fmt.Errorf("write the session: %w", err)
	}
	defer func() {
		if e := f.Close(); err == nil && e != nil {
			err = fmt.Errorf("write the session: %w", e)
		}
	}()
	w := bufio.NewWriterSize(f, 1<<18)
	var buf []byte
	truth, err = sim.Run(sc, func(at time.Time, stream string, line []byte) error {
		if each != nil {
			if err := each(at.Sub(sc.Start)); err != nil {
				return err
			}
		}
		buf = replay.AppendCapture(buf[:0], replay.Event{At: at, Stream: streamOf(stream), Line: line})
		_, err := w.Write(buf)
		return err
	})
	if err != nil {
		return nil, err
	}
	if err := w.Flush(); err != nil {
		return nil, fmt.Errorf("write the session: %w", err)
	}
	return truth, nil
}

func streamOf(name string) replay.Stream {
	switch name {
	case sim.StreamController:
		return replay.StreamController
	case sim.StreamOperator:
		return replay.StreamOperator
	default:
		return replay.StreamGNSS
	}
}
