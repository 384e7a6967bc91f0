package yamltree

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"drawbar/replay/statement"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Bounds keep a text from taking unlimited time or memory. The parser's cost grows
// with the square of what stands in one map, and with the depth, which is at most
// statement.MaxDepth; so the keys and the tokens are counted before it begins.
type Bounds struct {
	Bytes  int    // of the text
	Tokens int    // words, numbers, brackets, commas and colons
	Keys   int    // keys of all maps together
	What   string // the text is, "a catalogue", for the faults
	Like   string // a line of one, "name: Mill Piece", for the faults
}

// Read reads YAML into a tree. A text without a document is nil, as is one with a
// fault in its syntax.
func Read(text string, bounds Bounds, faults *statement.Faults) *statement.Node {
	top := &statement.Node{Line: 1, Col: 1}
	text = strings.TrimPrefix(text, "\ufeff")
	if len(text) > bounds.Bytes {
		faults.Add(top, "", fmt.Sprintf("more than %d bytes", bounds.Bytes), bounds.What)
		return nil
	}
	if !utf8.ValidString(text) {
		faults.Add(&statement.Node{Line: int32(1 + strings.Count(text[:validUTF8(text)], "\n")), Col: 1}, "", "bytes that are no UTF-8", "text in UTF-8")
		return nil
	}
	file, fault := parse(text, bounds)
	if fault != nil {
		faults.Put(*fault)
		return nil
	}
	var root ast.Node
	for _, doc := range file.Docs {
		if doc.Body == nil {
			continue
		}
		if _, directive := doc.Body.(*ast.DirectiveNode); directive {
			faults.Add(place(doc.Body), "", "a YAML directive", "none")
			return nil
		}
		if root != nil {
			faults.Add(place(doc.Body), "", "a second document", "one document in the file")
			return nil
		}
		root = doc.Body
	}
	if root == nil {
		return nil
	}
	n := place(root)
	convert(root, n, faults)
	return n
}

// validUTF8 is how many bytes from the start are whole characters.
func validUTF8(b string) int {
	for i := 0; i < len(b); {
		r, size := utf8.DecodeRuneInString(b[i:])
		if r == utf8.RuneError && size <= 1 {
			return i
		}
		i += size
	}
	return len(b)
}

// parse runs the YAML parser, with its bounds and its accidents kept in: a
// text that it trips over is a fault, not the end of the program.
func parse(text string, bounds Bounds) (file *ast.File, fault *statement.Fault) {
	defer func() {
		if recover() != nil {
			file, fault = nil, noYAML(1, 1, "the parser gave up", bounds.Like)
		}
	}()
	tokens := lexer.Tokenize(text)
	if t := beyond(tokens, bounds); t != nil {
		return nil, syntax(t.Position.Line, t.Position.Column, "more than "+strconv.Itoa(bounds.Tokens)+" values or too many inside one another", "fewer")
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	var located interface {
		GetMessage() string
		GetToken() *token.Token
	}
	switch {
	case err == nil:
		return file, nil
	case errors.As(err, &located) && located.GetToken() != nil:
		at := located.GetToken().Position
		return nil, noYAML(at.Line, at.Column, located.GetMessage(), bounds.Like)
	default:
		return nil, noYAML(1, 1, err.Error(), bounds.Like)
	}
}

// noYAML is the fault that the parser found.
func noYAML(line, col int, message, like string) *statement.Fault {
	want := "YAML such as " + like
	if strings.Contains(message, "character '\t'") {
		want = "spaces, not tabs, before a key"
	}
	clean := strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, message)
	return syntax(line, col, "text that is no YAML ("+clean+")", want)
}

func syntax(line, col int, got, want string) *statement.Fault {
	f := &statement.Fault{Line: line, Col: col}
	f.Got, f.Want = got, want
	return f
}

// beyond is the first token beyond the bounds, nil where all are within. The
// depth counts open brackets and the columns of open block collections.
func beyond(tokens token.Tokens, bounds Bounds) *token.Token {
	flow, keys := 0, 0
	var columns []int
	for i, t := range tokens {
		if t.Type == token.MappingValueType {
			keys++
		}
		switch t.Type {
		case token.SequenceStartType, token.MappingStartType:
			flow++
		case token.SequenceEndType, token.MappingEndType:
			flow = max(0, flow-1)
		case token.SequenceEntryType, token.MappingValueType, token.MappingKeyType:
			if flow > 0 {
				break
			}
			col := t.Position.Column
			if t.Type == token.MappingValueType && t.Prev != nil {
				col = t.Prev.Position.Column
			}
			for len(columns) > 0 && columns[len(columns)-1] >= col {
				columns = columns[:len(columns)-1]
			}
			columns = append(columns, col)
		}
		if i >= bounds.Tokens || keys > bounds.Keys || flow+len(columns) > statement.MaxDepth {
			return t
		}
	}
	return nil
}

// place is an empty node where n begins.
func place(n ast.Node) *statement.Node {
	t := n.GetToken()
	if m, ok := n.(*ast.MappingNode); ok && !m.IsFlowStyle && len(m.Values) > 0 {
		t = m.Values[0].Key.GetToken()
	}
	if t == nil || t.Position == nil {
		return &statement.Node{}
	}
	return &statement.Node{Line: int32(t.Position.Line), Col: int32(t.Position.Column)}
}

// convert fills to, which is placed, from n.
func convert(n ast.Node, to *statement.Node, faults *statement.Faults) {
	switch n := n.(type) {
	case *ast.MappingNode:
		to.Kind = statement.KindMap
		seen := make(map[string]bool, len(n.Values))
		for _, pair := range n.Values {
			member(pair, to, seen, faults)
		}
	case *ast.MappingValueNode:
		*to = *place(n.Key)
		to.Kind = statement.KindMap
		member(n, to, map[string]bool{}, faults)
	case *ast.SequenceNode:
		to.Kind = statement.KindList
		to.Items = make([]statement.Node, len(n.Values))
		for i, v := range n.Values {
			to.Items[i] = *place(v)
			convert(v, &to.Items[i], faults)
		}
	case *ast.LiteralNode:
		to.Kind, to.Text = statement.KindText, n.Value.Value
	case *ast.NullNode:
		to.Kind = statement.KindNull
	case *ast.BoolNode:
		to.Kind, to.Bool = statement.KindBool, n.Value
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.InfinityNode, *ast.NanNode:
		scalar(n, to)
	case *ast.AnchorNode, *ast.AliasNode:
		faults.Add(to, "", "a YAML anchor or alias", "the value written out (a text that begins with & or * goes in quotes)")
	case *ast.TagNode:
		faults.Add(to, "", "a YAML tag", "the value without one (a text that begins with ! goes in quotes)")
	default:
		faults.Add(to, "", "YAML of a kind that is not used here", "maps, lists, texts, numbers, true, false or null")
	}
}

func member(pair *ast.MappingValueNode, to *statement.Node, seen map[string]bool, faults *statement.Faults) {
	var key string
	at := place(pair.Key)
	switch k := pair.Key.(type) {
	case *ast.StringNode:
		key = k.Value
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.NullNode:
		key = k.GetToken().Value
	case *ast.MergeKeyNode:
		faults.Add(at, "", "a YAML merge key", "the keys written out")
		return
	default:
		faults.Add(at, "", "a key that is no plain text", "a key such as name")
		return
	}
	if seen[key] {
		faults.Add(at, "", "the key "+strconv.Quote(key)+" a second time", "each key once")
		return
	}
	seen[key] = true
	m := statement.Member{Key: key, Line: at.Line, Col: at.Col, Value: *place(pair.Value)}
	if t := pair.Value.GetToken(); t != nil && t.Type == token.ImplicitNullType {
		m.Value = *at // nothing stands there, so the key is the place
	}
	convert(pair.Value, &m.Value, faults)
	to.Members = append(to.Members, m)
}

// decimal is a number as the core schema of YAML 1.2 and as JSON write it,
// without a leading zero: 010 is ten to one reader and eight to another, so to
// this one it is a text.
var decimal = regexp.MustCompile(`^[-+]?(0|[1-9][0-9]*|[1-9][0-9]*\.[0-9]*|0?\.[0-9]+|0\.)([eE][-+]?[0-9]+)?$`)

// scalar tells a plain number from a text; the parser's own idea of a number
// differs from JSON's (1e3, 1_000, 0x10, 010).
func scalar(n ast.Node, to *statement.Node) {
	t := n.GetToken()
	s, plain := t.Value, t.Type != token.SingleQuoteType && t.Type != token.DoubleQuoteType
	if str, ok := n.(*ast.StringNode); ok {
		s = str.Value
	}
	to.Text = s
	switch n.(type) {
	case *ast.InfinityNode, *ast.NanNode:
		// No number that is used here; as a text, the fault names it.
		to.Kind = statement.KindText
		return
	}
	if plain && decimal.MatchString(s) {
		to.Kind = statement.KindNumber
		to.Num, _ = strconv.ParseFloat(s, 64)
		return
	}
	to.Kind = statement.KindText
}
