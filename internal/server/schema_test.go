package server

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

// described is the OpenAPI document.
type described struct {
	doc     map[string]any
	schemas map[string]any
}

func openapi(t testing.TB) []byte {
	t.Helper()
	text, err := serverOf(t, Config{}).description()
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func description(t testing.TB) described {
	t.Helper()
	var d described
	if err := json.Unmarshal(openapi(t), &d.doc); err != nil {
		t.Fatalf("openapi.json: %v", err)
	}
	d.schemas = d.doc["components"].(map[string]any)["schemas"].(map[string]any)
	return d
}

// operation is what is described for a route, nil for nothing.
func (d described) operation(method, path string) map[string]any {
	item, _ := d.doc["paths"].(map[string]any)[path].(map[string]any)
	op, _ := item[strings.ToLower(method)].(map[string]any)
	return op
}

// content is the content described for an answer.
func (d described) content(method, path string, status int) map[string]any {
	responses, _ := d.operation(method, path)["responses"].(map[string]any)
	r, _ := responses[fmt.Sprint(status)].(map[string]any)
	c, _ := r["content"].(map[string]any)
	return c
}

// check tells where v departs from the schema: the part of JSON Schema 2020-12
// that the document uses, and an error for anything else in a schema.
func (d described) check(schema map[string]any, v any, at string) (faults []string) {
	bad := func(format string, args ...any) {
		faults = append(faults, at+": "+fmt.Sprintf(format, args...))
	}
	for key, want := range schema {
		switch key {
		case "description", "properties", "example":
			if key == "description" && strings.TrimSpace(want.(string)) == "" {
				bad("an empty description")
			}
		case "$ref":
			name := strings.TrimPrefix(want.(string), "#/components/schemas/")
			to, ok := d.schemas[name].(map[string]any)
			if !ok {
				bad("refers to %s, which is not there", name)
				continue
			}
			faults = append(faults, d.check(to, v, at)...)
		case "type":
			kinds, many := want.([]any)
			if !many {
				kinds = []any{want}
			}
			if !slices.ContainsFunc(kinds, func(k any) bool { return isKind(k.(string), v) }) {
				bad("got %T %v, want %v", v, v, want)
			}
		case "enum":
			if !slices.Contains(want.([]any), v) {
				bad("got %v, want one of %v", v, want)
			}
		case "const":
			if v != want {
				bad("got %v, want %v", v, want)
			}
		case "format":
			if text, ok := v.(string); ok && want == "date" {
				if _, err := time.Parse(time.DateOnly, text); err != nil {
					bad("got %q, want a day", text)
				}
			} else if ok && want != "binary" {
				if stamp, err := time.Parse(time.RFC3339, text); want != "date-time" || err != nil || stamp.Location() != time.UTC {
					bad("got %q, want a %v in UTC", text, want)
				}
			}
		case "minimum":
			if n, ok := v.(float64); ok && n < want.(float64) {
				bad("got %v, want at least %v", n, want)
			}
		case "maximum":
			if n, ok := v.(float64); ok && n > want.(float64) {
				bad("got %v, want at most %v", n, want)
			}
		case "exclusiveMinimum":
			if n, ok := v.(float64); ok && n <= want.(float64) {
				bad("got %v, want above %v", n, want)
			}
		case "exclusiveMaximum":
			if n, ok := v.(float64); ok && n >= want.(float64) {
				bad("got %v, want below %v", n, want)
			}
		case "items":
			list, _ := v.([]any)
			for i, item := range list {
				faults = append(faults, d.check(want.(map[string]any), item, fmt.Sprintf("%s[%d]", at, i))...)
			}
		case "contentMediaType": // of bytes
		case "minLength":
			if text, ok := v.(string); ok && len([]rune(text)) < int(want.(float64)) {
				bad("got %q, want minLength %v", text, want)
			}
		case "maxLength":
			if text, ok := v.(string); ok && len([]rune(text)) > int(want.(float64)) {
				bad("got %q, want maxLength %v", text, want)
			}
		case "minItems":
			if list, ok := v.([]any); ok && len(list) < int(want.(float64)) {
				bad("got %d items, want minItems %v", len(list), want)
			}
		case "maxItems":
			if list, ok := v.([]any); ok && len(list) > int(want.(float64)) {
				bad("got %d items, want maxItems %v", len(list), want)
			}
		case "anyOf":
			fits := slices.ContainsFunc(want.([]any), func(s any) bool { return len(d.check(s.(map[string]any), v, at)) == 0 })
			if !fits {
				bad("got %v, which fits none of %v", v, want)
			}
		case "required":
			object, ok := v.(map[string]any)
			for _, name := range want.([]any) {
				if _, has := object[name.(string)]; ok && !has {
					bad("lacks %v", name)
				}
			}
		case "additionalProperties":
			properties, _ := schema["properties"].(map[string]any)
			if open, is := want.(map[string]any); is && len(open) == 0 {
				continue // anything
			}
			object, _ := v.(map[string]any)
			for name, member := range object {
				p, known := properties[name].(map[string]any)
				if !known {
					bad("has %s, which is not described", name)
					continue
				}
				faults = append(faults, d.check(p, member, at+"."+name)...)
			}
		case "minProperties":
			if object, ok := v.(map[string]any); ok && len(object) < int(want.(float64)) {
				bad("got %d members, want at least %v", len(object), want)
			}
		default:
			bad("the schema says %q, which this check does not know", key)
		}
	}
	return faults
}

func isKind(kind string, v any) bool {
	switch v := v.(type) {
	case nil:
		return kind == "null"
	case bool:
		return kind == "boolean"
	case string:
		return kind == "string"
	case float64:
		return kind == "number" || kind == "integer" && v == float64(int64(v))
	case []any:
		return kind == "array"
	case map[string]any:
		return kind == "object"
	}
	return false
}

func TestCheckFindsDepartures(t *testing.T) {
	t.Parallel()
	d := description(t)
	// Of two members of one name the last counts.
	const machine = `{"bar":[],"sections":[],"implement_heading_deg":null,"sections_metered":[],"antenna":null,"sections_m":[],"operation_width_m":null,"heading_deg":%}`
	for _, c := range []struct{ schema, json, want string }{
		{"Health", `{"status":"fine","age_s":null,"error":null}`, "want one of"},
		{"Health", `{"status":"ok","age_s":-1,"error":null}`, "at least 0"},
		{"Sessions", `{"sessions":[{"name":"a","start":"noon","end":null,"bytes":0.5,"state":"closed"}]}`, "date-time"},
		{"Sessions", `{"sessions":[{"name":"a","start":null,"end":null,"bytes":0.5,"state":"closed"}]}`, "[0].bytes"},
		{"Machine", strings.Replace(machine, "%", `360`, 1), "below 360"},
		{"Machine", strings.Replace(machine, "%", `0,"bar":[[1]]`, 1), "minItems"},
		{"Machine", strings.Replace(machine, "%", `0,"bar":[[1,2,3]]`, 1), "maxItems"},
		{"Machine", strings.Replace(machine, "%", `0,"sections":["open"]`, 1), "want one of"},
		{"Machine", strings.Replace(machine, "%", `0`, 1), ""},
	} {
		var v any
		if err := json.Unmarshal([]byte(c.json), &v); err != nil {
			t.Fatal(err)
		}
		got := strings.Join(d.check(d.schemas[c.schema].(map[string]any), v, c.schema), "; ")
		if c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s %s: got %q, want %q", c.schema, c.json, got, c.want)
		}
	}
}
