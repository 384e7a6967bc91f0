package statement_test

import (
	"strings"
	"testing"

	"drawbar/replay/statement"
)

// One object of JSON (RFC 8259) and nothing else; a refusal names its place.
func TestFromJSON(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, text, want string }{
		{"nothing", "", "1:1: got the end of the text, want the JSON to go on"},
		{"blanks", " \n ", "2:2: got the end of the text, want the JSON to go on"},
		{"a list", "[1]", "1:1: got a list, want one JSON object in braces"},
		{"a text", ` "a"`, `1:2: got the text "a", want one JSON object in braces`},
		{"null", "null", "1:1: got nothing, want one JSON object in braces"},
		{"two objects", `{"a":1} {"b":2}`, "1:9: got text after the object, want one JSON object and nothing else"},
		{"a line of text after it", "{\"a\":1}\nx", "2:1: got text after the object, want one JSON object and nothing else"},
		{"cut in a list", `{"a":[1,`, "1:9: got the end of the text, want the JSON to go on"},
		{"cut in a text", `{"a":"b`, "1:6: got the end of the text, want the JSON to go on"},
		{"cut behind a key", `{"a"`, "1:5: got the end of the text, want the JSON to go on"},
		{"a comma too many in a list", `{"a":[1,]}`, "1:9: got text that is no JSON (invalid character ']'…"},
		{"a comma too many in an object", `{"a":1,}`, "1:8: got text that is no JSON (invalid character '}'…"},
		{"a key without quotes", `{a:1}`, "1:2: got text that is no JSON (invalid character 'a'…"},
		{"a key twice", "{\"a\":1,\n \"a\":2}", "2:2: got a a second time, want each key once"},
		{"a key twice deep inside", `{"x":[{"é":1,"é":2}]}`, "1:14: got é a second time, want each key once"},
		{"a number that is none", `{"a":NaN}`, "1:6: got text that is no JSON (invalid character 'N'…"},
		{"not UTF-8", "{\"a\":\"\xff\"}", "1:1: got bytes that are no UTF-8, want JSON in UTF-8"},
		{"too deep in lists", `{"a":` + strings.Repeat("[", 100_000), "1:55: got too many lists and objects inside one another, want at most 50"},
		{"too deep in objects", strings.Repeat(`{"a":`, 100_000), "1:251: got too many lists and objects inside one another, want at most 50"},
		{"too many values", `{"a":[` + strings.Repeat("1,", 700_000) + "1]}", "1:400003: got too many values, want at most 200000"},
		{"too long", `{"a":"` + strings.Repeat("x", 4<<20) + `"}`, "1:1: got 4194312 bytes of JSON, want at most 4194304"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			n, err := statement.FromJSON([]byte(c.text))
			// The words of the JSON reader itself may change from one Go to the next.
			begin, free := strings.CutSuffix(c.want, "…")
			if err == nil || n != nil || err.Error() != c.want && !(free && strings.HasPrefix(err.Error(), begin)) {
				t.Errorf("of %.60q got %+v, %v, want %s", c.text, n, err, c.want)
			}
		})
	}
}

// Where each value begins, counted in characters.
func TestPlaces(t *testing.T) {
	t.Parallel()
	n, err := statement.FromJSON([]byte("{\"Ærø\" : [ true,\n\t{\"b\":null}, -1.5e3 ] ,\"c\":\"x\"}"))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		path      string
		line, col int32
	}{
		{"", 1, 1}, {"Ærø", 1, 10}, {"Ærø[0]", 1, 12}, {"Ærø[1]", 2, 2}, {"Ærø[1].b", 2, 7}, {"Ærø[2]", 2, 14}, {"c", 2, 28},
		// A path that leads on to nothing ends where it was last right.
		{"Ærø[3]", 1, 10}, {"Ærø[x]", 1, 10}, {"d.e", 1, 1}, {"c[0]", 2, 28}, {"Ærø[1].z[9]", 2, 2},
	} {
		if got := n.Locate(c.path); got.Line != c.line || got.Col != c.col {
			t.Errorf("%q lies at %d:%d, want %d:%d", c.path, got.Line, got.Col, c.line, c.col)
		}
	}
}
