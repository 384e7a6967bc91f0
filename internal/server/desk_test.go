package server

import (
	"encoding/json"
	"errors"
	"math"
	"os/exec"
	"strings"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/internal/boundary"
	"drawbar/internal/live"
	"drawbar/internal/testkit"
	"drawbar/replay"
)

func decode[T any](t *testing.T, body string) (v T) {
	t.Helper()
	if err := json.Unmarshal([]byte(body), &v); err != nil {
		t.Fatalf("%v in %s", err, body)
	}
	return v
}

// answered is a plain copy of an answer with its geometry.
type answered struct {
	Fields []struct {
		Name      string
		AreaM2    *float64 `json:"area_m2"`
		DistanceM *float64 `json:"distance_m"`
		Current   bool
	}
	File     *string
	Driving  bool
	Edge     string
	OffsetM  float64 `json:"offset_m"`
	Boundary *struct {
		Type        string
		Coordinates json.RawMessage
	}
	AreaM2 *float64 `json:"area_m2"`
	Reason *string
	Error  string
}

// Fields come by their distance. That of Long Meadow, from 53.351 N 0.012 W to its
// side at 0.003 W, is the geodesic of GeodSolve (GeographicLib), which goes along the
// parallel within a millimetre over so short a way; areas are those of Planimeter.
func TestFields(t *testing.T) {
	t.Parallel()
	s := serverOf(t, Config{Fields: &desk{}, FieldsFile: "fields.geojson"})
	got := decode[answered](t, ask(s, "GET", "/api/fields", "").Body.String())
	if len(got.Fields) != 2 || *got.File != "fields.geojson" {
		t.Fatalf("got %+v", got)
	}
	here, there := got.Fields[0], got.Fields[1]
	if here.Name != "Mill Piece" || !here.Current || *here.DistanceM != 0 || there.Name != "Long Meadow" || there.Current {
		t.Errorf("got %+v", got.Fields)
	}
	geod := testkit.Tool(t, "GeodSolve")
	cmd := exec.Command(geod, "-i", "-p", "6")
	cmd.Stdin = strings.NewReader("53.351 -0.012 53.351 -0.003\n")
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var want float64
	if parts := strings.Fields(string(out)); len(parts) == 3 {
		err = json.Unmarshal([]byte(parts[2]), &want)
	}
	if err != nil || math.Abs(*there.DistanceM-want) > 0.01 {
		t.Errorf("Long Meadow is %v m away, want %v (%v)", *there.DistanceM, want, err)
	}
	far := atWork()
	far.Snapshot.Fix.LatDeg, far.Snapshot.Work.Operation = 10, nil
	var hub live.Hub
	hub.Publish(far)
	for _, f := range decode[answered](t, ask(serverOf(t, Config{Hub: &hub, Fields: &desk{}}), "GET", "/api/fields", "").Body.String()).Fields {
		if f.DistanceM != nil || f.Current {
			t.Errorf("from the other end of the world: got %+v", f)
		}
	}
}

func TestDistance(t *testing.T) {
	t.Parallel()
	field := landOf(boundary.Field{Outline: square()})
	for _, c := range []struct {
		name     string
		lat, lon float64
		want     float64 // m, by 111,300 m a degree of latitude here; within 1 %
	}{
		{"inside", 53.351, -0.012, 0}, {"north", 53.353, -0.012, 111.3}, {"south", 53.349, -0.012, 111.3},
		{"east", 53.351, -0.010, 66.5}, {"west", 53.351, -0.014, 66.5}, {"over a corner", 53.353, -0.010, 129.6},
	} {
		if got := field.distanceM(c.lat, c.lon); got == nil || math.Abs(*got-c.want) > 0.01*c.want {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

// What is kept of the fields is let go when others are known, and a field without an
// outline is nowhere.
func TestLandIsKept(t *testing.T) {
	t.Parallel()
	var c landCache
	known := (&desk{}).Known()
	first := c.of(known)
	if again := c.of(known); &again[0] != &first[0] || first[1].areaM2 == nil {
		t.Errorf("worked out twice, or without an area: %+v", again)
	}
	if other := c.of([]boundary.Field{{Name: "Long Meadow"}, {Name: "Mill Piece"}}); other[0].areaM2 != nil || other[0].distanceM(53, 0) != nil {
		t.Errorf("fields without outlines: %+v", other)
	}
	if none := c.of(nil); len(none) != 0 {
		t.Errorf("no fields: %+v", none)
	}
	if back := c.of(known); back[1].areaM2 == nil {
		t.Errorf("known again: %+v", back)
	}
}

func TestAcceptAndDecline(t *testing.T) {
	t.Parallel()
	d := &desk{}
	s := serverOf(t, Config{Fields: d})
	ask(s, "POST", "/api/fields/accept", `{"field":"Long Meadow"}`)
	ask(s, "POST", "/api/fields/decline", `{"field":"Mill Piece"}`)
	if d.accepted != "Long Meadow" || d.declined != "Mill Piece" {
		t.Errorf("accepted %q, declined %q", d.accepted, d.declined)
	}
	w := ask(s, "POST", "/api/fields/accept", `{"field":"Nowhere"}`)
	if d.accepted != "Long Meadow" || !strings.Contains(w.Body.String(), `\"Nowhere\"`) {
		t.Errorf("a field that is not known: accepted %q, %s", d.accepted, w.Body)
	}
}

func TestDriveABoundary(t *testing.T) {
	t.Parallel()
	d := &desk{}
	s := serverOf(t, Config{Drive: d})
	post := func(body string, want int) answered {
		t.Helper()
		w := ask(s, "POST", "/api/boundary/drive", body)
		if w.Code != want {
			t.Fatalf("%s: got %d %s", body, w.Code, w.Body)
		}
		return decode[answered](t, w.Body.String())
	}
	for i, edge := range []string{"bar_left", "bar_right", "antenna"} {
		got := post(`{"action":"start","edge":"`+edge+`","offset_m":-0.5}`, 200)
		if !got.Driving || got.Edge != edge || d.drive.Edge != coverage.Edge(i) || got.OffsetM != -0.5 || got.Boundary != nil || !strings.Contains(*got.Reason, "nothing has been driven") {
			t.Errorf("%s: got %+v, drives %v", edge, got, d.drive.Edge)
		}
	}
	d.drive.Path, d.drive.GapM, d.drive.LengthM = [][2]float64{{-0.013, 53.35}, {-0.012, 53.35}}, 66.4, 66.4
	got := decode[answered](t, ask(s, "GET", "/api/boundary/drive", "").Body.String())
	if got.Boundary.Type != "LineString" || string(got.Boundary.Coordinates) != `[[-0.013,53.35],[-0.012,53.35]]` || !strings.Contains(*got.Reason, "66 m away") {
		t.Errorf("half way: got %+v %s", got, got.Boundary.Coordinates)
	}
	d.drive.Closed = true
	if got = decode[answered](t, ask(s, "GET", "/api/boundary/drive", "").Body.String()); got.Reason != nil {
		t.Errorf("closed: got %q", *got.Reason)
	}
	d.err = errors.New("the line crosses itself: drive round the field once")
	if got := post(`{"action":"stop"}`, 409); got.Error != d.err.Error() || !d.drive.Driving {
		t.Errorf("it cannot be stopped: got %+v, driving %v", got, d.drive.Driving)
	}
	d.err = nil
	got = post(`{"action":"stop"}`, 200)
	if got.Driving || got.Boundary.Type != "MultiPolygon" || got.AreaM2 == nil || got.Reason != nil {
		t.Errorf("stopped: got %+v", got)
	}
	// What was driven is a boundary that can be stated.
	said := &heard{}
	line, err := json.Marshal(map[string]any{"boundary": got.Boundary})
	if err != nil {
		t.Fatal(err)
	}
	text := strings.NewReplacer(`"Type"`, `"type"`, `"Coordinates"`, `"coordinates"`).Replace(string(line))
	if w := ask(serverOf(t, Config{Operator: said}), "POST", "/api/operator", text); w.Code != 200 || len(said.lines) != 1 {
		t.Errorf("stated: got %d %s", w.Code, w.Body)
	}
	if got = post(`{"action":"cancel"}`, 200); got.Boundary != nil {
		t.Errorf("cancelled: got %+v", got)
	}
	for _, bad := range []string{`{"action":"start","edge":"wheel"}`, `{"action":"fly"}`, `{}`, `{"action":"stop","more":1}`, `[]`} {
		post(bad, 422)
	}
}

func TestOutlineOfWork(t *testing.T) {
	t.Parallel()
	d := &desk{outline: replay.Outline(square())}
	s := serverOf(t, Config{Outline: d})
	got := decode[answered](t, ask(s, "GET", "/api/boundary/work", "").Body.String())
	if got.Boundary.Type != "MultiPolygon" || got.AreaM2 == nil || math.Abs(*got.AreaM2-29600) > 300 || got.Reason != nil { // 133 m by 223 m
		t.Errorf("got %+v", got)
	}
	d.err = errors.New("the operation has covered no ground yet")
	if got = decode[answered](t, ask(s, "GET", "/api/boundary/work", "").Body.String()); got.Boundary != nil || *got.Reason != d.err.Error() {
		t.Errorf("none: got %+v", got)
	}
}

func TestSteer(t *testing.T) {
	t.Parallel()
	d := &desk{}
	s := serverOf(t, Config{Replay: d})
	ask(s, "POST", "/api/replay", `{"at":"2026-05-14T13:05:10.5Z","playing":false}`)
	at, playing := d.steered[0].(*time.Time), d.steered[2].(*bool)
	if at == nil || !at.Equal(time.Date(2026, 5, 14, 13, 5, 10, 5e8, time.UTC)) || d.steered[1].(*float64) != nil || *playing {
		t.Errorf("steered to %v, %v, %v", at, d.steered[1], *playing)
	}
	w := ask(s, "POST", "/api/replay", `{"speed":0.05,"at":"soon"}`)
	got := decode[failureJSON](t, w.Body.String())
	members := map[string]bool{}
	for _, f := range got.Faults {
		members[f.Member] = f.Want != "" && f.Got != ""
	}
	if w.Code != 422 || !members["speed"] || !members["at"] {
		t.Errorf("got %d %+v", w.Code, got)
	}
}

func TestSeen(t *testing.T) {
	t.Parallel()
	d := &desk{}
	s := serverOf(t, Config{Alarms: d})
	ask(s, "POST", "/api/alarms/seen", `{"alarm":"tank_low","subject":"tank 1"}`)
	ask(s, "POST", "/api/alarms/seen", `{"alarm":"tank_low","subject":"tank 2"}`)
	if len(d.seen) != 1 {
		t.Errorf("acknowledged %q, want tank 1 alone", d.seen)
	}
}
