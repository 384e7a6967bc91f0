package catalog

import (
	"bytes"
	"fmt"
	"unicode/utf8"

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
