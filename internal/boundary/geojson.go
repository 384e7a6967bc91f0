package boundary

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"drawbar/replay/statement"
)

// geoJSON reads a geometry, a Feature or a FeatureCollection (RFC 7946). Features
// are read one after another, so that the whole of a large file is never held as
// a tree.
func (r *reader) geoJSON(b []byte) {
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(b) {
		r.fault("", "bytes that are no UTF-8", "GeoJSON in UTF-8")
		return
	}
	top, err := topLevel(b)
	if err != nil || !top.collection {
		// One object; what is wrong with the JSON is told with its place.
		r.jsonField(b, 0, len(b), "")
		return
	}
	if top.crs != [2]int{} {
		r.jsonSystem(b, top.crs)
	}
	if !top.list {
		r.fault("features", "no list", "a list of features")
		return
	}
	if len(r.faults) > 0 {
		return
	}
	at := &linePlace{text: b, line: 1}
	for i, span := range top.features {
		if i > MaxFields || r.full {
			r.room(nil)
			return
		}
		at.to(span[0])
		r.jsonFeature(b, span, at, fmt.Sprintf("features[%d]", i))
	}
}

// jsonTop is what the outermost object of a GeoJSON text holds, as spans of it.
type jsonTop struct {
	collection bool
	list       bool // features is a list
	features   [][2]int
	crs        [2]int
}

// topLevel finds the parts of a FeatureCollection.
func topLevel(b []byte) (top jsonTop, err error) {
	d := json.NewDecoder(bytes.NewReader(b))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return top, errors.New("no object")
	}
	seen := map[string]bool{}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return top, err
		}
		key, _ := t.(string)
		if seen[key] {
			return top, errors.New("a key twice")
		}
		seen[key] = true
		if key == "features" && next(b, int(d.InputOffset())) == '[' {
			top.list = true
			if top.features, err = spans(d); err != nil {
				return top, err
			}
			continue
		}
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return top, err
		}
		switch key {
		case "type":
			var typ string
			top.collection = json.Unmarshal(raw, &typ) == nil && typ == "FeatureCollection"
		case "crs":
			end := int(d.InputOffset())
			top.crs = [2]int{end - len(raw), end}
		}
	}
	if _, err := d.Token(); err != nil {
		return top, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return top, errors.New("text after the object")
	}
	return top, nil
}

// next is the first byte of the value behind a key.
func next(b []byte, from int) byte {
	b = bytes.TrimLeft(b[from:], " \t\r\n:")
	if len(b) == 0 {
		return 0
	}
	return b[0]
}

// spans finds the items of the list that comes next, at most one more than is
// read.
func spans(d *json.Decoder) (out [][2]int, err error) {
	if _, err := d.Token(); err != nil {
		return nil, err
	}
	var raw json.RawMessage
	for d.More() {
		if err := d.Decode(&raw); err != nil {
			return nil, err
		}
		end := int(d.InputOffset())
		if len(out) <= MaxFields {
			out = append(out, [2]int{end - len(raw), end})
		}
	}
	_, err = d.Token()
	return out, err
}

// linePlace goes through a text and knows line and column.
type linePlace struct {
	text      []byte
	at        int
	line, col int // col: characters of the line before at
}

func (p *linePlace) to(at int) {
	for _, c := range p.text[p.at:at] {
		if c == '\n' {
			p.line++
			p.col = 0
		} else if utf8.RuneStart(c) {
			p.col++
		}
	}
	p.at = at
}

// moved is a fault of a part of the text that begins at p.
func (p *linePlace) moved(f statement.Fault) statement.Fault {
	if f.Line == 1 {
		f.Col += p.col
	}
	if f.Line > 0 {
		f.Line += p.line - 1
	}
	return f
}

func (r *reader) jsonFeature(b []byte, span [2]int, at *linePlace, path string) {
	n, err := statement.FromJSON(b[span[0]:span[1]])
	if err != nil {
		r.jsonFault(path, at, err)
		return
	}
	if typ := n.Get("type"); typ == nil || typ.Kind != statement.KindText || typ.Text != "Feature" {
		r.put(at.moved(placed(typ, n, path+".type", "Feature")))
		return
	}
	r.jsonNode(n, at, path)
}

// placed is the fault of a value that is another than wanted, or missing.
func placed(n, parent *statement.Node, path, want string) statement.Fault {
	var faults statement.Faults
	switch {
	case n == nil:
		faults.Add(parent, path, "nothing", want)
	case n.Kind == statement.KindText:
		faults.Add(n, path, clean(n.Text), want)
	default:
		faults.Add(n, path, "no text", want)
	}
	return faults.List()[0]
}

func (r *reader) jsonFault(path string, at *linePlace, err error) {
	var f statement.Fault
	if !errors.As(err, &f) {
		f = plain("", clean(err.Error()), "GeoJSON")
	}
	if f.Path == "" {
		f.Path = path
	}
	r.put(at.moved(f))
}

// jsonField reads one Feature or geometry that is the whole file.
func (r *reader) jsonField(b []byte, from, to int, path string) {
	at := &linePlace{text: b, line: 1}
	n, err := statement.FromJSON(b[from:to])
	if err != nil {
		r.jsonFault(path, at, err)
		return
	}
	r.jsonNode(n, at, path)
}

// jsonNode reads a Feature or a geometry.
func (r *reader) jsonNode(n *statement.Node, at *linePlace, path string) {
	var names []string
	properties := n.Get("properties")
	if properties != nil {
		for i := range properties.Members {
			names = append(names, properties.Members[i].Key)
		}
	}
	name := ""
	if i := r.attributes(names); i >= 0 {
		if v := properties.Members[i].Value; v.Kind == statement.KindText || v.Kind == statement.KindNumber {
			name = v.Text
		}
	}
	place := path
	if place == "" {
		place = "the only one"
	}
	name, ok := r.name(place, name)
	if !ok {
		return
	}
	if g := n.Get("geometry"); g != nil && g.Kind == statement.KindNull {
		return // an entry without a place (RFC 7946 section 3.2)
	}
	var faults statement.Faults
	outline, ok := statement.BoundaryFile(n, path, &faults)
	if !ok {
		for _, f := range faults.List() {
			f.Path = called(f.Path, name)
			r.put(at.moved(f))
		}
		r.more += faults.More()
		return
	}
	if r.room(outline) {
		r.take(called(place, name), name, outline)
	}
}

// jsonSystem refuses the member crs of an older collection where it is not WGS 84.
func (r *reader) jsonSystem(b []byte, span [2]int) {
	text := append(append([]byte(`{"type":"Feature","geometry":null,"crs":`), b[span[0]:span[1]]...), '}')
	n, err := statement.FromJSON(text)
	if err != nil {
		r.fault("crs", "a member that cannot be read", "none, or WGS 84")
		return
	}
	var faults statement.Faults
	statement.BoundaryFile(n, "", &faults)
	at := &linePlace{text: b, line: 1}
	at.to(span[0])
	for _, f := range faults.List() {
		if f.Path != "crs" {
			continue // of the made-up feature
		}
		f.Line, f.Col = at.line, at.col+1
		f.Want += ": export in WGS 84 (EPSG:4326)"
		r.put(f)
	}
}
