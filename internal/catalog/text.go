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
	"drawbar/internal/yamltree"
	"drawbar/replay/statement"
)

// Bounds of a file, far above what a farm has. Items are parsed one at a time, so
// that not the whole file stands in memory as a tree.
const (
	MaxBytes  = 64 << 20
	maxItem   = 4 << 20 // bytes of one item; a boundary has at most 50,000 positions
	maxTokens = 500_000
	maxKeys   = 10_000
	maxItems  = 20_000    // of a list
	maxLines  = 4_000_000 // of YAML
)

func itemBounds() yamltree.Bounds {
	return yamltree.Bounds{Bytes: maxItem, Tokens: maxTokens, Keys: maxKeys, What: fmt.Sprintf("one of at most %d bytes", maxItem), Like: "name: Mill Piece"}
}

// receiver takes the top members of a file: a value, or the items of a list one by
// one, each with its place in the file.
type receiver interface {
	member(key string, at *statement.Node) (list bool) // false: the value is wanted, or nothing
	value(key string, n *statement.Node)
	item(key string, i int, n *statement.Node)
	faults() *statement.Faults
}

// readText reads a file as JSON where it begins with a brace, else as YAML.
func readText(text []byte, to receiver) {
	faults := to.faults()
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if len(text) > MaxBytes {
		faults.Add(&statement.Node{Line: 1, Col: 1}, "", fmt.Sprintf("more than %d bytes", MaxBytes), "a catalogue")
		return
	}
	if i := invalidUTF8(text); i >= 0 {
		line, col := position(text, i)
		faults.Add(&statement.Node{Line: int32(line), Col: int32(col)}, "", "bytes that are no UTF-8", "text in UTF-8")
		return
	}
	if start := bytes.TrimLeft(text, " \t\r\n"); len(start) > 0 && start[0] == '{' {
		readJSON(text, to)
		return
	}
	readYAML(string(text), to)
}

func invalidUTF8(b []byte) int {
	for i := 0; i < len(b); {
		r, size := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && size <= 1 {
			return i
		}
		i += size
	}
	return -1
}

// position is the line and column, from 1, of a byte.
func position(text []byte, at int) (line, col int) {
	begin := bytes.LastIndexByte(text[:at], '\n') + 1
	return 1 + bytes.Count(text[:at], []byte("\n")), 1 + utf8.RuneCount(text[begin:at])
}

// shift moves a tree that was read from a part of a text to its place in the whole:
// the part began at line and col.
func shift(n *statement.Node, line, col int) {
	n.Line, n.Col = shifted(n.Line, n.Col, line, col)
	for i := range n.Items {
		shift(&n.Items[i], line, col)
	}
	for i := range n.Members {
		m := &n.Members[i]
		m.Line, m.Col = shifted(m.Line, m.Col, line, col)
		shift(&m.Value, line, col)
	}
}

func shifted(l, c int32, line, col int) (int32, int32) {
	if l == 0 {
		return int32(line), int32(col)
	}
	if l == 1 {
		c += int32(col) - 1
	}
	return l + int32(line) - 1, c
}

// putShifted notes faults of a part of a text at their places in the whole.
func putShifted(faults *statement.Faults, of []statement.Fault, line, col int) {
	for _, f := range of {
		l, c := shifted(int32(f.Line), int32(f.Col), line, col)
		f.Line, f.Col = int(l), int(c)
		faults.Put(f)
	}
}

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

// readYAML reads the top of a YAML file by its lines: a key stands at the begin of
// a line, and each item of its list begins with a dash, all dashes in one column.
// YAML indents whatever stands inside an item further than its dash, texts of
// several lines too, so that items can be read one at a time.
func readYAML(text string, to receiver) {
	var lines []string
	for l := range strings.Lines(text) {
		if len(lines) >= maxLines {
			to.faults().Add(&statement.Node{Line: maxLines + 1, Col: 1}, "", fmt.Sprintf("more than %d lines", maxLines), "a catalogue")
			return
		}
		lines = append(lines, l)
	}
	seen := false
	for i := 0; i < len(lines); {
		switch l := lines[i]; {
		case blank(l):
			i++
			continue
		case !seen && strings.TrimRight(l, " \t\r\n") == "---":
			i++
		case !startsKey(l):
			to.faults().Add(&statement.Node{Line: int32(i + 1), Col: 1}, "", "a line that is no key", "keys such as schema and fields at the begin of a line")
			return
		default:
			end := i + 1
			for end < len(lines) && !startsKey(lines[end]) && !document(lines[end]) {
				end++
			}
			readMember(lines[i:end], i+1, to)
			i = end
		}
		seen = true
		if to.faults().More() > 0 {
			return
		}
	}
}

// blank tells of a line with nothing or a comment alone.
func blank(l string) bool {
	l = strings.TrimLeft(l, " \t\r\n")
	return l == "" || l[0] == '#'
}

func document(l string) bool {
	return strings.HasPrefix(l, "---") || strings.HasPrefix(l, "...") || strings.HasPrefix(l, "%")
}

func startsKey(l string) bool {
	return !blank(l) && l[0] != ' ' && l[0] != '\t' && !dashed(l) && !document(l) && l[0] != ']' && l[0] != '}'
}

func dashed(l string) bool {
	rest, ok := strings.CutPrefix(strings.TrimLeft(l, " "), "-")
	return ok && strings.TrimLeft(rest, " \t\r\n") != rest || ok && rest == ""
}

// readMember reads a key with what stands below it; line is that of the key.
func readMember(lines []string, line int, to receiver) {
	first := 1 // the line of the first item
	for first < len(lines) && blank(lines[first]) {
		first++
	}
	items := first < len(lines) && dashed(lines[first])
	head := lines
	if items {
		head = lines[:first]
	}
	m, ok := pair(head, line, to.faults())
	if !ok {
		return
	}
	list := to.member(m.Key, &statement.Node{Line: m.Line, Col: m.Col})
	if items && !(list && m.Value.Kind == statement.KindNull) {
		if m, ok = pair(lines, line, to.faults()); !ok { // a text whose lines begin with dashes
			return
		}
		items = false
	}
	if !items {
		to.value(m.Key, &m.Value)
		return
	}
	indent := strings.Index(lines[first], "-")
	for i, at := 0, first; at < len(lines) && to.faults().More() == 0; i++ {
		if i >= maxItems {
			to.faults().Put(tooMany(m.Key, line+at, indent+1))
			return
		}
		end := at + 1
		for end < len(lines) && !(dashed(lines[end]) && strings.Index(lines[end], "-") <= indent) {
			end++
		}
		n, ok := parseYAML(lines[at:end], line+at, to.faults())
		switch {
		case !ok || n == nil:
		case n.Kind != statement.KindList || len(n.Items) != 1:
			to.faults().Add(n, fmt.Sprintf("%s[%d]", m.Key, i), "no item of the list", "a dash in the column of the others, and what belongs to the item indented further")
		default:
			to.item(m.Key, i, &n.Items[0])
		}
		at = end
	}
}

// pair reads lines that are one key with its value.
func pair(lines []string, line int, faults *statement.Faults) (*statement.Member, bool) {
	n, ok := parseYAML(lines, line, faults)
	if !ok {
		return nil, false
	}
	if n == nil || n.Kind != statement.KindMap || len(n.Members) != 1 {
		faults.Add(&statement.Node{Line: int32(line), Col: 1}, "", "a line that is no key", "keys such as schema and fields at the begin of a line")
		return nil, false
	}
	return &n.Members[0], true
}

// parseYAML reads some lines of a file as YAML; line is that of the first.
func parseYAML(lines []string, line int, faults *statement.Faults) (*statement.Node, bool) {
	var own statement.Faults
	n := yamltree.Read(strings.Join(lines, ""), itemBounds(), &own)
	putShifted(faults, own.List(), line, 1)
	if n != nil {
		shift(n, line, 1)
	}
	return n, own.Len() == 0
}
