package source

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func at(n int) time.Time { return time.Unix(int64(n), 0).UTC() }

// cutting pushes chunks, the i-th at second i, and lists the lines with the
// second of their arrival.
func cutting(returns bool, chunks ...string) (got []string) {
	c := newCutter(returns, func(line []byte, at time.Time) {
		got = append(got, fmt.Sprintf("%d %s", at.Unix(), line))
	})
	for i, chunk := range chunks {
		c.push([]byte(chunk), at(i))
	}
	return got
}

func TestCutter(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name    string
		returns bool
		chunks  []string
		want    []string
	}{
		{"line feeds", true, []string{"a\nb", "\n"}, []string{"0 a", "1 b"}},
		{"both", true, []string{"a\r\nb\r", "\nc\r\r\n"}, []string{"0 a", "1 b", "1 c"}},
		{"blank lines stay", true, []string{"a\r\n\r\n\n"}, []string{"0 a", "0 ", "0 "}},
		{"a line is there when its feed is there", true, []string{"a\r", "", "\n"}, []string{"2 a"}},
		{"returns alone: the first two by what follows, with the time of their end", true,
			[]string{"a\r", "b\r", "c\r", "d\r"}, []string{"0 a", "1 b", "2 c", "3 d"}},
		{"returns alone in one read", true, []string{"a\rb\rc\rd\r"}, []string{"0 a", "0 b", "0 c", "0 d"}},
		{"two returns are one end", true, []string{"a\r\rb\r\rc\r\rd\r\r"}, []string{"0 a", "0 b", "0 c", "0 d"}},
		{"a feed behind a return ends the habit", true, []string{"a\rb\rc\r", "\nd\r", "\n"}, []string{"0 a", "0 b", "0 c", "2 d"}},
		{"a stray return in a line with a feed", true, []string{"a\rb\n", "c\r\n"}, []string{"0 a", "0 b", "1 c"}},
		{"feed, then return", true, []string{"a\n\rb\n\rc\n\r"}, []string{"0 a", "0 b", "0 c"}},
		{"a receiver's stray return stays", false, []string{"a\rb\r\n"}, []string{"0 a\rb"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			if got := cutting(tc.returns, tc.chunks...); !slices.Equal(got, tc.want) {
				t.Errorf("%q: got %q, want %q", tc.chunks, got, tc.want)
			}
		})
	}
}

// However the bytes are chopped, the lines are the same, but for what the end of
// the stream leaves open, and no byte of text is lost.
func TestCutterChops(t *testing.T) {
	t.Parallel()
	text := func(all []string) string {
		var b strings.Builder
		for _, s := range all {
			_, line, _ := strings.Cut(s, " ")
			b.WriteString(line + "|")
		}
		return b.String()
	}
	rapid.Check(t, func(t *rapid.T) {
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r", "\r\r\n", "\r\r"}).Draw(t, "end")
		n := rapid.IntRange(1, 8).Draw(t, "lines")
		var stream, want string
		for i := range n {
			line := rapid.StringMatching(`[a-z=.0-9]{1,12}`).Draw(t, "line")
			stream += line + end
			if i < n-1 || strings.HasSuffix(end, "\n") || n > loneReturns {
				want += line + "|"
			}
		}
		cuts := rapid.SliceOfN(rapid.IntRange(0, len(stream)), 0, 20).Draw(t, "cuts")
		slices.Sort(cuts)
		var chunks []string
		from := 0
		for _, to := range append(cuts, len(stream)) {
			chunks = append(chunks, stream[from:to])
			from = to
		}
		if got := text(cutting(true, chunks...)); got != want {
			t.Fatalf("%q: got %q, want %q", chunks, got, want)
		}
	})
}

// FuzzCutter: nothing but line ends is lost, and chopping changes nothing.
func FuzzCutter(f *testing.F) {
	f.Add([]byte("a\rb\rc\r\nd\n\r"), uint8(3), true)
	f.Add([]byte("\r\n\r\r\x00$"), uint8(1), false)
	f.Fuzz(func(t *testing.T, stream []byte, step uint8, returns bool) {
		run := func(step int) (got []string) {
			c := newCutter(returns, func(line []byte, _ time.Time) { got = append(got, string(line)) })
			for chunk := range slices.Chunk(stream, step) {
				c.push(chunk, at(0))
			}
			c.flush()
			return got
		}
		if len(stream) == 0 {
			return
		}
		whole, chopped := run(len(stream)), run(int(step)+1)
		if !slices.Equal(whole, chopped) {
			t.Fatalf("in pieces of %d: got %q, whole %q", int(step)+1, chopped, whole)
		}
		kept := strings.NewReplacer("\r", "", "\n", "")
		if got, want := kept.Replace(strings.Join(whole, "")), kept.Replace(string(stream)); got != want {
			t.Fatalf("got %q, want %q", got, want)
		}
	})
}
