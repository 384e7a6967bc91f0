package server

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"

	"github.com/danielgtaylor/huma/v2"
)

const schemas = "#/components/schemas/"

// schemaName is the name of a type in the description: stateJSON is State.
func schemaName(t reflect.Type, hint string) string {
	return strings.ReplaceAll(huma.DefaultSchemaNamer(t, hint), "JSON", "")
}

// describe finishes the description: it adds what no operation's types name, and
// says of every member whether it can be null.
func (a *api) describe() {
	for _, t := range []reflect.Type{
		reflect.TypeFor[alarmEventJSON](), reflect.TypeFor[markEventJSON](), reflect.TypeFor[missedJSON](),
		reflect.TypeFor[workEventJSON](), reflect.TypeFor[redrawJSON](),
	} {
		a.schemaOf(t)
	}
	registry := a.huma.OpenAPI().Components.Schemas
	for name, s := range registry.Map() {
		if t := registry.TypeFromRef(schemas + name); t.PkgPath() != reflect.TypeFor[stateJSON]().PkgPath() {
			delete(registry.Map(), name) // huma's own shape of errors, which nothing here has
		} else {
			settle(s, t)
		}
	}
	for _, path := range a.huma.OpenAPI().Paths {
		for _, op := range []*huma.Operation{path.Get, path.Post, path.Put, path.Delete} {
			if op == nil {
				continue
			}
			for _, p := range op.Parameters {
				bare(p.Schema)
			}
		}
	}
}

// text is the description as it is served.
func (a *api) text() ([]byte, error) {
	text, err := json.Marshal(a.huma.OpenAPI())
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := json.Indent(&out, text, "", "  "); err != nil {
		return nil, err
	}
	out.WriteByte('\n')
	return out.Bytes(), nil
}

// settle says of the members of a struct type what huma leaves open: lists are never
// null, objects behind a pointer may be, and among the values of a member that may
// be null is null.
func settle(s *huma.Schema, t reflect.Type) {
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Name == "_" {
			s.Description = f.Tag.Get("doc")
			continue
		}
		if f.Anonymous {
			settle(s, f.Type)
			continue
		}
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		member := s.Properties[name]
		nullable := f.Type.Kind() == reflect.Pointer && (!strings.Contains(options, "omit") || f.Tag.Get("nullable") == "true")
		bare(member)
		member.Nullable = nullable && member.Ref == ""
		if nullable && member.Ref != "" {
			s.Properties[name] = &huma.Schema{Description: member.Description, AnyOf: []*huma.Schema{{Ref: member.Ref}, {Type: "null"}}}
		}
		if member.Nullable && len(member.Enum) > 0 {
			member.Enum = append(member.Enum, nil)
		}
		s.Properties[name].PrecomputeMessages()
	}
	s.PrecomputeMessages()
}

// bare takes off the sizes of numbers in memory, and null of lists.
func bare(s *huma.Schema) {
	for ; s != nil; s = s.Items {
		switch s.Type {
		case huma.TypeNumber, huma.TypeInteger:
			s.Format = ""
		case huma.TypeArray:
			s.Nullable = false
		}
	}
}

// nameJSON is a column: its number, or its name.
type nameJSON struct{}

// Schema describes it.
func (nameJSON) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{AnyOf: []*huma.Schema{{Type: huma.TypeString}, {Type: huma.TypeInteger}}}
}

// geometryJSON is a geometry of GeoJSON (RFC 7946), or null.
type geometryJSON struct{ of any }

// MarshalJSON writes it.
func (g geometryJSON) MarshalJSON() ([]byte, error) { return json.Marshal(g.of) }

// Schema describes it.
func (geometryJSON) Schema(huma.Registry) *huma.Schema {
	two := 2
	list := func(of *huma.Schema) *huma.Schema { return &huma.Schema{Type: huma.TypeArray, Items: of} }
	position := list(&huma.Schema{Type: huma.TypeNumber})
	position.MinItems, position.MaxItems = &two, &two
	geometry := func(kind string, coordinates *huma.Schema) *huma.Schema {
		return &huma.Schema{
			Type: huma.TypeObject, Required: []string{"type", "coordinates"}, AdditionalProperties: false,
			Properties: map[string]*huma.Schema{"type": {Type: huma.TypeString, Enum: []any{kind}}, "coordinates": coordinates},
		}
	}
	return &huma.Schema{AnyOf: []*huma.Schema{
		geometry("MultiPolygon", list(list(list(position)))), geometry("LineString", list(position)), {Type: "null"},
	}}
}
