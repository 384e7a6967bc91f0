package yamltree_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"drawbar/internal/yamltree"
	"drawbar/replay/statement"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func bounds() yamltree.Bounds {
	return yamltree.Bounds{Bytes: 1 << 20, Tokens: 5000, Keys: 500, What: "a short text", Like: "a: 1"}
}

// Each value with its place.
func TestPlaces(t *testing.T) {
	t.Parallel()
	var faults statement.Faults
	n := yamltree.Read("a: 1\nb:\n  - x: [2, {y: \"é\", z: 0x1F}]\n  - |\n    l\n", bounds(), &faults)
	if faults.Len() > 0 {
		t.Fatal(faults.List())
	}
	for _, x := range []struct {
		path      string
		line, col int32
		kind      statement.Kind
		text      string
	}{
		{"", 1, 1, statement.KindMap, ""}, {"a", 1, 4, statement.KindNumber, "1"}, {"b[0].x[0]", 3, 9, statement.KindNumber, "2"},
		{"b[0].x[1].y", 3, 16, statement.KindText, "é"}, {"b[0].x[1].z", 3, 24, statement.KindText, "0x1F"}, {"b[1]", 4, 5, statement.KindText, "l\n"},
	} {
		at := n.Locate(x.path)
		if at.Line != x.line || at.Col != x.col || at.Kind != x.kind || at.Text != x.text {
			t.Errorf("%s: got %d:%d kind %d %q, want %d:%d kind %d %q", x.path, at.Line, at.Col, at.Kind, at.Text, x.line, x.col, x.kind, x.text)
		}
	}
}

func TestFaults(t *testing.T) {
	t.Parallel()
	for _, x := range []struct{ text, want string }{
		{"a: 1\na: 2\n", `2:1: got the key "a" a second time, want each key once`},
		{"a: &x 1\n", "1:4: got a YAML anchor or alias"},
		{"a: !!int 1\n", "1:4: got a YAML tag"},
		{"a: 1\n---\nb: 2\n", "3:1: got a second document, want one document in the file"},
		{"a: [1, 2\n", "1:4: got text that is no YAML"},
		{"\tb: 1\n", "1:2: got text that is no YAML (tab character"},
		{"a: \xff\n", "1:1: got bytes that are no UTF-8"},
		{"x\na: \xff\n", "2:1: got bytes that are no UTF-8"},
		{strings.Repeat("[", 60), "1:51: got more than 5000 values or too many inside one another, want fewer"},
		{strings.Repeat("- 1\n", 6000), "got more than 5000 values"},
		{manyKeys(600), "got more than 5000 values"},
		{strings.Repeat("#", 1<<20+1), "1:1: got more than 1048576 bytes, want a short text"},
	} {
		var faults statement.Faults
		yamltree.Read(x.text, bounds(), &faults)
		if faults.Len() == 0 || !strings.Contains(faults.List()[0].Error(), x.want) {
			t.Errorf("%.40q: got %v, want %q", x.text, faults.List(), x.want)
		}
	}
}

func manyKeys(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "k%d: 1\n", i)
	}
	return b.String()
}

// tree is what a node means, without its places.
func tree(n *statement.Node) any {
	switch n.Kind {
	case statement.KindList:
		out := []any{}
		for i := range n.Items {
			out = append(out, tree(&n.Items[i]))
		}
		return out
	case statement.KindMap:
		out := map[string]any{}
		for i := range n.Members {
			out[n.Members[i].Key] = tree(&n.Members[i].Value)
		}
		return out
	case statement.KindNumber:
		return n.Num
	case statement.KindBool:
		return n.Bool
	case statement.KindNull:
		return nil
	default:
		return n.Text
	}
}

func anyValue(depth int) *rapid.Generator[any] {
	return rapid.Custom(func(t *rapid.T) any {
		switch k := rapid.IntRange(0, 6).Draw(t, "kind"); {
		case k == 0:
			return rapid.Bool().Draw(t, "bool")
		case k == 1:
			return float64(rapid.IntRange(-5000, 5000).Draw(t, "number")) / 8
		case k == 2 && depth > 0:
			return rapid.SliceOfN(anyValue(depth-1), 0, 3).Draw(t, "list")
		case k == 3 && depth > 0:
			return rapid.MapOfN(rapid.StringMatching("[a-z]{1,3}"), anyValue(depth-1), 0, 3).Draw(t, "map")
		case k == 4:
			return nil
		default:
			return rapid.StringMatching(`[ -~é]{0,12}`).Draw(t, "text")
		}
	})
}

// JSON is YAML: both readers make the same of it.
func TestReadsJSONAlike(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text, err := json.Marshal(map[string]any{"v": anyValue(3).Draw(t, "value")})
		if err != nil {
			t.Fatal(err)
		}
		var faults statement.Faults
		spaced := strings.ReplaceAll(string(text), `":`, `": `) // as YAML likes it
		want, err := statement.FromJSON([]byte(spaced))
		if err != nil {
			t.Fatal(err)
		}
		got := yamltree.Read(spaced, bounds(), &faults)
		if faults.Len() > 0 {
			t.Fatalf("%s: %v", spaced, faults.List())
		}
		if diff := cmp.Diff(tree(want), tree(got)); diff != "" {
			t.Fatalf("%s (-JSON +YAML):\n%s", spaced, diff)
		}
	})
}

// FuzzRead: any text is a tree with places in it, or has faults; never a panic.
func FuzzRead(f *testing.F) {
	for _, s := range []string{"a: 1", "- [x, {y: z}]", "a: |\n  b\n", "? a\n: b", "\"\\u00e9\": '1'", "a: &b c\nd: *b", "%YAML 1.2\n---\na", "\ufeffa:\n- - b", "a: >-\n x\n\n y"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var faults statement.Faults
		n := yamltree.Read(text, bounds(), &faults)
		lines := int32(strings.Count(text, "\n") + strings.Count(text, "\r") + 1)
		for _, fault := range faults.List() {
			if int32(fault.Line) > lines+1 {
				t.Fatalf("%q: a fault in line %d of %d: %v", text, fault.Line, lines, fault)
			}
		}
		if n != nil {
			tree(n)
		}
	})
}
