package config

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"drawbar/internal/yamltree"
	"drawbar/replay/statement"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// What a person states is the same in JSON, in the flow style of YAML and in its
// block style.
func TestJSONAndYAMLAgree(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		want := drawMap(t, 3)
		text := flow(want)
		fromJSON, err := statement.FromJSON([]byte(text))
		if err != nil {
			t.Fatalf("JSON %s: %v", text, err)
		}
		same(t, "JSON", text, want, fromJSON)
		for style, text := range map[string]string{"flow YAML": text, "block YAML": block(want, "")} {
			var faults statement.Faults
			got := yamltree.Read(text, bounds(), &faults)
			if faults.Len() > 0 {
				t.Fatalf("%s %q: %v", style, text, faults.List())
			}
			same(t, style, text, want, got)
		}
	})
}

func same(t *rapid.T, style, text string, want, got *statement.Node) {
	t.Helper()
	places := cmp.Options{
		cmpopts.IgnoreFields(statement.Node{}, "Line", "Col"),
		cmpopts.IgnoreFields(statement.Member{}, "Line", "Col"),
		cmpopts.EquateEmpty(),
	}
	if diff := cmp.Diff(want, got, places); diff != "" {
		t.Fatalf("%s %q (-want +got):\n%s", style, text, diff)
	}
}

func drawNode(t *rapid.T, depth int) statement.Node {
	kinds := []statement.Kind{statement.KindNull, statement.KindBool, statement.KindNumber, statement.KindText, statement.KindText}
	if depth > 0 {
		kinds = append(kinds, statement.KindList, statement.KindMap, statement.KindMap)
	}
	n := statement.Node{Kind: rapid.SampledFrom(kinds).Draw(t, "kind")}
	switch n.Kind {
	case statement.KindBool:
		n.Bool = rapid.Bool().Draw(t, "bool")
	case statement.KindNumber:
		n.Text = rapid.StringMatching(`-?(0|[1-9][0-9]{0,5})(\.[0-9]{1,4})?(e-?[0-9]{1,2})?`).Draw(t, "number")
		if err := json.Unmarshal([]byte(n.Text), &n.Num); err != nil {
			t.Fatal(err)
		}
	case statement.KindText:
		n.Text = drawText(t)
	case statement.KindList:
		for range rapid.IntRange(0, 3).Draw(t, "items") {
			n.Items = append(n.Items, drawNode(t, depth-1))
		}
	case statement.KindMap:
		return *drawMap(t, depth)
	}
	return n
}

func drawMap(t *rapid.T, depth int) *statement.Node {
	n := &statement.Node{Kind: statement.KindMap}
	for i := range rapid.IntRange(1, 4).Draw(t, "members") {
		n.Members = append(n.Members, statement.Member{Key: fmt.Sprint(drawText(t), i), Value: drawNode(t, depth-1)})
	}
	return n
}

// drawText favours what a YAML reader could take for something else.
func drawText(t *rapid.T) string {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"", " ", "true", "null", "~", "12", "1e3", "- a", "a: b", "#", "&a", "*a", "!t", "é", "a\nb", "\t", "[", "}", "\\", "\"", "'", "<<", "a/b", "\u0001", "\u2028", "\U0001f33e"}),
		rapid.StringMatching(`[a-z_ ]{1,8}`),
	).Draw(t, "text")
}

// flow writes JSON.
func flow(n *statement.Node) string {
	switch n.Kind {
	case statement.KindNull:
		return "null"
	case statement.KindBool:
		return fmt.Sprint(n.Bool)
	case statement.KindNumber:
		return n.Text
	case statement.KindText:
		return quote(n.Text)
	case statement.KindList:
		parts := make([]string, len(n.Items))
		for i := range n.Items {
			parts[i] = flow(&n.Items[i])
		}
		return "[" + strings.Join(parts, ", ") + "]"
	default:
		parts := make([]string, len(n.Members))
		for i := range n.Members {
			parts[i] = quote(n.Members[i].Key) + ": " + flow(&n.Members[i].Value)
		}
		return "{" + strings.Join(parts, ", ") + "}"
	}
}

func quote(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err)
	}
	return string(b)
}

// block writes a map in YAML's block style, lists and maps in it likewise.
func block(n *statement.Node, indent string) string {
	var b strings.Builder
	for i := range n.Members {
		b.WriteString(indent + quote(n.Members[i].Key) + ":" + below(&n.Members[i].Value, indent))
	}
	return b.String()
}

func below(n *statement.Node, indent string) string {
	switch {
	case n.Kind == statement.KindMap:
		return "\n" + block(n, indent+"  ")
	case n.Kind == statement.KindList && len(n.Items) > 0:
		var b strings.Builder
		b.WriteByte('\n')
		for i := range n.Items {
			b.WriteString(indent + "  -" + below(&n.Items[i], indent+"    "))
		}
		return b.String()
	default:
		return " " + flow(n) + "\n"
	}
}
