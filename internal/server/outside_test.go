package server

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"strings"
	"testing"

	"drawbar/internal/live"
	"drawbar/internal/testkit"
	"drawbar/replay"
)

// outside checks instances against schemas of the description by the reference
// validator of JSON Schema 2020-12, the dialect of OpenAPI 3.1
// (https://spec.openapis.org/oas/v3.1.0#schema-object): python3-jsonschema.
const outside = `
import json, sys
import jsonschema
doc, instances = json.load(sys.stdin)
V = jsonschema.validators.Draft202012Validator
resolver = jsonschema.RefResolver("", doc)
for name, schema in doc["components"]["schemas"].items():
    V.check_schema(schema)
for name, instance, good in instances:
    errors = list(V(doc["components"]["schemas"][name], resolver=resolver, format_checker=jsonschema.FormatChecker()).iter_errors(instance))
    if bool(errors) == good:
        print(name, "good" if good else "bad", json.dumps(instance)[:300], [e.message for e in errors])
`

func TestOutsideValidatorAgrees(t *testing.T) {
	t.Parallel()
	python := testkit.PythonJSONSchema(t)
	d := description(t)
	instance := func(name, body string, good bool) []any {
		var v any
		if err := json.Unmarshal([]byte(body), &v); err != nil {
			t.Fatal(err)
		}
		return []any{name, v, good}
	}
	get := func(s *live.State, path string) string {
		var hub live.Hub
		hub.Publish(s)
		desk := &desk{outline: replay.Outline(square()), drive: Drive{Driving: true, Path: [][2]float64{{0, 53}, {1, 53}}}}
		c := Config{Hub: &hub, Sessions: twoSessions(), Fields: desk, Outline: desk, Drive: desk, Arrivals: filled(t)}
		return ask(serverOf(t, c), "GET", path, "").Body.String()
	}
	shown := *atWork()
	shown.Replay = &live.Replay{Start: noon, End: noon, At: noon, Speed: 8, Playing: true}
	shown.Place.Offer = &live.Offer{Field: "Long Meadow"}
	piece, err := json.Marshal(workEventJSON{First: 1, Last: 1, Pieces: []pieceJSON{wirePiece(&pieces(1)[0])}})
	if err != nil {
		t.Fatal(err)
	}
	full := get(atWork(), "/api/state")
	instances := [][]any{
		instance("State", full, true),
		instance("State", get(&live.State{}, "/api/state"), true),
		instance("Sources", get(atWork(), "/api/sources"), true),
		instance("Alarms", get(atWork(), "/api/alarms"), true),
		instance("Sessions", get(atWork(), "/api/sessions"), true),
		instance("Health", get(atWork(), "/healthz"), true),
		instance("State", get(&shown, "/api/state"), true),
		instance("Fields", get(atWork(), "/api/fields"), true),
		instance("Fields", get(&live.State{}, "/api/fields"), true),
		instance("WorkOutline", get(atWork(), "/api/boundary/work"), true),
		instance("WorkOutline", `{"boundary":null,"area_m2":null,"reason":"no work"}`, true),
		instance("WorkOutline", `{"boundary":{"type":"Point","coordinates":[0,53]},"area_m2":null,"reason":null}`, false),
		instance("Drive", get(atWork(), "/api/boundary/drive"), true),
		instance("Arrivals", get(atWork(), "/api/arrivals"), true),
		instance("Access", get(atWork(), "/api/access"), true),
		instance("WorkEvent", string(piece), true),
		instance("WorkEvent", strings.Replace(string(piece), `"rate":0.0112`, `"rate":null`, 1), true),
		instance("WorkEvent", strings.Replace(string(piece), `"tank":1`, `"tank":0`, 1), false),
		instance("WorkEvent", `{"first":1,"last":0,"pieces":[]}`, false),
		instance("State", strings.Replace(full, `"replay":null`, `"replay":{}`, 1), false),
		instance("State", strings.Replace(full, `"antenna":[`, `"antenna":[0,`, 1), false),
		instance("State", strings.Replace(full, `"fixes":100`, `"fixes":-1`, 1), false),
		instance("State", strings.Replace(full, `"quality":"rtk"`, `"quality":"best"`, 1), false),
		instance("OperatorLine", `{"mark":{"kind":"stone","at":"bar"}}`, true),
		instance("OperatorLine", `{"boundary":null}`, true),
		instance("OperatorLine", `{"mark":{"undo":3}}`, true),
		instance("OperatorLine", `{"mark":{"kind":"stone","at":"moon"}}`, false),
		instance("OperatorLine", `{}`, false),
		instance("OperatorLine", `{"feild":"x"}`, false),
	}
	input, err := json.Marshal([]any{d.doc, instances})
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-W", "ignore", "-c", outside)
	cmd.Stdin = bytes.NewReader(input)
	if out, err := cmd.CombinedOutput(); err != nil || len(out) > 0 {
		t.Errorf("the outside validator disagrees: %v\n%s", err, out)
	}
	for _, i := range instances { // and so does ours
		faults := d.check(d.schemas[i[0].(string)].(map[string]any), i[1], i[0].(string))
		if (len(faults) == 0) != i[2].(bool) {
			t.Errorf("our own check of %v: %q, want good=%v", i[0], faults, i[2])
		}
	}
}
