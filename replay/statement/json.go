package statement

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"unicode/utf8"

	"drawbar/controller"
)

// FromJSON reads one JSON object (RFC 8259) and nothing after it. Refused: a
// key that stands twice, text that is not UTF-8, and anything beyond MaxBytes,
// MaxDepth and MaxNodes. The error is a Fault.
func FromJSON(b []byte) (*Node, error) {
	if len(b) > MaxBytes {
		return nil, syntax(1, 1, fmt.Sprintf("%d bytes of JSON", len(b)), fmt.Sprintf("at most %d", MaxBytes))
	}
	if !utf8.Valid(b) {
		return nil, syntax(1, 1, "bytes that are no UTF-8", "JSON in UTF-8")
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.UseNumber()
	r := &jsonReader{dec: dec, text: b, line: 1}
	var n Node
	if err := r.value(&n, 0); err != nil {
		return nil, err
	}
	if n.Kind != KindMap {
		return nil, syntax(int(n.Line), int(n.Col), describe(&n), "one JSON object in braces")
	}
	r.place()
	if r.at < len(b) {
		return nil, r.fault("text after the object", "one JSON object and nothing else")
	}
	return &n, nil
}

// jsonReader turns tokens into nodes and keeps their places.
type jsonReader struct {
	dec   *json.Decoder
	text  []byte
	at    int // bytes passed when line and begin were counted
	line  int // of at, from 1
	past  int // characters of that line before at
	nodes int
}

// fault is what stands where the reader is.
func (r *jsonReader) fault(got, want string) error { return syntax(r.line, r.col(), got, want) }

func syntax(line, col int, got, want string) error {
	return Fault{Problem: controller.Problem{Got: got, Want: want}, Line: line, Col: col}
}

func (r *jsonReader) col() int { return r.past + 1 }

// place moves to where the next token begins.
func (r *jsonReader) place() {
	end := int(r.dec.InputOffset())
	for r.at < len(r.text) {
		c := r.text[r.at]
		if r.at >= end && c != ' ' && c != '\t' && c != '\r' && c != '\n' && c != ',' && c != ':' {
			return
		}
		r.at++
		if c == '\n' {
			r.line++
			r.past = 0
		} else if utf8.RuneStart(c) {
			r.past++
		}
	}
}

func (r *jsonReader) token() (json.Token, error) {
	r.place()
	t, err := r.dec.Token()
	if err == nil {
		return t, nil
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, r.fault("the end of the text", "the JSON to go on")
	}
	return nil, r.fault("text that is no JSON ("+err.Error()+")", "JSON")
}

func (r *jsonReader) value(n *Node, depth int) error {
	t, err := r.token()
	if err != nil {
		return err
	}
	n.Line, n.Col = int32(r.line), int32(r.col())
	r.nodes++
	if r.nodes > MaxNodes {
		return r.fault("too many values", fmt.Sprintf("at most %d", MaxNodes))
	}
	switch t := t.(type) {
	case nil:
		n.Kind = KindNull
	case bool:
		n.Kind, n.Bool = KindBool, t
	case string:
		n.Kind, n.Text = KindText, t
	case json.Number:
		n.Kind, n.Text = KindNumber, t.String()
		// Beyond the range ParseFloat gives an infinity, which no member accepts.
		n.Num, _ = strconv.ParseFloat(n.Text, 64)
	case json.Delim:
		if depth >= MaxDepth {
			return r.fault("too many lists and objects inside one another", fmt.Sprintf("at most %d", MaxDepth))
		}
		if t == '[' {
			return r.list(n, depth)
		}
		return r.object(n, depth)
	}
	return nil
}

func (r *jsonReader) list(n *Node, depth int) error {
	n.Kind = KindList
	for r.dec.More() {
		n.Items = append(n.Items, Node{})
		if err := r.value(&n.Items[len(n.Items)-1], depth+1); err != nil {
			return err
		}
	}
	_, err := r.token()
	return err
}

func (r *jsonReader) object(n *Node, depth int) error {
	n.Kind = KindMap
	seen := make(map[string]bool)
	for r.dec.More() {
		t, err := r.token()
		if err != nil {
			return err
		}
		key, _ := t.(string) // the decoder lets nothing else stand there
		m := Member{Key: key, Line: int32(r.line), Col: int32(r.col())}
		if seen[key] {
			return syntax(r.line, r.col(), clip(key)+" a second time", "each key once")
		}
		seen[key] = true
		if err := r.value(&m.Value, depth+1); err != nil {
			return err
		}
		n.Members = append(n.Members, m)
	}
	_, err := r.token()
	return err
}
