package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/internal/testkit"
	"drawbar/replay"
)

// run carries out a command line and returns what it printed.
func run(ctx context.Context, args ...string) (code int, stdout, stderr string) {
	var out, err bytes.Buffer
	code = Run(ctx, args, strings.NewReader(""), &out, &err)
	return code, out.String(), err.String()
}

// Every recorded log of the folder of real data, whatever is in it, ends in a
// summary that has the good and the bad sentences of an independent count, and
// in results that are the same when it is done again.
func TestReplayRecordedLogs(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(testkit.SharedData(t), "nmea")
	text, err := os.ReadFile(filepath.Join(dir, "counts.json"))
	if err != nil {
		t.Fatal(err)
	}
	var counts map[string]json.RawMessage
	if err := json.Unmarshal(text, &counts); err != nil {
		t.Fatal(err)
	}
	tried := 0
	for name, raw := range counts {
		var want struct {
			Valid *int `json:"sentences_valid"`
			Bad   *int `json:"sentences_bad_checksum"`
		}
		if err := json.Unmarshal(raw, &want); err != nil || want.Valid == nil || want.Bad == nil {
			continue // a remark on the counting
		}
		tried++
		path := filepath.Join(dir, name)
		code, stdout, stderr := run(t.Context(), "replay", "--json", path)
		var got replay.Summary
		if err := json.Unmarshal([]byte(stdout), &got); code != 0 || err != nil || stderr != "" {
			t.Errorf("replay %s: code %d, stderr %q, %v", name, code, stderr, err)
			continue
		}
		if got.GNSS.Sentences < *want.Valid || got.GNSS.BadChecksum < *want.Bad || got.GNSS.Sentences > *want.Valid+5 {
			t.Errorf("replay %s: %d good and %d bad sentences, an independent count has %d and %d", name, got.GNSS.Sentences, got.GNSS.BadChecksum, *want.Valid, *want.Bad)
		}
		if _, again, _ := run(t.Context(), "replay", "--json", path); again != stdout {
			t.Errorf("replay %s: not the same when done again", name)
		}
	}
	if tried < 10 {
		t.Errorf("only %d logs of %s were tried", tried, dir)
	}
}

// An interrupted replay says so and leaves no results, not even half-written.
func TestReplayInterrupted(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	out := filepath.Join(t.TempDir(), "out")
	code, stdout, stderr := run(ctx, "replay", "--speed", "1x", "--out", out, "testdata/input/one-pass.capture")
	if code != exitFailure || stdout != "" || stderr != "drawbar: interrupted; no results were written\n" {
		t.Errorf("code %d, stdout %q, stderr %q", code, stdout, stderr)
	}
	if entries, err := os.ReadDir(out); err != nil || len(entries) > 0 {
		t.Errorf("left in the folder: %v, %v", entries, err)
	}
}

type closedPipe struct{}

func (closedPipe) Write([]byte) (int, error) { return 0, errors.New("broken pipe") }

// A summary that could not be printed is no success.
func TestReplayCannotPrint(t *testing.T) {
	t.Parallel()
	var stderr bytes.Buffer
	code := Run(t.Context(), []string{"replay", "testdata/input/one-pass.nmea"}, nil, closedPipe{}, &stderr)
	if code != exitFailure || stderr.String() != "drawbar: print the summary: broken pipe\n" {
		t.Errorf("code %d, stderr %q", code, stderr.String())
	}
}

// Several files are one session: a capture cut in two at a line end gives what
// the whole gives.
func TestReplaySeveralInputs(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("testdata/input/one-pass.capture")
	if err != nil {
		t.Fatal(err)
	}
	_, want, _ := run(t.Context(), "replay", "--json", "--config", "testdata/input/mill-piece.yaml", "testdata/input/one-pass.capture")
	lines := bytes.SplitAfter(text, []byte("\n"))
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.capture"), filepath.Join(dir, "b.capture")
	for _, cut := range []int{0, 5, len(lines) / 2, len(lines)} {
		if err := errors.Join(
			os.WriteFile(a, bytes.Join(lines[:cut], nil), 0o644),
			os.WriteFile(b, bytes.Join(lines[cut:], nil), 0o644)); err != nil {
			t.Fatal(err)
		}
		code, got, stderr := run(t.Context(), "replay", "--json", "--config", "testdata/input/mill-piece.yaml", a, b)
		if code != 0 || got != want || stderr != "" {
			t.Errorf("cut after line %d: code %d, stderr %q\ngot %s\nwant %s", cut, code, stderr, got, want)
		}
	}
}

// GEOS (by shapely) finds every polygon of the results valid, every exterior
// ring counter-clockwise, nothing beyond 180 degrees, and the areas of the
// summary, which a person worked out at the head of the captures: 300 m2.
func TestReplayResultsByGEOS(t *testing.T) {
	t.Parallel()
	python := testkit.Python(t)
	for _, name := range []string{"one-pass", "date-line"} {
		out := filepath.Join(t.TempDir(), "out")
		code, _, stderr := run(t.Context(), "replay", "--config", "testdata/input/mill-piece.yaml", "--out", out, "testdata/input/"+name+".capture")
		if code != 0 {
			t.Fatalf("replay %s: %s", name, stderr)
		}
		text, err := exec.Command(python, "-c", geosScript, out).Output()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var got map[string]float64
		if err := json.Unmarshal(text, &got); err != nil {
			t.Fatalf("%s: %s: %v", name, text, err)
		}
		if got["invalid"] != 0 || got["clockwise"] != 0 || got["beyond"] != 0 {
			t.Errorf("%s: %s", name, text)
		}
		// A millimetre on each side of a bar of 12 m is 170 ppm.
		for _, layer := range []string{"swaths", "covered"} {
			if math.Abs(got[layer]-300) > 0.05 {
				t.Errorf("%s: %s come to %v m2, want 300", name, layer, got[layer])
			}
		}
	}
}

// geosScript adds up the layers in m2, by the radii of curvature of WGS 84.
const geosScript = `
import json, math, sys
from shapely.geometry import shape
def scale(lat):
    s = math.sin(math.radians(lat))
    n = 6378137 / math.sqrt(1 - 0.0066943799901413165 * s * s)
    m = n * (1 - 0.0066943799901413165) / (1 - 0.0066943799901413165 * s * s)
    return math.radians(1) ** 2 * n * math.cos(math.radians(lat)) * m
out = {"invalid": 0, "clockwise": 0, "beyond": 0}
for layer in "swaths", "covered", "overlap", "skips", "track", "marks":
    area = 0
    for f in json.load(open(sys.argv[1] + "/" + layer + ".geojson"))["features"]:
        g = shape(f["geometry"])
        out["invalid"] += not g.is_valid
        out["beyond"] += g.bounds[0] < -180 or g.bounds[2] > 180 or g.bounds[2] - g.bounds[0] > 180 and g.geom_type != "MultiPolygon" and g.geom_type != "MultiLineString"
        for p in getattr(g, "geoms", [g]):
            if p.geom_type == "Polygon":
                out["clockwise"] += not p.exterior.is_ccw
        if g.area:
            area += g.area * scale(g.centroid.y)
    out[layer] = area
print(json.dumps(out))
`
