package config_test

import (
	"fmt"
	"strings"
	"testing"

	"drawbar/internal/config"
)

// Texts made to make a reader work without end. Each is refused at once: the
// bounds hold before the parser, whose cost grows with the square of such
// texts, sees them.
func TestHostileTexts(t *testing.T) {
	t.Parallel()
	const size = 255 << 10
	var keys strings.Builder
	for i := 0; keys.Len() < 60_000; i++ {
		fmt.Fprintf(&keys, "k%d: 1\n", i)
	}
	var steps strings.Builder
	for i := 0; steps.Len() < size-600; i++ {
		steps.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	for _, c := range []struct{ name, text, want string }{
		{"brackets", strings.Repeat("[", size), "too many inside one another"},
		{"brackets with values", strings.Repeat("[1,", size/3), "too many inside one another"},
		{"braces", strings.Repeat("{a: ", size/4), "too many inside one another"},
		{"dashes", strings.Repeat("- ", size/2), "too many inside one another"},
		{"question marks", strings.Repeat("? ", size/2), "too many inside one another"},
		{"ever deeper keys", steps.String(), "too many inside one another"},
		{"values", "a: [" + strings.Repeat("1,", size/2-10) + "]", "more than 20000 values"},
		{"keys", keys.String(), "more than 20000 values"},
		{"entries", strings.Repeat("- 1\n", size/4), "more than 20000 values"},
		{"too long", "a: " + strings.Repeat("x", 256<<10), "more than 262144 bytes"},
		{"many faults", strings.Repeat("é", 10) + ":\n" + manyUnknown(400), "and 301 more"},
		{"aliases of aliases", "a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\n", "a YAML anchor or alias"},
		{"not UTF-8", "units: metric\nname: \xff\n", ":2:1: got bytes that are no UTF-8"},
		{"nothing but a byte order mark and a comment", "\ufeff# nothing\n", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, err := config.Parse("config.yaml", []byte(c.text), nil)
			switch {
			case c.want == "" && err != nil:
				t.Errorf("got %v, want it accepted", err)
			case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
				t.Errorf("got %.300v, want it to say %q", err, c.want)
			}
		})
	}
}

func manyUnknown(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "zzzzzzz%d: 1\n", i)
	}
	return b.String()
}
