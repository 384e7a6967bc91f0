package server

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/prometheus/client_golang/prometheus"

	"drawbar/coverage"
	"drawbar/internal/access"
	"drawbar/internal/boundary"
	"drawbar/internal/live"
	"drawbar/internal/mend"
	"drawbar/internal/metrics"
	"drawbar/internal/store"
	"drawbar/internal/testkit"
	"drawbar/internal/tiles"
	"drawbar/replay"
)

// The description is kept, for the page's own types are made from it.
func TestDescriptionIsAsKept(t *testing.T) {
	t.Parallel()
	text := openapi(t)
	testkit.Golden(t, "testdata/openapi.json", text)
	if v := description(t).doc["openapi"]; v != "3.1.0" {
		t.Errorf("openapi: got %v, want 3.1.0", v)
	}
	for what, re := range map[string]string{"an address elsewhere": `https?://`, "a link of schemas": `\$schema`} {
		if found := regexp.MustCompile(re).Find(text); found != nil {
			t.Errorf("the description has %s: %s", what, found)
		}
	}
	if again := openapi(t); !bytes.Equal(again, text) {
		t.Error("a second server describes itself otherwise")
	}
}

// Every member is described or speaks for itself as an object of a described kind.
func TestEveryMemberIsDescribed(t *testing.T) {
	t.Parallel()
	plain := map[string]bool{ // that say what they are by their name
		"name": true, "kind": true, "format": true, "rate": true, "flow": true, "total": true, "level": true, "speed": true,
		"playing": true, "id": true, "role": true, "expires": true, "area_m2": true, "field": true, "tank": true, "scale": true,
		"offset": true, "columns": true, "checksum": true, "note": true, "wind_mps": true, "wind_from_deg": true,
		"temperature_c": true, "humidity_pct": true, "sources": true, "product": true,
	}
	for name, s := range description(t).schemas {
		schema := s.(map[string]any)
		if schema["description"] == nil {
			t.Errorf("%s is not described", name)
		}
		for member, m := range schema["properties"].(map[string]any) {
			if m := m.(map[string]any); m["description"] == nil && m["$ref"] == nil && !plain[member] {
				t.Errorf("%s.%s is not described", name, member)
			}
		}
	}
}

// desk is everything that the daemon does for the page, of a machine in Mill Piece.
type desk struct {
	err                error
	accepted, declined string
	drive              Drive
	outline            replay.Outline
	seen               []string
	steered            []any
}

func square() orb.MultiPolygon {
	return orb.MultiPolygon{{{{-0.013, 53.350}, {-0.011, 53.350}, {-0.011, 53.352}, {-0.013, 53.352}, {-0.013, 53.350}}}}
}

func (d *desk) Known() []boundary.Field {
	east := square()
	for i := range east[0][0] {
		east[0][0][i][0] += 0.01
	}
	return []boundary.Field{{Name: "Long Meadow", Outline: east}, {Name: "Mill Piece", Outline: square()}}
}

func (d *desk) Accept(_ context.Context, name string) error {
	d.accepted = name
	return d.err
}

func (d *desk) Decline(_ context.Context, name string) error {
	d.declined = name
	return d.err
}

func (d *desk) OutlineOfWork(context.Context) (replay.Outline, error) { return d.outline, d.err }

func (d *desk) StartDrive(_ context.Context, edge coverage.Edge, offsetM float64) error {
	if d.err == nil {
		d.drive = Drive{Driving: true, Edge: edge, OffsetM: offsetM}
	}
	return d.err
}

func (d *desk) StopDrive(context.Context) error {
	if d.err == nil {
		d.drive = Drive{Edge: d.drive.Edge, OffsetM: d.drive.OffsetM, Outline: replay.Outline(square())}
	}
	return d.err
}

func (d *desk) DropDrive(context.Context) error {
	d.drive = Drive{}
	return d.err
}

func (d *desk) Driving(context.Context) (Drive, error) { return d.drive, nil }

func (d *desk) Acknowledge(_ context.Context, kind live.Alarm, subject string) (bool, error) {
	if d.err != nil || kind != live.TankLow || subject != "tank 1" {
		return false, d.err
	}
	d.seen = append(d.seen, subject)
	return true, nil
}

func (d *desk) Steer(_ context.Context, at *time.Time, speed *float64, playing *bool) error {
	d.steered = []any{at, speed, playing}
	return d.err
}

// drawer makes one tile.
type drawer struct {
	tile tiles.Tile
	err  error
	got  tiles.Request
}

func (d *drawer) Tile(_ context.Context, r tiles.Request) (tiles.Tile, error) {
	d.got = r
	return d.tile, d.err
}

func gate(t *testing.T) *access.Gate {
	t.Helper()
	g, err := access.New(access.Config{Public: IsPageFile})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// Every operation is asked for, with every answer that this machine alone can
// bring about; answers and description agree.
func TestAnswersFitTheDescription(t *testing.T) {
	t.Parallel()
	d := description(t)
	hub := func(s *live.State) *live.Hub {
		var h live.Hub
		if s != nil {
			h.Publish(s)
		}
		return &h
	}
	closed := hub(atWork())
	closed.Close()
	stopped := atWork()
	stopped.CoreErr = "the core has stopped: a fault of the program"
	reg := prometheus.NewRegistry()
	reg.MustRegister(metrics.New(hub(atWork()), "1.2.3"))
	full := func() Config {
		desk := &desk{outline: replay.Outline(square())}
		return Config{
			Hub: hub(atWork()), Metrics: reg, Operator: &heard{mark: 3}, Sessions: twoSessions(), Fields: desk, FieldsFile: "fields.geojson", Outline: desk, Drive: desk,
			Alarms: desk, Replay: desk, Arrivals: filled(t), Tiles: &drawer{tile: tiles.Tile{Data: []byte("tile"), ETag: `"a"`}},
		}
	}
	nobody := func(s *live.State) Config { return Config{Hub: hub(s)} }
	broken := func() Config {
		c, desk := full(), &desk{err: errors.New("no space left on device")}
		c.Fields, c.Outline, c.Drive, c.Alarms, c.Replay = desk, desk, desk, desk, desk
		c.Operator, c.Sessions = &heard{refuse: desk.err}, shelf{err: errors.New("read the folder: permission denied")}
		return c
	}
	locked := func() Config {
		c := full()
		c.Access = gate(t)
		return c
	}
	marked := func(err error) Config {
		c := full()
		_, c.Marks = keptMarks(t, func([]byte) error { return err })
		return c
	}
	slow := func() Config {
		c, desk := full(), &desk{err: context.DeadlineExceeded}
		c.Fields, c.Outline, c.Drive, c.Alarms, c.Replay = desk, desk, desk, desk, desk
		return c
	}
	type exchange struct {
		name, method, path, body string
		config                   Config
		header                   []string
		want                     int
	}
	at := func(name, method, path, body string, config Config, want int, header ...string) exchange {
		return exchange{name, method, path, body, config, header, want}
	}
	device := "/api/access/devices/{id}"
	tile := "/tiles/{layer}/{z}/{x}/{y}.mvt"
	exercised := map[string]bool{}
	for _, c := range []exchange{
		at("page", "GET", "/", "", full(), 200),
		at("description", "GET", "/openapi.json", "", full(), 200),
		at("metrics", "GET", "/metrics", "", full(), 200),
		at("healthy", "GET", "/healthz", "", full(), 200),
		at("starting", "GET", "/healthz", "", nobody(nil), 503),
		at("core stopped", "GET", "/healthz", "", nobody(stopped), 503),
		at("stopping", "GET", "/healthz", "", Config{Hub: closed}, 503),
		at("state", "GET", "/api/state", "", full(), 200),
		at("state of nothing", "GET", "/api/state", "", nobody(&live.State{}), 200),
		at("no state", "GET", "/api/state", "", nobody(nil), 503),
		at("sources", "GET", "/api/sources", "", full(), 200),
		at("no sources", "GET", "/api/sources", "", nobody(&live.State{}), 200),
		at("sources not known", "GET", "/api/sources", "", nobody(nil), 503),
		at("alarms", "GET", "/api/alarms", "", full(), 200),
		at("no alarms", "GET", "/api/alarms", "", nobody(&live.State{}), 200),
		at("alarms not known", "GET", "/api/alarms", "", nobody(nil), 503),
		at("seen", "POST", "/api/alarms/seen", `{"alarm":"tank_low","subject":"tank 1"}`, full(), 200),
		at("seen, but over", "POST", "/api/alarms/seen", `{"alarm":"no_fix","subject":null}`, full(), 404),
		at("seen, no alarm", "POST", "/api/alarms/seen", `{"alarm":"frost"}`, full(), 404),
		at("seen, no words", "POST", "/api/alarms/seen", `{"alarm":7}`, full(), 422),
		at("seen in a replay", "POST", "/api/alarms/seen", `{"alarm":"no_fix"}`, Config{}, 409),
		at("seen, too slow", "POST", "/api/alarms/seen", `{"alarm":"no_fix"}`, slow(), 503),
		at("sessions", "GET", "/api/sessions", "", full(), 200),
		at("no sessions", "GET", "/api/sessions", "", Config{}, 200),
		at("sessions unreadable", "GET", "/api/sessions", "", broken(), 500),
		at("a fault of the program", "GET", "/api/sessions", "", Config{Sessions: shelf{bug: true}}, 500),
		at("events of a hub that ended", "GET", "/events", "", Config{Hub: closed}, 503),
		at("events after nonsense", "GET", "/events?work=-1", "", full(), 422),
		at("another host", "GET", "/api/state", "", full(), 403, "Host", "evil.example"),
		at("another host, others let in", "GET", "/api/state", "", locked(), 421, "Host", "evil.example"),
		at("a stranger", "GET", "/api/state", "", locked(), 401, "X-Forwarded-For", "192.0.2.7"),
		at("said", "POST", "/api/operator", `{"note":"wet in the dip"}`, full(), 200),
		at("said from elsewhere", "POST", "/api/operator", `{"note":"x"}`, full(), 403, "Origin", "http://evil.example"),
		at("nobody listens", "POST", "/api/operator", `{"note":"x"}`, Config{}, 409),
		at("nothing said", "POST", "/api/operator", "", full(), 400),
		at("too long", "POST", "/api/operator", `{"note":"`+strings.Repeat("x", maxBody)+`"}`, full(), 413),
		at("a form", "POST", "/api/operator", "note=x", full(), 415, "Content-Type", "application/x-www-form-urlencoded"),
		at("of no type", "POST", "/api/operator", `{"note":"x"}`, full(), 415, "Content-Type", ""),
		at("faults", "POST", "/api/operator", `{"fields":"x"}`, full(), 422),
		at("disk full", "POST", "/api/operator", `{"note":"x"}`, broken(), 503),
		at("fields", "GET", "/api/fields", "", full(), 200),
		at("no fields", "GET", "/api/fields", "", nobody(nil), 200),
		at("accepted", "POST", "/api/fields/accept", `{"field":"Long Meadow"}`, full(), 200),
		at("accepted, not known", "POST", "/api/fields/accept", `{"field":"Far Reach"}`, full(), 404),
		at("accepted, no name", "POST", "/api/fields/accept", `{"field":""}`, full(), 422),
		at("accepted, no JSON", "POST", "/api/fields/accept", `{"field":`, full(), 400),
		at("accepted, disk full", "POST", "/api/fields/accept", `{"field":"Long Meadow"}`, broken(), 503),
		at("accepted in a replay", "POST", "/api/fields/accept", `{"field":"Long Meadow"}`, Config{}, 409),
		at("declined", "POST", "/api/fields/decline", `{"field":"Long Meadow"}`, full(), 200),
		at("outline", "GET", "/api/boundary/work", "", full(), 200),
		at("no outline", "GET", "/api/boundary/work", "", broken(), 200),
		at("no outline in a replay", "GET", "/api/boundary/work", "", Config{}, 200),
		at("drive", "GET", "/api/boundary/drive", "", full(), 200),
		at("no drive", "GET", "/api/boundary/drive", "", Config{}, 200),
		at("start", "POST", "/api/boundary/drive", `{"action":"start","edge":"bar_left","offset_m":0.5}`, full(), 200),
		at("stop", "POST", "/api/boundary/drive", `{"action":"stop"}`, full(), 200),
		at("cancel", "POST", "/api/boundary/drive", `{"action":"cancel"}`, full(), 200),
		at("start too far off", "POST", "/api/boundary/drive", `{"action":"start","edge":"bar_left","offset_m":51}`, full(), 422),
		at("cannot stop", "POST", "/api/boundary/drive", `{"action":"stop"}`, broken(), 409),
		at("stop in a replay", "POST", "/api/boundary/drive", `{"action":"stop"}`, Config{}, 409),
		at("stop, too slow", "POST", "/api/boundary/drive", `{"action":"stop"}`, slow(), 503),
		at("arrivals", "GET", "/api/arrivals", "", full(), 200),
		at("nothing arrives", "GET", "/api/arrivals", "", Config{}, 200),
		at("arrivals, not started", "GET", "/api/arrivals", "", nobody(nil), 503),
		at("try", "POST", "/api/arrivals/try", `{"line":{"kind":"keyvalue"}}`, full(), 200),
		at("try what has faults", "POST", "/api/arrivals/try", `{"line":{"kind":"telepathy"}}`, full(), 200),
		at("try nothing", "POST", "/api/arrivals/try", `{}`, full(), 422),
		at("try in a replay", "POST", "/api/arrivals/try", `{"line":{}}`, Config{}, 409),
		at("replay", "POST", "/api/replay", `{"at":"2026-05-14T13:05:10Z","speed":8,"playing":true}`, full(), 200),
		at("replay too fast", "POST", "/api/replay", `{"speed":1e6}`, full(), 422),
		at("replay at no time", "POST", "/api/replay", `{"at":"noon"}`, full(), 422),
		at("replay that ended", "POST", "/api/replay", `{}`, broken(), 409),
		at("replay of a live run", "POST", "/api/replay", `{}`, Config{}, 409),
		at("replay too slow", "POST", "/api/replay", `{}`, slow(), 503),
		at("tile", "GET", "/tiles/swaths/16/32750/21000.mvt", "", full(), 200),
		at("no map", "GET", "/tiles/swaths/16/32750/21000.mvt", "", Config{}, 404),
		at("tile of another kind", "GET", "/tiles/swaths/16/32750/21000.png", "", full(), 404),
		at("a past session", "GET", "/past/000001-20260514T092000Z/", "", Config{Past: books{}}, 200),
		at("no past session", "GET", "/past/000002-20260514T092000Z/", "", Config{Past: books{}}, 404),
		at("no past sessions", "GET", "/past/000001-20260514T092000Z/", "", Config{}, 404),
		at("a session that is being recorded", "GET", "/past/busy/", "", Config{Past: books{}}, 409),
		at("too many past sessions", "GET", "/past/many/", "", Config{Past: books{}}, 503),
		at("no work", "GET", "/api/work", "", full(), 503),
		at("no session of work", "GET", "/api/work/x", "", full(), 503),
		at("no record", "GET", "/api/work/x/1/record", "", full(), 503),
		at("no list of what is complete", "GET", "/api/work/x/1/complete", "", full(), 503),
		at("no ground", "GET", "/api/work/x/ground", "", full(), 503),
		at("no totals", "GET", "/api/totals?by=field", "", full(), 503),
		at("no progress", "GET", "/api/progress?season=2026", "", full(), 503),
		at("page of marks", "GET", "/marks", "", full(), 200),
		at("marks", "GET", "/api/marks?near=true&state=all", "", marked(nil), 200),
		at("no marks", "GET", "/api/marks", "", Config{}, 200),
		at("marks of no state", "GET", "/api/marks?state=lost", "", marked(nil), 422),
		at("marks as GPX", "GET", "/api/marks.gpx", "", marked(nil), 200),
		at("marks as KML", "GET", "/api/marks.kml?field=Mill%20Piece", "", marked(nil), 200),
		at("marks as GeoJSON", "GET", "/api/marks.geojson", "", marked(nil), 200),
		at("marks as GPX of no state", "GET", "/api/marks.gpx?state=lost", "", marked(nil), 422),
		at("mark done", "POST", "/api/marks/"+stoneID, `{"state":"done","revision":1}`, marked(nil), 200),
		at("mark changed by another", "POST", "/api/marks/"+stoneID, `{"state":"done","revision":7}`, marked(nil), 409),
		at("no such mark", "POST", "/api/marks/a", `{"state":"done"}`, marked(nil), 404),
		at("mark without a change", "POST", "/api/marks/"+stoneID, `{}`, marked(nil), 422),
		at("mark, disk full", "POST", "/api/marks/"+stoneID, `{"state":"done"}`, marked(errors.New("no space left on device")), 503),
		at("mark in a replay", "POST", "/api/marks/"+stoneID, `{"state":"done"}`, Config{}, 409),
		at("choices", "GET", "/api/choices?field=Mill+Piece", "", farmDesk(t, nil), 200),
		at("choices without a catalogue", "GET", "/api/choices", "", full(), 200),
		at("choices of a field with a long name", "GET", "/api/choices?field="+strings.Repeat("x", 300), "", full(), 422),
		at("choices before there is anything", "GET", "/api/choices", "", nobody(nil), 200),
		at("choices, catalogue gone", "GET", "/api/choices", "", gone(t), 503),
		at("begin", "POST", "/api/begin", `{"field":"Mill Piece","person":"Driver","boundary":true}`, farmDesk(t, &heard{}), 200),
		at("begin with what there is not", "POST", "/api/begin", `{"field":"Mill Piece","plans":["x"]}`, farmDesk(t, &heard{}), 422),
		at("begin in a replay", "POST", "/api/begin", `{"field":"Mill Piece"}`, Config{}, 409),
		at("begin, disk full", "POST", "/api/begin", `{"field":"Mill Piece"}`, broken(), 503),
		at("begin, catalogue gone", "POST", "/api/begin", `{"field":"Mill Piece"}`, gone(t), 503),
		at("try to begin", "POST", "/api/begin/try", `{"field":"Mill Piece"}`, farmDesk(t, nil), 200),
		at("try to begin, no JSON", "POST", "/api/begin/try", `{`, full(), 400),
		at("a product into a tank", "POST", "/api/tanks/1/product", `{"product":"Urea 46","target":"50 kg/ha"}`, farmDesk(t, &heard{}), 200),
		at("nothing into a tank", "POST", "/api/tanks/1/product", `{}`, farmDesk(t, &heard{}), 422),
		at("a product into tank 0", "POST", "/api/tanks/0/product", `{"product":"Urea 46"}`, farmDesk(t, &heard{}), 422),
		at("a product in a replay", "POST", "/api/tanks/1/product", `{"product":"Urea 46"}`, Config{}, 409),
		at("refill", "POST", "/api/tanks/1/refill", `{"amount":"1200 kg","lot":"L-204","person":"Driver"}`, farmDesk(t, &heard{}), 200),
		at("refill with litres", "POST", "/api/tanks/1/refill", `{"level":"1200 l"}`, farmDesk(t, &heard{}), 422),
		at("refill in a replay", "POST", "/api/tanks/1/refill", `{"amount":"1200 kg"}`, Config{}, 409),
		at("refill, disk full", "POST", "/api/tanks/1/refill", `{"amount":"1200 kg"}`, broken(), 503),
		at("a product on the spot", "POST", "/api/products/quick", `{"name":"Winter rye","kind":"seed","tank":1,"rate":"80 kg/ha"}`, farmDesk(t, &heard{}), 200),
		at("a product on the spot, disk full", "POST", "/api/products/quick", `{"name":"Winter rye","kind":"seed","tank":1,"rate":"80 kg/ha"}`, farmDesk(t, &heard{refuse: errors.New("no space left on device")}), 200),
		at("a product that there is", "POST", "/api/products/quick", `{"name":"Urea 46","kind":"granular"}`, farmDesk(t, &heard{}), 422),
		at("a product without a catalogue", "POST", "/api/products/quick", `{"name":"Winter rye","kind":"seed"}`, full(), 409),
		at("a product, catalogue gone", "POST", "/api/products/quick", `{"name":"Winter rye","kind":"seed"}`, gone(t), 503),
		at("ready", "GET", "/api/ready", "", farmDesk(t, nil), 200),
		at("ready, nothing known", "GET", "/api/ready", "", nobody(nil), 200),
		at("ready, catalogue gone", "GET", "/api/ready", "", gone(t), 503),
		at("no implement", "GET", "/api/work/x/1/implement", "", full(), 503),
		at("corrections", "GET", "/api/work/S/corrections", "", Config{Mend: &menders{}}, 200),
		at("corrections of nothing", "GET", "/api/work/T/corrections", "", Config{Mend: &menders{}}, 404),
		at("corrections of a shown session", "GET", "/api/work/S/corrections", "", Config{}, 200),
		at("correct", "POST", "/api/work/S/corrections", `{"why":"x"}`, Config{Mend: &menders{}}, 200),
		at("correct nothing", "POST", "/api/work/T/corrections", `{"why":"x"}`, Config{Mend: &menders{}}, 404),
		at("correct with faults", "POST", "/api/work/S/corrections", `{"person":"x"}`, Config{Mend: &menders{err: mend.Faults{{}}}}, 422),
		at("correct, disk full", "POST", "/api/work/S/corrections", `{"why":"x"}`, Config{Mend: &menders{err: errors.New("no space left on device")}}, 503),
		at("correct a shown session", "POST", "/api/work/S/corrections", `{"why":"x"}`, Config{}, 409),
		at("preview", "POST", "/api/work/S/corrections/preview", `{"why":"x"}`, Config{Mend: &menders{}}, 200),
		at("one preview too many", "POST", "/api/work/S/corrections/preview", `{"why":"x"}`, Config{Mend: &menders{err: mend.ErrBusy}}, 503),
		at("preview of a shown session", "POST", "/api/work/S/corrections/preview", `{"why":"x"}`, Config{}, 409),
		at("undo", "POST", "/api/work/S/corrections/3/undo", `{"why":"it was right"}`, Config{Mend: &menders{}}, 200),
		at("undo without a reason", "POST", "/api/work/S/corrections/3/undo", `{}`, Config{Mend: &menders{}}, 422),
		at("undo what is not there", "POST", "/api/work/S/corrections/9/undo", `{"why":"x"}`, Config{Mend: &menders{err: store.ErrRefused}}, 409),
		at("undo of a shown session", "POST", "/api/work/S/corrections/3/undo", `{"why":"x"}`, Config{}, 409),
		at("trial", "GET", "/api/previews/a", "", Config{Mend: &menders{}}, 200),
		at("trial that is being worked out", "GET", "/api/previews/b", "", Config{Mend: &menders{}}, 200),
		at("trial that failed", "GET", "/api/previews/c", "", Config{Mend: &menders{}}, 200),
		at("no trial", "GET", "/api/previews/d", "", Config{Mend: &menders{}}, 404),
		at("joins", "GET", "/api/joins", "", Config{Mend: &menders{}}, 200),
		at("no joins", "GET", "/api/joins", "", Config{}, 200),
		at("join", "POST", "/api/joins", `{"join":[{"session":"S","at":"2026-05-14T13:05:10Z"},{"session":"S","at":"2026-05-14T15:05:10Z"}],"why":"one job"}`, Config{Mend: &menders{}}, 200),
		at("join one", "POST", "/api/joins", `{"join":[{"session":"S","at":"2026-05-14T13:05:10Z"}],"why":"one job"}`, Config{Mend: &menders{}}, 422),
		at("join in a shown session", "POST", "/api/joins", `{"join":[{"session":"S","at":"2026-05-14T13:05:10Z"},{"session":"S","at":"2026-05-14T15:05:10Z"}],"why":"one job"}`, Config{}, 409),
		at("undo a join", "POST", "/api/joins/1/undo", `{"why":"two jobs"}`, Config{Mend: &menders{}}, 200),
		at("undo no join", "POST", "/api/joins/0/undo", `{"why":"two jobs"}`, Config{Mend: &menders{}}, 422),
		at("calibration", "GET", "/api/calibration?figure=0.032&weighed=3210&metered=3105", "", Config{}, 200),
		at("calibration of nothing", "GET", "/api/calibration?figure=0.032&weighed=3210&metered=0", "", Config{}, 422),
		at("access, alone", "GET", "/api/access", "", Config{}, 200),
		at("access", "GET", "/api/access", "", locked(), 200),
		at("access of a stranger", "GET", "/api/access", "", locked(), 200, "X-Forwarded-For", "192.0.2.7"),
		at("devices, alone", "GET", "/api/access/devices", "", full(), 409),
		at("devices", "GET", "/api/access/devices", "", locked(), 200),
		at("code", "GET", "/api/access/code", "", locked(), 200),
		at("code, alone", "GET", "/api/access/code", "", full(), 409),
		at("new code", "POST", "/api/access/code", `{"role":"viewer"}`, locked(), 200),
		at("new code of a king", "POST", "/api/access/code", `{"role":"king"}`, locked(), 422),
		at("pair by a wrong code", "POST", "/api/access/pair", `{"code":"0000-0000","name":"x"}`, locked(), 403),
		at("pair by no code", "POST", "/api/access/pair", `{"code":"hello","name":"x"}`, locked(), 400),
		at("pair, alone", "POST", "/api/access/pair", `{"code":"0000-0000","name":"x"}`, full(), 409),
		at("role of nobody", "POST", "/api/access/devices/a", `{"role":"viewer"}`, locked(), 404),
		at("revoke nobody", "DELETE", "/api/access/devices/a", "", locked(), 404),
	} {
		path, _, _ := strings.Cut(c.path, "?")
		switch {
		case strings.HasPrefix(path, "/tiles/"):
			path = tile
		case strings.HasPrefix(path, "/api/access/devices/"):
			path = device
		default:
			path = d.pathOf(path)
		}
		exercised[c.method+" "+path] = true
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			header := c.header
			if c.config.Access != nil {
				header = append([]string{"Remote", "127.0.0.1:4000"}, header...)
			}
			if c.name == "healthy" { // it must have been published just now, however busy the machine
				c.config.Hub.Publish(atWork())
			}
			w := ask(serverOf(t, c.config), c.method, c.path, c.body, header...)
			if w.Code != c.want {
				t.Fatalf("%s %s: got %d, want %d: %s", c.method, c.path, w.Code, c.want, w.Body)
			}
			fits(t, d, c.method, path, w.Code, w.Header().Get("Content-Type"), w.Body.Bytes())
			if w.Header().Get("Access-Control-Allow-Origin") != "" || w.Header().Get("Content-Security-Policy") != pagePolicy {
				t.Errorf("headers: %v", w.Header())
			}
			if w.Code >= 400 && path != "/healthz" {
				var f failureJSON
				if err := json.Unmarshal(w.Body.Bytes(), &f); err != nil || f.Error == "" || f.Faults == nil {
					t.Errorf("a failure without words: %s", w.Body)
				}
			}
		})
	}
	for path, item := range d.doc["paths"].(map[string]any) {
		for method, op := range item.(map[string]any) {
			if !exercised[strings.ToUpper(method)+" "+path] && !strings.HasPrefix(path, "/api/catalog/") { // those by TestCatalog
				t.Errorf("%s %s is not asked for here", method, path)
			}
			responses := op.(map[string]any)["responses"].(map[string]any)
			for _, status := range []string{"401", "403", "421", "429", "500"} {
				if responses[status] == nil {
					t.Errorf("%s %s does not describe %s", method, path, status)
				}
			}
			if responses["default"] != nil {
				t.Errorf("%s %s has an answer of any status", method, path)
			}
		}
	}
}
