package catalog

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"drawbar/controller"
	"drawbar/replay/statement"
)

// jsonText reads JSON by its tokens, and the items of lists as trees.
type jsonText struct {
	dec  *json.Decoder
	text []byte
	to   receiver
	// Where counting stopped: the byte, its line, and the characters before it there.
	at, line, past int
}

// errRead ends the reading of a text with more faults than anybody reads.
var errRead = errors.New("too many faults")

func tooMany(key string, line, col int) statement.Fault {
	return statement.Fault{Problem: controller.Problem{Path: key, Got: fmt.Sprintf("more than %d items", maxItems), Want: "a catalogue of one farm"}, Line: line, Col: col}
}

func readJSON(text []byte, to receiver) {
	j := &jsonText{dec: json.NewDecoder(bytes.NewReader(text)), text: text, to: to, line: 1}
	if err := j.object(); err != nil && !errors.Is(err, errRead) {
		var fault statement.Fault
		if !errors.As(err, &fault) {
			fault = j.fault(err)
		}
		to.faults().Put(fault)
	}
}

// place is where a byte stands; bytes are asked for in ascending order.
func (j *jsonText) place(at int) (line, col int) {
	for ; j.at < at; j.at++ {
		switch c := j.text[j.at]; {
		case c == '\n':
			j.line++
			j.past = 0
		case utf8.RuneStart(c):
			j.past++
		}
	}
	return j.line, j.past + 1
}

// next is the byte at which the next token begins.
func (j *jsonText) next() int {
	at := int(j.dec.InputOffset())
	for at < len(j.text) && strings.IndexByte(" \t\r\n,:", j.text[at]) >= 0 {
		at++
	}
	return at
}

func (j *jsonText) fault(err error) statement.Fault {
	at := int(j.dec.InputOffset())
	got := "text that is no JSON"
	var syntax *json.SyntaxError
	switch {
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
		at, got = len(j.text), "the end of the text"
	case errors.As(err, &syntax):
		at = max(at, min(int(syntax.Offset)-1, len(j.text)))
		got += " (" + syntax.Error() + ")"
	}
	line, col := position(j.text, at)
	return statement.Fault{Problem: controller.Problem{Got: got, Want: "JSON such as {\"schema\": \"" + Schema + "\", \"fields\": []}"}, Line: line, Col: col}
}

func (j *jsonText) object() error {
	if _, err := j.dec.Token(); err != nil { // the brace
		return err
	}
	for j.dec.More() {
		if j.to.faults().More() > 0 {
			return errRead
		}
		line, col := j.place(j.next())
		t, err := j.dec.Token()
		if err != nil {
			return err
		}
		key, _ := t.(string)
		list := j.to.member(key, &statement.Node{Line: int32(line), Col: int32(col)})
		if at := j.next(); list && at < len(j.text) && j.text[at] == '[' {
			err = j.items(key)
		} else {
			err = j.one(func(n *statement.Node) { j.to.value(key, n) })
		}
		if err != nil {
			return err
		}
	}
	if _, err := j.dec.Token(); err != nil {
		return err
	}
	if at := j.next(); at < len(j.text) {
		line, col := position(j.text, at)
		return statement.Fault{Problem: controller.Problem{Got: "text after the object", Want: "one JSON object and nothing else"}, Line: line, Col: col}
	}
	return nil
}

func (j *jsonText) items(key string) error {
	if _, err := j.dec.Token(); err != nil {
		return err
	}
	for i := 0; j.dec.More(); i++ {
		if err := j.one(func(n *statement.Node) { j.to.item(key, i, n) }); err != nil {
			return err
		}
		if j.to.faults().More() > 0 {
			return errRead
		}
		if i >= maxItems {
			line, col := position(j.text, j.next())
			return tooMany(key, line, col)
		}
	}
	_, err := j.dec.Token()
	return err
}

// one reads a value, and gives it away unless it is at fault.
func (j *jsonText) one(give func(*statement.Node)) error {
	at := j.next()
	var raw json.RawMessage
	if err := j.dec.Decode(&raw); err != nil {
		return err
	}
	line, col := j.place(at)
	// Package statement reads objects; another value goes into one.
	const before, after = `{"":`, `}`
	n, err := statement.FromJSON([]byte(before + string(raw) + after))
	col -= len(before)
	var fault statement.Fault
	switch {
	case err == nil:
		shift(n, line, col)
		give(&n.Members[0].Value)
	case errors.As(err, &fault):
		putShifted(j.to.faults(), []statement.Fault{fault}, line, col)
	default:
		return err
	}
	return nil
}
