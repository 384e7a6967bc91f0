package statement

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Kind is what stands at a Node.
type Kind uint8

// The kinds of a Node.
const (
	KindNull Kind = iota
	KindBool
	KindNumber
	KindText
	KindList
	KindMap
)

// Node is one value of a tree read from JSON or YAML. Line and Col are where
// it begins in its text, from 1, Col in characters; 0 = not known. A Node belongs to
// its reader and is only read here.
type Node struct {
	Text    string   // of a text; of a number the digits as they were written
	Items   []Node   // of a list
	Members []Member // of a map, in the order written, no key twice
	Num     float64  // of a number; infinite where the digits are beyond a float64, NaN for a YAML .nan
	Line    int32
	Col     int32
	Kind    Kind
	Bool    bool
}

// Member is one key of a map with its value. Line and Col are the key's.
type Member struct {
	Key   string
	Value Node
	Line  int32
	Col   int32
}

// Bounds of a tree, so that no text can make the reader take unlimited memory
// or stack.
const (
	MaxBytes = 4 << 20 // of a JSON text
	MaxDepth = 50      // lists and maps inside one another
	MaxNodes = 200_000
)

// Get is the value of key, or nil where the map has no such key or n is no map.
func (n *Node) Get(key string) *Node {
	if n == nil {
		return nil
	}
	for i := range n.Members {
		if n.Members[i].Key == key {
			return &n.Members[i].Value
		}
	}
	return nil
}

// item is the item of a list at i, or the last one; nil where there is none.
func (n *Node) item(i int) *Node {
	if n == nil || len(n.Items) == 0 {
		return nil
	}
	return &n.Items[min(i, len(n.Items)-1)]
}

// isText and isNull accept a nil Node, which is neither.
func (n *Node) isText(s string) bool { return n != nil && n.Kind == KindText && n.Text == s }

// describe says what stands at n when its kind is wrong: a text in quotes, so
// that "12" and 12 read differently.
func describe(n *Node) string {
	switch n.Kind {
	case KindNull:
		return "nothing"
	case KindBool:
		return strconv.FormatBool(n.Bool)
	case KindNumber:
		return clip(n.Text)
	case KindText:
		return "the text " + strconv.Quote(cut(n.Text))
	case KindList:
		return "a list"
	default:
		return "a group of keys"
	}
}

// value says what stands at n when its kind is right and its value is not.
func value(n *Node) string {
	if n.Kind == KindText {
		return clip(n.Text)
	}
	return describe(n)
}

// maxShown is how much of a value a fault repeats.
const maxShown = 60

// clip shows a text as it is, or quoted where it could mislead or harm a
// terminal.
func clip(s string) string {
	if s == "" {
		return "an empty text"
	}
	plain := strings.TrimSpace(s) == s && utf8.ValidString(s)
	for _, r := range s {
		plain = plain && unicode.IsPrint(r)
	}
	if !plain {
		return strconv.Quote(cut(s))
	}
	return cut(s)
}

// cut shortens a long text at a rune.
func cut(s string) string {
	if len(s) <= maxShown {
		return s
	}
	end := maxShown
	for end > 0 && !utf8.RuneStart(s[end]) {
		end--
	}
	return s[:end] + "…"
}

// Locate is the node at a path such as "columns[1].unit" below n: the nearest
// one above it where the path leads on to nothing.
func (n *Node) Locate(path string) *Node {
	for path != "" {
		var next *Node
		if path[0] == '[' {
			digits, rest, _ := strings.Cut(path[1:], "]")
			i, err := strconv.Atoi(digits)
			if err != nil || i < 0 || i >= len(n.Items) {
				return n
			}
			next, path = &n.Items[i], strings.TrimPrefix(rest, ".")
		} else {
			end := strings.IndexAny(path, ".[")
			if end < 0 {
				end = len(path)
			}
			if next = n.Get(path[:end]); next == nil {
				return n
			}
			path = strings.TrimPrefix(path[end:], ".")
		}
		n = next
	}
	return n
}
